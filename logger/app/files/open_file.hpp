// An open file that closes itself; every failure is one line that names the file. One thread.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <span>
#include <string>
#include <string_view>

#include "logger/store/error.hpp"

namespace logger::app {

// `what` with the text of errno; no_space and not_found are told apart from io.
[[nodiscard]] store::Failure system_failure(const std::string& what);

class OpenFile {
 public:
  // `flags` and `mode` are those of open(2); O_CLOEXEC is added. `what` begins the line of every
  // error, as "cannot read /a/b".
  [[nodiscard]] static store::Result<OpenFile> open(const std::filesystem::path& path, int flags,
                                                    unsigned mode, std::string what);
  [[nodiscard]] static store::Result<OpenFile> for_reading(const std::filesystem::path& path);

  OpenFile(OpenFile&& other) noexcept;
  OpenFile& operator=(OpenFile&&) = delete;
  ~OpenFile();

  // How many bytes were there, 0 at the end.
  [[nodiscard]] store::Result<std::size_t> read(std::span<char> bytes);
  [[nodiscard]] store::Result<void> write(std::string_view bytes);
  // On disk when it returns.
  [[nodiscard]] store::Result<void> sync();
  [[nodiscard]] int descriptor() const { return descriptor_; }

 private:
  OpenFile(int descriptor, std::string what) : descriptor_(descriptor), what_(std::move(what)) {}

  int descriptor_;
  std::string what_;
};

// Gives the file's bytes in pieces, in order. Errors: of the file; whatever `consume` gives ends
// it.
[[nodiscard]] store::Result<void> stream_file(
    const std::filesystem::path& path,
    const std::function<store::Result<void>(std::string_view)>& consume);

// So that names made or renamed in it survive a power cut.
[[nodiscard]] store::Result<void> sync_folder(const std::filesystem::path& folder);
// All that was written to the file system of this folder, as one call for many files.
[[nodiscard]] store::Result<void> sync_file_system(const std::filesystem::path& folder);

}  // namespace logger::app
