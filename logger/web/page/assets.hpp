// The files that the page consists of beside the document itself, embedded when it is built. Pure
// data; any thread.
#pragma once

#include <string_view>

namespace logger::web {

struct Asset {
  std::string_view name;          // "page.css"
  std::string_view content_type;  // of its header
  std::string_view bytes;
  std::string_view sha256_hex;  // of the bytes: good as an ETag
  // Not empty: the header service-worker-allowed, without which a worker would only see /assets/.
  std::string_view worker_scope;
};

// nullptr when there is none of that name. Public: none says anything of the job.
[[nodiscard]] const Asset* asset_named(std::string_view name);

// The address under which documents name it, "/assets/page.css?v=0f3c..."; changes with its bytes,
// so what was fetched by it may be kept for ever. REQUIRES: there is one of that name.
[[nodiscard]] std::string_view address_of(std::string_view name);

}  // namespace logger::web
