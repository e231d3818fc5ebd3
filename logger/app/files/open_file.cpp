#include "logger/app/files/open_file.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <utility>

namespace logger::app {

using store::ErrorCode;
using store::Result;

store::Failure system_failure(const std::string& what) {
  const int code = errno;
  ErrorCode category = ErrorCode::io;
  if (code == ENOENT) {
    category = ErrorCode::not_found;
  } else if (code == ENOSPC || code == EDQUOT) {
    category = ErrorCode::no_space;
  }
  return store::failure(category, what + ": " + std::strerror(code), code);
}

Result<OpenFile> OpenFile::open(const std::filesystem::path& path, int flags, unsigned mode,
                                std::string what) {
  const int descriptor = ::open(path.c_str(), flags | O_CLOEXEC, mode);
  if (descriptor < 0) {
    return system_failure(what);
  }
  return OpenFile(descriptor, std::move(what));
}

Result<OpenFile> OpenFile::for_reading(const std::filesystem::path& path) {
  return open(path, O_RDONLY, 0, "cannot read " + path.string());
}

OpenFile::OpenFile(OpenFile&& other) noexcept
    : descriptor_(std::exchange(other.descriptor_, -1)), what_(std::move(other.what_)) {}

OpenFile::~OpenFile() {
  if (descriptor_ >= 0) {
    ::close(descriptor_);
  }
}

Result<std::size_t> OpenFile::read(std::span<char> bytes) {
  while (true) {
    const ssize_t got = ::read(descriptor_, bytes.data(), bytes.size());
    if (got >= 0) {
      return static_cast<std::size_t>(got);
    }
    if (errno != EINTR) {
      return system_failure(what_);
    }
  }
}

Result<void> OpenFile::write(std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t put = ::write(descriptor_, bytes.data(), bytes.size());
    if (put < 0 && errno != EINTR) {
      return system_failure(what_);
    }
    bytes.remove_prefix(put < 0 ? 0 : static_cast<std::size_t>(put));
  }
  return {};
}

Result<void> OpenFile::sync() {
  return ::fsync(descriptor_) == 0 ? Result<void>{} : system_failure(what_);
}

Result<void> sync_file_system(const std::filesystem::path& folder) {
  const std::string what = "cannot sync the disk of " + folder.string();
  const auto opened = OpenFile::open(folder, O_RDONLY | O_DIRECTORY, 0, what);
  if (!opened) {
    return store::Failure{opened.error()};
  }
  return ::syncfs(opened.value().descriptor()) == 0 ? Result<void>{} : system_failure(what);
}

Result<void> stream_file(const std::filesystem::path& path,
                         const std::function<Result<void>(std::string_view)>& consume) {
  auto file = OpenFile::for_reading(path);
  if (!file) {
    return store::Failure{file.error()};
  }
  std::array<char, 65536> buffer{};
  while (true) {
    const auto got = file.value().read(buffer);
    if (!got) {
      return store::Failure{got.error()};
    }
    if (got.value() == 0) {
      return {};
    }
    if (const auto taken = consume({buffer.data(), got.value()}); !taken) {
      return taken;
    }
  }
}

Result<void> sync_folder(const std::filesystem::path& folder) {
  // A bare file name has no folder before it.
  const std::filesystem::path named = folder.empty() ? "." : folder;
  auto opened = OpenFile::open(named, O_RDONLY | O_DIRECTORY, 0, "cannot sync " + named.string());
  return opened ? opened.value().sync() : Result<void>{store::Failure{opened.error()}};
}

}  // namespace logger::app
