// docs/job-file.md and the reader say the same: every object has its section, every key its row
// with range and "required", no row is left over, and the example reads without a finding.
#include <catch2/catch.hpp>
#include <fstream>
#include <iterator>
#include <map>
#include <set>
#include <sstream>

#include "logger/app/job/reader/keys/job_keys.hpp"
#include "logger/app/job/reader/keys/key_check.hpp"
#include "tests/app/job_texts.hpp"

using namespace logger::app;
using namespace job_tests;

namespace {

struct Row {
  std::string value;
  std::string fallback;
};
using Section = std::map<std::string, Row>;

std::string document() {
  std::ifstream file("docs/job-file.md");
  REQUIRE(file);
  return {std::istreambuf_iterator<char>(file), {}};
}

// Sections by the path in their heading; the whole file is "".
std::map<std::string, Section> sections_of(const std::string& text) {
  std::map<std::string, Section> sections;
  std::istringstream lines(text);
  std::string path;
  for (std::string line; std::getline(lines, line);) {
    if (line.starts_with("#")) {
      const std::size_t quote = line.find('`');
      path = quote == std::string::npos ? "" : line.substr(quote + 1, line.rfind('`') - quote - 1);
    } else if (line.starts_with("| `")) {
      std::istringstream cells(line.substr(2));
      std::string key;
      Row row;
      std::getline(cells, key, '|');
      std::getline(cells, row.value, '|');
      std::getline(cells, row.fallback, '|');
      sections[path][key.substr(1, key.rfind('`') - 1)] = row;
    }
  }
  return sections;
}

std::string range_of(const KeyRule& rule) {
  return value_text(rule.low, "") + ".." + value_text(rule.high, rule.name);
}

std::string expected_value(const KeyRule& rule) {
  switch (rule.kind) {
    case KeyKind::text:
      return " text ";
    case KeyKind::identifier:
      return " id ";
    case KeyKind::boolean:
      return " true or false ";
    case KeyKind::moment:
      return " time ";
    case KeyKind::object:
      return " object ";
    case KeyKind::object_or_null:
      return " object or `null` ";
    case KeyKind::object_list:
    case KeyKind::text_list:
      return " list of " + range_of(rule) + " ";
    case KeyKind::number:
    case KeyKind::whole_number:
      return " " + range_of(rule) + " ";
    case KeyKind::choice:
      break;
  }
  return {};
}

class DocumentCheck {
 public:
  explicit DocumentCheck(const std::string& text) : text_(text), sections_(sections_of(text)) {}

  void check(const ObjectKeys& keys, const std::string& path) {
    INFO("section " << path);
    REQUIRE(sections_.contains(path));
    const Section& section = sections_[path];
    seen_.insert(path);
    CHECK(section.size() == keys.keys.size());
    for (const KeyRule& rule : keys.keys) {
      const std::string name(rule.name);
      INFO("key " << name);
      REQUIRE(section.contains(name));
      check_row(rule, section.at(name));
      if (rule.child != nullptr) {
        check(*rule.child, (path.empty() ? "" : path + ".") + name +
                               (rule.kind == KeyKind::object_list ? "[]" : ""));
      }
    }
  }
  void check_nothing_is_left_over() const {
    for (const auto& [path, section] : sections_) {
      INFO("section " << path);
      CHECK(seen_.contains(path));
    }
  }

 private:
  void check_row(const KeyRule& rule, const Row& row) const {
    if (rule.kind != KeyKind::choice) {
      CHECK(row.value == expected_value(rule));
    }
    for (const std::string_view choice : rule.choices) {
      if (choice != "\t" && choice != "|") {
        CHECK(text_.find("`" + std::string(choice) + "`") != std::string::npos);
      }
    }
    if (rule.required) {
      CHECK(row.fallback == " required ");
    } else {
      CHECK(row.fallback != " required ");
    }
  }
  const std::string& text_;
  std::map<std::string, Section> sections_;
  std::set<std::string> seen_;
};

}  // namespace

TEST_CASE("The document has a row for every key, with its range, and no other") {
  const std::string text = document();
  DocumentCheck check(text);
  check.check(job_file_keys(), "");
  check.check_nothing_is_left_over();
}

