// Cuts a stream of bytes into lines. Pure; used by one thread; memory is bounded by the longest
// line allowed.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "analysis/base/result.hpp"
#include "analysis/certificate/verify.hpp"

namespace analysis::certificate {

class LineReader {
 public:
  static constexpr std::size_t kLongestLine = 512;

  explicit LineReader(const ByteSource& source) : source_(source) {}

  // The next line without its '\n', valid until the next call; nullopt at the end of the bytes.
  // Refuses a last line without '\n' (cut off) and a line longer than kLongestLine.
  [[nodiscard]] base::Result<std::optional<std::string_view>, Fault> next();

  // Of the line that next() gave or refused; the first is 1.
  [[nodiscard]] std::uint64_t line_number() const { return line_number_; }

 private:
  const ByteSource& source_;
  std::string_view piece_;
  std::string line_;
  std::uint64_t line_number_ = 0;
};

}  // namespace analysis::certificate
