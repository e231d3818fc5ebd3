#include <cmath>
#include <utility>

#include "logger/app/job/reader/job_parts.hpp"
#include "logger/app/job/reader/keys/key_check.hpp"
#include "logger/app/job/reader/length_values.hpp"

namespace logger::app {

using key_rules::LengthRule;

namespace {

constexpr LengthRule kWithin{"within", 0.0005, 0.02};
constexpr LengthRule kStraightedge{"straightedge", 0.5, 4};

// 4.7625 mm rather than what 3/16 in is in binary.
double rounded_number(double value) {
  constexpr double kSteps = 1e6;
  return std::round(value * kSteps) / kSteps;
}

class FlatnessReader {
 public:
  FlatnessReader(const ObjectView& view, std::string path, Findings& findings)
      : view_(view), path_(std::move(path)), findings_(findings) {}

  // `per_metre`: of the number's unit.
  void put(const std::string& number_key, const LengthRule& rule, double per_metre, double& into) {
    const bool has_text = view_.has(rule.name);
    const std::string text_key(rule.name);
    if (view_.has(number_key) && has_text) {
      findings_.add_error(view_.line_of(text_key), key_path(path_, text_key),
                          "stands beside " + number_key + "; expected one of the two");
    } else if (!view_.has(number_key) && !has_text) {
      findings_.add_error(view_.line_of(number_key), key_path(path_, number_key),
                          "required key is missing, or " + text_key + " with its unit");
    } else if (has_text) {
      if (view_.text(text_key) == "") {
        findings_.add_error(view_.line_of(text_key), key_path(path_, text_key),
                            "is empty; expected a length such as " +
                                std::string(per_metre > 1.0 ? "3/16 in" : "10 ft"));
      }
      if (const auto length = length_of_key(view_, path_, rule, findings_)) {
        into = rounded_number(length->value() * per_metre);
      }
    } else {
      into = view_.number(number_key).value_or(into);
    }
  }

 private:
  const ObjectView& view_;
  std::string path_;
  Findings& findings_;
};

}  // namespace

void read_flatness(const ObjectView& root, Job& job, Findings& findings) {
  const auto& rooms = root.items("rooms");
  for (std::size_t i = 0; i < rooms.size(); ++i) {
    const ObjectView view = ObjectView(&rooms[i]).object("flatness");
    if (!view.present()) {
      continue;
    }
    auto& limit = job.rooms[i].requirements.flatness;
    FlatnessReader reader(view, key_path(item_path("rooms", i), "flatness"), findings);
    reader.put("within_mm", kWithin, 1000.0, limit.within_mm);
    reader.put("straightedge_m", kStraightedge, 1.0, limit.straightedge_m);
    limit.source = view.text("source").value_or(limit.source);
  }
}

}  // namespace logger::app