TEST_CASE("The document's example reads without a finding") {
  const std::string text = document();
  const auto block_after = [&](const std::string& heading) {
    const std::size_t begin = text.find("```json\n", text.find(heading));
    REQUIRE(begin != std::string::npos);
    return text.substr(begin + 8, text.find("```", begin + 8) - begin - 8);
  };
  // The transmitter stands among the boxes, in a room of its own.
  const std::string transmitter = block_after("## A transmitter");
  const std::string alone = with(with(kShortest, "\"hall\"", "\"living-room\""), "\"boxes\": [",
                                 "\"boxes\": [" + transmitter + "], \"boxes_before\": [");
  CHECK(errors_of(alone).size() == 1);  // the key that holds the other boxes now
  const std::string example = block_after("## Example");
  CHECK(errors_of(example) == std::vector<std::string>{});
  CHECK(warnings_of(example) == std::vector<std::string>{});
}

TEST_CASE("The document's defaults are the reader's") {
  const auto sections = sections_of(document());
  const auto fallback = [&](const std::string& path, const std::string& key) {
    return std::stod(sections.at(path).at(key).fallback);
  };
  const Job job = *job_from_text(kShortest, "job.json").job;
  const auto& floor = job.rooms[0].requirements;
  const analysis::readiness::SlabRequirements slab;
  const std::string path = "rooms[].requirements.";
  const auto minutes = [](Micros d) { return analysis::base::hours_from(d) * 60; };
  CHECK(fallback("", "collect_every_seconds") == job.collect_every_s);
  CHECK(fallback("boxes[]", "unit") == job.boxes[0].unit);
  CHECK(fallback("boxes[]", "baud") == job.boxes[0].baud);
  CHECK(fallback("boxes[]", "sample_interval_seconds") == job.boxes[0].sample_interval_s);
  CHECK(fallback("boxes[].channels[]", "low_celsius") == job.boxes[0].channels[0].scale.low);
  CHECK(fallback("boxes[].channels[]", "high_celsius") == job.boxes[0].channels[0].scale.high);
  CHECK(fallback("boxes[].channels[]", "high_percent_rh") == job.boxes[0].channels[1].scale.high);
  CHECK(fallback("alerts", "command_timeout_seconds") == job.alerts.command_timeout_s);
  CHECK(fallback(path + "interruptions", "longest_interval_minutes") ==
        minutes(floor.longest_interval.value));
  CHECK(fallback(path + "interruptions", "grace_minutes") == minutes(floor.grace.value));
  CHECK(fallback(path + "interruptions", "excursion_budget_minutes") ==
        minutes(floor.excursion_budget.value));
  CHECK(fallback(path + "interruptions", "longest_unknown_hours") * 60 ==
        minutes(floor.longest_unknown.value));
  CHECK(fallback(path + "stack_core", "within_kelvin") == floor.core_within.value.value());
  CHECK(fallback(path + "slab", "settle_hours") * 60 == minutes(slab.settle.value));
  CHECK(fallback(path + "slab", "averaging_hours") * 60 == minutes(slab.averaging.value));
  CHECK(fallback(path + "slab", "minimum_age_days") * 1440 == minutes(slab.minimum_age.value));
  const auto& timings = job.alerts.settings;
  const std::string rules = "alerts.rules.";
  CHECK(fallback(rules + "out_of_band", "fire_after_minutes") ==
        minutes(timings.out_of_band.fire_after));
  CHECK(fallback(rules + "out_of_band", "clear_after_minutes") ==
        minutes(timings.out_of_band.clear_after));
  CHECK(fallback(rules + "dwell_reset", "clear_after_minutes") ==
        minutes(timings.dwell_reset_clear_after));
  CHECK(fallback(rules + "probe_silent", "fire_after_minutes") ==
        minutes(timings.probe_silent_fire_after));
  CHECK(fallback(rules + "ready", "fire_after_minutes") == minutes(timings.ready_fire_after));
  CHECK(fallback(rules + "no_longer_ready", "fire_after_minutes") ==
        minutes(timings.no_longer_ready_fire_after));
}
