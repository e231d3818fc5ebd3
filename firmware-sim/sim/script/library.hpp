// The scenario texts that are built in, from the files of script/library and site/library.
#pragma once

#include <span>
#include <string_view>

namespace firmware::sim::script {

struct LibraryText {
  std::string_view name;  // of the file, without its ending
  std::string_view text;
};

// Those of script/library first.
[[nodiscard]] std::span<const LibraryText> library_texts();

}  // namespace firmware::sim::script
