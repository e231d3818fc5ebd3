#include "analysis/certificate/replay/line_reader.hpp"

namespace analysis::certificate {

using base::Failure;

base::Result<std::optional<std::string_view>, Fault> LineReader::next() {
  line_.clear();
  ++line_number_;
  while (true) {
    const std::size_t end = piece_.find('\n');
    const std::string_view part = piece_.substr(0, end);
    if (line_.size() + part.size() > kLongestLine) {
      return Failure{Fault{"longer than " + std::to_string(kLongestLine) + " bytes"}};
    }
    if (end != std::string_view::npos) {
      piece_.remove_prefix(end + 1);
      if (line_.empty()) {
        return std::optional(part);
      }
      line_ += part;
      return std::optional<std::string_view>(line_);
    }
    line_ += part;
    const auto more = source_();
    if (!more) {
      piece_ = {};
      if (line_.empty()) {
        return std::optional<std::string_view>();
      }
      return Failure{Fault{"cut off: its line end is missing"}};
    }
    piece_ = *more;
  }
}

}  // namespace analysis::certificate
