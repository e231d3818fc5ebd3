#include "logger/verify/given_files.hpp"

#include <cerrno>
#include <cstring>
#include <fstream>
#include <iterator>

namespace logger::verify {

using analysis::base::Failure;
using std::filesystem::path;

namespace {
// Certificates, keys, checkpoints; readings and logs are read in pieces.
constexpr std::size_t kMostBytes = std::size_t{32} << 20U;
}  // namespace

Failure<FileFault> cannot_read(const path& file) {
  const int code = errno;
  return Failure{FileFault{"cannot read " + file.string() + ": " + std::strerror(code),
                           code == ENOENT || code == EISDIR ? kExitInput : kExitCouldNotDo}};
}

FileResult<std::string> bytes_of(const path& file) {
  std::ifstream in(file, std::ios::binary);
  if (!in) {
    return cannot_read(file);
  }
  // A folder opens like a file and fails only when it is read.
  if (in.peek() == std::ifstream::traits_type::eof() && in.bad()) {
    return cannot_read(file);
  }
  in.clear();
  std::string bytes(kMostBytes + 1, '\0');
  in.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  bytes.resize(static_cast<std::size_t>(in.gcount()));
  if (in.bad()) {
    return cannot_read(file);
  }
  if (bytes.size() > kMostBytes) {
    return Failure{FileFault{file.string() + ": is longer than 32 MiB, so it is none of the files "
                                             "that belong here"}};
  }
  return bytes;
}

}  // namespace logger::verify
