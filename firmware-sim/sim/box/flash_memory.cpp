#include "firmware-sim/sim/box/flash_memory.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cassert>
#include <cerrno>
#include <cstring>

namespace firmware::sim::box {
namespace {

using analysis::base::Failure;
using analysis::base::Result;

constexpr std::uint8_t kErased = 0xff;

Failure<std::string> file_failure(const std::string& path, const std::string& what) {
  return Failure{std::string("box memory ") + path + ": " + what};
}

bool write_all(int descriptor, const std::uint8_t* bytes, std::size_t length, std::size_t offset) {
  while (length > 0) {
    const ssize_t count = ::pwrite(descriptor, bytes, length, static_cast<off_t>(offset));
    if (count <= 0) {
      return false;
    }
    bytes += count;
    length -= static_cast<std::size_t>(count);
    offset += static_cast<std::size_t>(count);
  }
  return true;
}

bool read_all(int descriptor, std::vector<std::uint8_t>& bytes) {
  std::size_t done = 0;
  while (done < bytes.size()) {
    const ssize_t count =
        ::pread(descriptor, bytes.data() + done, bytes.size() - done, static_cast<off_t>(done));
    if (count <= 0) {
      return false;
    }
    done += static_cast<std::size_t>(count);
  }
  return true;
}

}  // namespace

FlashMemory::FlashMemory(std::size_t size, std::size_t block_size)
    : bytes_(size, kErased), block_size_(block_size), erase_counts_(size / block_size, 0) {
  assert(block_size > 0 && size > 0 && size % block_size == 0);
}

FlashMemory::~FlashMemory() {
  if (descriptor_ >= 0) {
    ::close(descriptor_);
  }
}

Result<std::unique_ptr<FlashMemory>, std::string> FlashMemory::open(const std::string& path,
                                                                    std::size_t size,
                                                                    std::size_t block_size) {
  auto memory = std::make_unique<FlashMemory>(size, block_size);
  memory->descriptor_ = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0644);
  struct stat info {};
  if (memory->descriptor_ < 0 || ::fstat(memory->descriptor_, &info) != 0) {
    return file_failure(path, std::strerror(errno));
  }
  const auto length = static_cast<std::size_t>(info.st_size);
  if (length == 0) {
    if (!write_all(memory->descriptor_, memory->bytes_.data(), size, 0)) {
      return file_failure(path, std::strerror(errno));
    }
  } else if (length != size) {
    return file_failure(path, "has " + std::to_string(length) + " bytes; expected " +
                                  std::to_string(size) + " or a new file");
  } else if (!read_all(memory->descriptor_, memory->bytes_)) {
    return file_failure(path, std::strerror(errno));
  }
  return memory;
}

core::Status FlashMemory::store(std::size_t offset, std::size_t length) {
  const bool stored =
      descriptor_ < 0 || write_all(descriptor_, bytes_.data() + offset, length, offset);
  return stored ? core::Status::ok : core::Status::memory_fault;
}

core::Status FlashMemory::read(std::size_t offset, std::span<std::uint8_t> into) const {
  if (offset > bytes_.size() || into.size() > bytes_.size() - offset) {
    return core::Status::invalid_argument;
  }
  std::copy_n(bytes_.begin() + static_cast<std::ptrdiff_t>(offset), into.size(), into.begin());
  return core::Status::ok;
}

core::Status FlashMemory::program(std::size_t offset, std::span<const std::uint8_t> bytes) {
  if (offset > bytes_.size() || bytes.size() > bytes_.size() - offset) {
    return core::Status::invalid_argument;
  }
  bool as_asked = true;
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    std::uint8_t& cell = bytes_[offset + i];
    cell = static_cast<std::uint8_t>(cell & bytes[i]);
    as_asked = as_asked && cell == bytes[i];
  }
  const core::Status stored = store(offset, bytes.size());
  return as_asked ? stored : core::Status::memory_fault;
}

core::Status FlashMemory::erase(std::size_t block) {
  if (block >= erase_counts_.size()) {
    return core::Status::invalid_argument;
  }
  ++erase_counts_[block];
  const std::size_t offset = block * block_size_;
  std::fill_n(bytes_.begin() + static_cast<std::ptrdiff_t>(offset), block_size_, kErased);
  return store(offset, block_size_);
}

}  // namespace firmware::sim::box
