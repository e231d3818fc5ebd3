#include <zlib.h>

#include <algorithm>
#include <new>

#include "logger/web/handler/answer/answers.hpp"

namespace logger::web {

namespace {

constexpr int kLevel = 6;
constexpr int kGzipWindow = 15 + 16;  // zlib.h: 16 more for a gzip wrapper
constexpr int kMemory = 8;

// "gzip;q=0.5" is yes, "gzip;q=0" is no.
bool allows(std::string_view coding) {
  const std::size_t parameter = coding.find("q=");
  if (parameter == std::string_view::npos) {
    return true;
  }
  const std::string_view weight = coding.substr(parameter + 2);
  return weight.find_first_of("123456789") != std::string_view::npos;
}

}  // namespace

std::string gzip_from(std::string_view text) {
  z_stream stream{};
  if (deflateInit2(&stream, kLevel, Z_DEFLATED, kGzipWindow, kMemory, Z_DEFAULT_STRATEGY) != Z_OK) {
    throw std::bad_alloc();
  }
  std::string out(deflateBound(&stream, static_cast<uLong>(text.size())), '\0');
  // zlib does not write to its input.
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(text.data()));
  stream.avail_in = static_cast<uInt>(text.size());
  stream.next_out = reinterpret_cast<Bytef*>(out.data());
  stream.avail_out = static_cast<uInt>(out.size());
  deflate(&stream, Z_FINISH);  // the bound leaves room for all of it
  out.resize(stream.total_out);
  deflateEnd(&stream);
  return out;
}

bool accepts_gzip(const Request& request) {
  const std::string* accepted = header_of(request, "accept-encoding");
  if (accepted == nullptr) {
    return false;
  }
  std::string_view rest = *accepted;
  while (!rest.empty()) {
    const std::size_t end = std::min(rest.find(','), rest.size());
    const std::string_view coding = rest.substr(0, end);
    if (coding.find("gzip") != std::string_view::npos) {
      return allows(coding);
    }
    rest.remove_prefix(std::min(end + 1, rest.size()));
  }
  return false;
}

}  // namespace logger::web
