// For builds without OpenSSL.
#include "logger/app/access/tls_files.hpp"

namespace logger::app {

store::Result<TlsFiles> tls_files_for(const JobFolder& /*folder*/, const JobPage& /*page*/,
                                      UtcMicros /*now*/) {
  return store::failure(store::ErrorCode::unsupported,
                        "page.tls_certificate: this program was built without TLS "
                        "(DWELLOG_TLS=OFF); the page can be served to this machine only");
}

}  // namespace logger::app
