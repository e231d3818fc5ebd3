// Files that their owner alone may read. Errors name the file. Any thread.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "logger/store/error.hpp"

namespace logger::web {

// Refuses with invalid_input, and says what to do, when others than its owner can read or change
// the folder. One that is not there yet is sound.
[[nodiscard]] store::Result<void> check_private_folder(const std::filesystem::path& folder);

// Refuses with invalid_input, and says what to do, when the file or its folder can be read or
// changed by others than its owner (its folder also where the file is missing), and with corrupt
// what is longer than `most_bytes`. not_found when there is none.
[[nodiscard]] store::Result<std::string> read_private_file(const std::filesystem::path& file,
                                                           std::size_t most_bytes);

// Written beside, synced and renamed; mode 0600, its folder made with 0700 where it is missing. It
// belongs to the owner of the folder around it, so that what root writes is not out of the
// service's reach. Errors: io, no_space; then the file is as it was.
[[nodiscard]] store::Result<void> write_private_file(const std::filesystem::path& file,
                                                     std::string_view bytes);

// Held for as long as this lives, against other processes and other threads. Waits up to five
// seconds of real time for another holder.
class PrivateLock {
 public:
  // Errors: timeout, io.
  [[nodiscard]] static store::Result<PrivateLock> take(const std::filesystem::path& file);
  PrivateLock(PrivateLock&& other) noexcept;
  PrivateLock& operator=(PrivateLock&&) = delete;
  ~PrivateLock();

 private:
  explicit PrivateLock(int descriptor) : descriptor_(descriptor) {}
  int descriptor_;
};

// Tells whether a file is still the one that was looked at before; equal for two that are missing.
struct FileStamp {
  unsigned long long inode = 0;
  long long bytes = -1;
  long long changed_ns = 0;
  bool operator==(const FileStamp&) const = default;
};
[[nodiscard]] FileStamp stamp_of(const std::filesystem::path& file);

}  // namespace logger::web
