#include "logger/app/commands/job_folder.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

#include "logger/app/daemon/real_clock.hpp"
#include "logger/app/job/job_file.hpp"

namespace logger::app {

using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

// Closes its descriptor.
class File {
 public:
  File(const std::filesystem::path& path, int flags, unsigned mode)
      : descriptor_(::open(path.c_str(), flags | O_CLOEXEC, mode)) {}
  File(const File&) = delete;
  File& operator=(const File&) = delete;
  ~File() {
    if (descriptor_ >= 0) {
      ::close(descriptor_);
    }
  }
  [[nodiscard]] int get() const { return descriptor_; }

 private:
  int descriptor_;
};

store::Failure system_failure(const std::string& what) {
  const int code = errno;
  ErrorCode category = ErrorCode::io;
  if (code == ENOENT) {
    category = ErrorCode::not_found;
  } else if (code == ENOSPC || code == EDQUOT) {
    category = ErrorCode::no_space;
  }
  return failure(category, what + ": " + std::strerror(code), code);
}

std::string all_findings(const JobReading& reading) {
  std::string text;
  for (const JobFinding& finding : reading.errors) {
    text += (text.empty() ? "" : "\n") + text_of(finding);
  }
  return text;
}

}  // namespace

namespace {

// Of the whole file, held by the open description (Linux): it ends with it, however that ends, and
// whoever only looks takes nothing.
struct flock whole_file() {
  struct flock lock {};
  lock.l_type = F_WRLCK;
  lock.l_whence = SEEK_SET;
  return lock;
}

}  // namespace

FolderLock::FolderLock(const std::filesystem::path& file)
    : descriptor_(::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0644)) {
  struct flock lock = whole_file();
  held_ = descriptor_ >= 0 && ::fcntl(descriptor_, F_OFD_SETLK, &lock) == 0;
}

bool FolderLock::is_taken(const std::filesystem::path& file) {
  const File looked(file, O_RDONLY, 0);
  struct flock lock = whole_file();
  return looked.get() >= 0 && ::fcntl(looked.get(), F_OFD_GETLK, &lock) == 0 &&
         lock.l_type != F_UNLCK;
}

FolderLock::~FolderLock() {
  if (descriptor_ >= 0) {
    ::close(descriptor_);
  }
}

Result<std::string> read_file(const std::filesystem::path& path) {
  const File file(path, O_RDONLY, 0);
  if (file.get() < 0) {
    return system_failure("cannot read " + path.string());
  }
  std::string bytes;
  std::array<char, 65536> buffer{};
  while (true) {
    const ssize_t got = ::read(file.get(), buffer.data(), buffer.size());
    if (got < 0 && errno == EINTR) {
      continue;
    }
    if (got < 0) {
      return system_failure("cannot read " + path.string());
    }
    if (got == 0) {
      return bytes;
    }
    bytes.append(buffer.data(), static_cast<std::size_t>(got));
  }
}

Result<void> write_file(const std::filesystem::path& path, std::string_view bytes, unsigned mode) {
  const std::filesystem::path temporary = path.string() + ".part";
  const std::string what = "cannot write " + path.string();
  {
    const File file(temporary, O_WRONLY | O_CREAT | O_TRUNC, mode);
    if (file.get() < 0) {
      return system_failure(what);
    }
    while (!bytes.empty()) {
      const ssize_t put = ::write(file.get(), bytes.data(), bytes.size());
      if (put < 0 && errno == EINTR) {
        continue;
      }
      if (put < 0) {
        return system_failure(what);
      }
      bytes.remove_prefix(static_cast<std::size_t>(put));
    }
    if (::fsync(file.get()) != 0) {
      return system_failure(what);
    }
  }
  if (::rename(temporary.c_str(), path.c_str()) != 0) {
    return system_failure(what);
  }
  return {};
}

Result<OpenedJob> open_job(const std::filesystem::path& root, bool for_writing) {
  OpenedJob opened;
  opened.folder.root = root;
  auto text = read_file(opened.folder.job_file());
  if (!text) {
    return text.error().code == ErrorCode::not_found
               ? failure(ErrorCode::not_found, root.string() +
                                                   ": no job.json there; `dwellog new " +
                                                   root.string() + "` makes a job folder")
               : store::Failure{text.error()};
  }
  opened.job_text = std::move(text).value();
  JobReading reading = job_from_text(opened.job_text, opened.folder.job_file().string());
  if (!reading.job) {
    return failure(ErrorCode::invalid_input, all_findings(reading));
  }
  opened.job = std::move(*reading.job);
  opened.job_sha256_hex = reading.sha256_hex;
  store::OpenOptions options;
  options.create = for_writing;
  options.read_only = !for_writing;
  auto store = open_sqlite_store(opened.folder.store_file().string(), options);
  if (!store) {
    return store::Failure{store.error()};
  }
  opened.store = std::move(store).value();
  const auto simulated = opened.store->simulated();
  if (!simulated) {
    return store::Failure{simulated.error()};
  }
  opened.simulated = simulated.value().value_or(false);
  opened.now = utc_of_this_machine();
  if (opened.simulated) {
    const auto seen = opened.store->last_seen();
    if (!seen) {
      return store::Failure{seen.error()};
    }
    opened.now = seen.value().value_or(opened.now);
  }
  return opened;
}

}  // namespace logger::app
