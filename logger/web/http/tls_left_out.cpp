#include "logger/web/http/byte_stream.hpp"

namespace logger::web {

store::Result<std::unique_ptr<StreamMaker>> tls_streams(const TlsIdentity&) {
  return store::failure(store::ErrorCode::unsupported,
                        "page: this program was built without TLS (-DDWELLOG_TLS=OFF)");
}

}  // namespace logger::web
