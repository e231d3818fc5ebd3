#include "logger/web/http/byte_stream.hpp"
#include "logger/web/http/web_server.hpp"

namespace logger::web {

store::Result<std::unique_ptr<StreamMaker>> tls_streams(const TlsIdentity&) {
  return store::failure(store::ErrorCode::unsupported,
                        "page: this program was built without TLS (-DDWELLOG_TLS=OFF)");
}

std::string_view page_support_text() { return "the page without TLS"; }

}  // namespace logger::web
