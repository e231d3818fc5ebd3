#include "logger/app/job/reader/length_values.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/plan/room/length_text.hpp"
#include "logger/app/job/reader/job_parts.hpp"
#include "logger/app/job/reader/keys/key_check.hpp"

namespace logger::app {

using analysis::base::Metres;
using key_rules::LengthRule;

namespace {

constexpr double kFewMillimetres = 0.05;  // metres

std::string bound_text(double metres, const LengthRule& rule) {
  const Metres size{std::abs(metres)};
  return (metres < 0.0 ? "-" : "") + (rule.high_m < kFewMillimetres
                                          ? analysis::plan::gap_text_from(size, false)
                                          : analysis::plan::metric_text_from(size));
}

}  // namespace

analysis::base::Result<Metres, std::string> length_in(std::string_view text,
                                                      const LengthRule& rule) {
  std::string_view plain = text.substr(std::min(text.find_first_not_of(' '), text.size()));
  const bool below = plain.starts_with('-');
  if (rule.low_m < 0.0 && (below || plain.starts_with('+'))) {
    plain.remove_prefix(1);
  }
  const auto read = analysis::plan::length_from_text(plain);
  if (!read) {
    return analysis::base::Failure{read.error() + (rule.name == key_rules::kAdjoiningHeight.name
                                                       ? "; \"-8 mm\" lies below"
                                                       : "")};
  }
  const double metres = below ? -read.value().value() : read.value().value();
  if (metres < rule.low_m || metres > rule.high_m) {
    return analysis::base::Failure{in_quotes(text) + " is not within " +
                                   bound_text(rule.low_m, rule) + " .. " +
                                   bound_text(rule.high_m, rule)};
  }
  return Metres{metres};
}

std::optional<Metres> length_of_key(const ObjectView& view, const std::string& path,
                                    const LengthRule& rule, Findings& findings) {
  const auto text = view.text(rule.name);
  if (!text || text->empty()) {
    return std::nullopt;
  }
  const auto read = length_in(*text, rule);
  if (!read) {
    findings.add_error(view.line_of(rule.name), key_path(path, rule.name), read.error());
    return std::nullopt;
  }
  return read.value();
}

}  // namespace logger::app
