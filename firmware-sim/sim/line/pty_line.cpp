#include "firmware-sim/sim/line/pty_line.hpp"

#include <fcntl.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

namespace firmware::sim::line {
namespace {

using analysis::base::Failure;
using analysis::base::Result;

// Reads until nothing is left and throws it away. A read of a pseudo-terminal waits for the
// kernel's work queue before it says that there is nothing, so nothing written before is missed.
void discard(int descriptor) {
  std::array<std::uint8_t, 4096> bytes{};
  while (::read(descriptor, bytes.data(), bytes.size()) > 0) {
  }
}

Result<void, std::string> remove_old_link(const std::string& path) {
  struct stat info {};
  if (::lstat(path.c_str(), &info) != 0) {
    return {};
  }
  if (!S_ISLNK(info.st_mode)) {
    return Failure{"serial line: " + path +
                   " exists and is no symbolic link; expected a free path"};
  }
  ::unlink(path.c_str());
  return {};
}

std::string line_failed(const std::string& what) {
  return "serial line: " + what + ": " + std::strerror(errno);
}

}  // namespace

Result<void, std::string> PtyLine::plug() {
  if (plugged()) {
    return {};
  }
  if (auto removed = remove_old_link(link_path_); !removed) {
    return removed;
  }
  master_ = ::posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
  std::array<char, 128> name{};
  if (master_ < 0 || ::grantpt(master_) != 0 || ::unlockpt(master_) != 0 ||
      ::ptsname_r(master_, name.data(), name.size()) != 0) {
    const std::string reason = line_failed("can't make a pseudo-terminal");
    unplug();
    return Failure{reason};
  }
  slave_ = ::open(name.data(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
  termios mode{};
  if (slave_ < 0 || ::tcgetattr(slave_, &mode) != 0) {
    const std::string reason = line_failed(std::string("can't open ") + name.data());
    unplug();
    return Failure{reason};
  }
  // Raw before anyone opens it: else early bytes come back as echo.
  ::cfmakeraw(&mode);
  ::tcsetattr(slave_, TCSANOW, &mode);
  if (::symlink(name.data(), link_path_.c_str()) != 0) {
    const std::string reason = line_failed("can't make the link " + link_path_);
    unplug();
    return Failure{reason};
  }
  linked_ = true;
  ++plug_count_;
  return {};
}

void PtyLine::unplug() {
  if (linked_) {
    ::unlink(link_path_.c_str());
    linked_ = false;
  }
  for (int* descriptor : {&master_, &slave_}) {
    if (*descriptor >= 0) {
      ::close(*descriptor);
      *descriptor = -1;
    }
  }
  unsent_.clear();
  counting_ = false;
  received_ = 0;
  sent_ = 0;
}

std::size_t PtyLine::read(std::vector<std::uint8_t>& into) {
  std::array<std::uint8_t, 4096> bytes{};
  std::size_t total = 0;
  while (plugged()) {
    const ssize_t count = ::read(master_, bytes.data(), bytes.size());
    if (count <= 0) {
      break;  // nothing there, or EIO while no one has the other end open: keep waiting
    }
    into.insert(into.end(), bytes.begin(), bytes.begin() + count);
    total += static_cast<std::size_t>(count);
  }
  received_ += total;
  return total;
}

void PtyLine::write(std::span<const std::uint8_t> bytes) {
  if (!plugged()) {
    return;
  }
  unsent_.insert(unsent_.end(), bytes.begin(), bytes.end());
  sent_ += bytes.size();
  flush();
}

void PtyLine::flush() {
  while (plugged() && !unsent_.empty()) {
    const ssize_t count = ::write(master_, unsent_.data(), unsent_.size());
    if (count <= 0) {
      break;
    }
    unsent_.erase(unsent_.begin(), unsent_.begin() + count);
  }
}

void PtyLine::drain() {
  ++drain_count_;
  unsent_.clear();
  if (plugged()) {
    discard(master_);
    discard(slave_);
  }
}

void PtyLine::begin_counting() {
  drain();
  counting_ = plugged();
  received_ = 0;
  sent_ = 0;
}

}  // namespace firmware::sim::line
