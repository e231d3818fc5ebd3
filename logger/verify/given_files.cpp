#include "logger/verify/given_files.hpp"

#include <cerrno>
#include <cstring>
#include <fstream>
#include <iterator>

namespace logger::verify {

using analysis::base::Failure;
using std::filesystem::path;

Failure<FileFault> cannot_read(const path& file) {
  const int code = errno;
  return Failure{FileFault{"cannot read " + file.string() + ": " + std::strerror(code),
                           code == ENOENT ? kExitInput : kExitCouldNotDo}};
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
  std::string bytes{std::istreambuf_iterator<char>(in), {}};
  if (in.bad()) {
    return cannot_read(file);
  }
  return bytes;
}

}  // namespace logger::verify
