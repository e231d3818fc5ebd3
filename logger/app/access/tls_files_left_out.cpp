// For builds without OpenSSL.
#include "logger/app/access/tls_files.hpp"

namespace logger::app {

namespace {

store::Failure without_tls() {
  return store::failure(store::ErrorCode::unsupported,
                        "page.tls_certificate: this program was built without TLS "
                        "(DWELLOG_TLS=OFF); the page can be served to this machine only");
}

}  // namespace

store::Result<TlsFiles> tls_files_for(const JobFolder& /*folder*/, const JobPage& /*page*/,
                                      UtcMicros /*now*/) {
  return without_tls();
}

store::Result<void> check_tls_files(const JobFolder& /*folder*/, const JobPage& /*page*/) {
  return without_tls();
}

}  // namespace logger::app
