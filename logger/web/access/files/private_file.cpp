#include "logger/web/access/files/private_file.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <thread>
#include <utility>

namespace logger::web {

using std::filesystem::path;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr mode_t kOwnerAlone = 0600;

store::Failure system_failure(const std::string& what, int code) {
  const bool full = code == ENOSPC || code == EDQUOT;
  const ErrorCode other = full ? ErrorCode::no_space : ErrorCode::io;
  return failure(code == ENOENT ? ErrorCode::not_found : other, what + ": " + std::strerror(code),
                 code);
}

class Descriptor {
 public:
  explicit Descriptor(int number) : number_(number) {}
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  ~Descriptor() {
    if (number_ >= 0) {
      ::close(number_);
    }
  }
  [[nodiscard]] int get() const { return number_; }

 private:
  int number_;
};

path folder_of(const path& file) { return file.has_parent_path() ? file.parent_path() : "."; }

Result<void> refuse_others(const struct stat& status, const std::string& name, const char* mode) {
  if ((status.st_mode & 077U) == 0) {
    return {};
  }
  return failure(ErrorCode::invalid_input, name +
                                               " can be read or changed by others than its owner; "
                                               "`chmod " +
                                               mode + " " + name +
                                               "` if nobody did, else also give new passwords");
}

// A file that root writes belongs to whoever owns the folder around it.
void give_to_owner_of(const path& folder, int descriptor) {
  struct stat status {};
  if (::geteuid() == 0 && ::stat(folder.c_str(), &status) == 0) {
    [[maybe_unused]] const int given = ::fchown(descriptor, status.st_uid, status.st_gid);
  }
}

Result<void> make_folder(const path& folder) {
  if (::mkdir(folder.c_str(), 0700) == 0) {
    const Descriptor made(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
    give_to_owner_of(folder_of(folder), made.get());
    return {};
  }
  return errno == EEXIST ? Result<void>{}
                         : system_failure("cannot make the folder " + folder.string(), errno);
}

// 0, or the error's number.
int write_whole(int descriptor, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t put = ::write(descriptor, bytes.data(), bytes.size());
    if (put < 0 && errno != EINTR) {
      return errno;
    }
    bytes.remove_prefix(put < 0 ? 0 : static_cast<std::size_t>(put));
  }
  return ::fsync(descriptor) == 0 ? 0 : errno;
}

}  // namespace

Result<void> check_private_folder(const path& folder) {
  struct stat status {};
  if (::stat(folder.c_str(), &status) != 0) {
    return errno == ENOENT ? Result<void>{}
                           : system_failure("cannot read " + folder.string(), errno);
  }
  return refuse_others(status, folder.string(), "700");
}

Result<std::string> read_private_file(const path& file, std::size_t most_bytes) {
  const std::string name = file.string();
  if (const auto sound = check_private_folder(folder_of(file)); !sound) {
    return store::Failure{sound.error()};
  }
  const Descriptor opened(::open(file.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW));
  struct stat status {};
  if (opened.get() < 0 || ::fstat(opened.get(), &status) != 0) {
    return system_failure("cannot read " + name, errno);
  }
  if (const auto sound = refuse_others(status, name, "600"); !sound) {
    return store::Failure{sound.error()};
  }
  std::string bytes;
  std::array<char, 16384> buffer{};
  ssize_t got = 0;
  while ((got = ::read(opened.get(), buffer.data(), buffer.size())) != 0) {
    if (got < 0 && errno != EINTR) {
      return system_failure("cannot read " + name, errno);
    }
    bytes.append(buffer.data(), got < 0 ? 0 : static_cast<std::size_t>(got));
    if (bytes.size() > most_bytes) {
      return failure(ErrorCode::corrupt, name + ": longer than " + std::to_string(most_bytes) +
                                             " bytes, so not written by this program");
    }
  }
  return bytes;
}

Result<void> write_private_file(const path& file, std::string_view bytes) {
  const std::string what = "cannot write " + file.string();
  const path folder = folder_of(file);
  if (const auto made = make_folder(folder); !made) {
    return made;
  }
  const path part = file.string() + ".part";
  {
    const Descriptor opened(
        ::open(part.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC | O_NOFOLLOW, kOwnerAlone));
    if (opened.get() < 0) {
      return system_failure(what, errno);
    }
    give_to_owner_of(folder, opened.get());
    // What a stopped writer left behind may have another mode.
    const int fault =
        ::fchmod(opened.get(), kOwnerAlone) == 0 ? write_whole(opened.get(), bytes) : errno;
    if (fault != 0) {
      ::unlink(part.c_str());
      return system_failure(what, fault);
    }
  }
  if (::rename(part.c_str(), file.c_str()) != 0) {
    return system_failure(what, errno);
  }
  const Descriptor around(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  return around.get() >= 0 && ::fsync(around.get()) == 0 ? Result<void>{}
                                                         : system_failure(what, errno);
}

Result<PrivateLock> PrivateLock::take(const path& file) {
  constexpr int kTries = 100;
  constexpr std::chrono::milliseconds kBetween{50};
  if (const auto made = make_folder(folder_of(file)); !made) {
    return store::Failure{made.error()};
  }
  PrivateLock lock(::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, kOwnerAlone));
  if (lock.descriptor_ < 0) {
    return system_failure("cannot open " + file.string(), errno);
  }
  give_to_owner_of(folder_of(file), lock.descriptor_);
  struct flock whole {};
  whole.l_type = F_WRLCK;
  whole.l_whence = SEEK_SET;
  // Of the open file, not of the process (Linux), so that two threads exclude each other too.
  for (int i = 0; i < kTries; ++i) {
    if (::fcntl(lock.descriptor_, F_OFD_SETLK, &whole) == 0) {
      return lock;
    }
    if (errno != EAGAIN && errno != EACCES && errno != EINTR) {
      return system_failure("cannot lock " + file.string(), errno);
    }
    std::this_thread::sleep_for(kBetween);
  }
  return failure(ErrorCode::timeout,
                 file.string() + ": another program has held it for 5 s; nothing was changed");
}

PrivateLock::PrivateLock(PrivateLock&& other) noexcept
    : descriptor_(std::exchange(other.descriptor_, -1)) {}

PrivateLock::~PrivateLock() {
  if (descriptor_ >= 0) {
    ::close(descriptor_);
  }
}

FileStamp stamp_of(const path& file) {
  struct stat status {};
  if (::stat(file.c_str(), &status) != 0) {
    return {};
  }
  return {status.st_ino, status.st_size,
          status.st_ctim.tv_sec * 1'000'000'000LL + status.st_ctim.tv_nsec};
}

}  // namespace logger::web
