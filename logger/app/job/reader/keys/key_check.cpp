#include "logger/app/job/reader/keys/key_check.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <utility>

#include "analysis/base/edit_distance.hpp"
#include "logger/app/job/reader/job_parts.hpp"

namespace logger::app {
namespace {

constexpr std::size_t kMostFindings = 100;
constexpr std::size_t kLongestQuote = 60;     // bytes
constexpr std::size_t kLongestFinding = 400;  // bytes
constexpr std::size_t kLongestCompared = 64;  // bytes
constexpr std::size_t kLongestIdentifier = 32;

std::string cut(std::string_view text, std::size_t longest) {
  if (text.size() <= longest) {
    return std::string(text);
  }
  std::size_t end = longest;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xc0U) == 0x80U) {
    --end;  // not within a UTF-8 sequence
  }
  return std::string(text.substr(0, end)) + "...";
}

bool is_control(char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; }

std::string printable(std::string_view text) {
  std::string line = cut(text, kLongestFinding);
  std::replace_if(line.begin(), line.end(), is_control, '?');
  return line;
}

std::vector<JobFinding> ordered(std::vector<JobFinding> findings) {
  std::stable_sort(findings.begin(), findings.end(),
                   [](const JobFinding& a, const JobFinding& b) { return a.line < b.line; });
  if (findings.size() > kMostFindings) {
    const std::string all = std::to_string(findings.size());
    findings.resize(kMostFindings);
    findings.back().key.clear();
    findings.back().text = "only the first of " + all + " findings are shown";
  }
  return findings;
}

std::size_t edit_distance(std::string_view a, std::string_view b) {
  return analysis::base::edit_distance(a.substr(0, kLongestCompared),
                                       b.substr(0, kLongestCompared));
}

bool is_close(std::string_view a, std::string_view b) {
  return edit_distance(a, b) <= std::max<std::size_t>(2, b.size() / 3);
}

// The same quantity under another name: without its unit, with a foreign one, or with more in
// front.
bool means_the_same(std::string_view key, std::string_view valid) {
  const std::string stem(stem_from_key(valid));
  return valid.starts_with(std::string(key) + "_") || stem_from_key(key) == stem ||
         stem_from_key(key).ends_with("_" + stem);
}

std::string unknown_key_text(std::string_view key, const ObjectKeys& keys) {
  if (!key.empty() && key == keys.refused_key) {
    return std::string(keys.refused_text);
  }
  std::string text = "unknown key " + in_quotes(key) + "; ";
  std::vector<std::string_view> names;
  std::string meant;
  for (const KeyRule& rule : keys.keys) {
    names.push_back(rule.name);
    const std::string_view unit = unit_from_key(rule.name);
    if (!unit.empty() && unit != unit_from_key(key) && means_the_same(key, rule.name)) {
      meant += (meant.empty() ? "" : " or ") + in_quotes(rule.name);
    }
  }
  if (!meant.empty()) {
    return text + "did you mean " + meant + "? the unit is part of the name";
  }
  const std::string_view nearest = nearest_of(key, names);
  return is_close(key, nearest) || means_the_same(key, nearest)
             ? text + "did you mean " + in_quotes(nearest) + "?"
             : text + "the nearest valid key is " + in_quotes(nearest);
}

std::string missing_key_text(const KeyRule& rule) {
  return std::string("required key is missing") +
         (rule.name == "source" ? "; every limit names who says so" : "");
}

std::string range_text(const KeyRule& rule) {
  const std::string low = value_text(rule.low, "");
  return low + ".." + value_text(rule.high, rule.name);
}

// One value against its rule. A fault is the text of a finding, empty when the value is as it must
// be.
class ValueCheck {
 public:
  ValueCheck(JsonNode& node, const KeyRule& rule, const std::string& path, Findings& findings)
      : node_(node), rule_(rule), path_(path), findings_(findings) {}

  void run() {
    const std::string wrong = wrong_text();
    if (!wrong.empty()) {
      node_.refused = true;
      findings_.add_error(node_.line, path_, wrong);
    }
  }

 private:
  std::string wrong_text() {
    switch (rule_.kind) {
      case KeyKind::text:
        return is(JsonKind::text) ? text_fault() : kind_fault(JsonKind::text);
      case KeyKind::identifier:
        return is(JsonKind::text) ? identifier_fault() : kind_fault(JsonKind::text);
      case KeyKind::choice:
        return is(JsonKind::text) ? choice_fault(node_.text) : kind_fault(JsonKind::text);
      case KeyKind::moment:
        return is(JsonKind::text) ? moment_fault() : kind_fault(JsonKind::text);
      case KeyKind::whole_number:
      case KeyKind::number:
        return is(JsonKind::number) ? number_fault() : kind_fault(JsonKind::number);
      case KeyKind::boolean:
        return is(JsonKind::boolean) ? "" : kind_fault(JsonKind::boolean);
      case KeyKind::object_or_null:
        return is(JsonKind::null) ? "" : object_fault();
      case KeyKind::object:
        return object_fault();
      case KeyKind::object_list:
      case KeyKind::text_list:
        return is(JsonKind::list) ? list_fault() : kind_fault(JsonKind::list);
    }
    return {};
  }

  [[nodiscard]] bool is(JsonKind kind) const { return node_.kind == kind; }
  [[nodiscard]] std::string kind_fault(JsonKind wanted) const {
    return "expected " + std::string(name_of(wanted)) + ", found " +
           std::string(name_of(node_.kind));
  }

  [[nodiscard]] std::string text_fault() const {
    if (std::any_of(node_.text.begin(), node_.text.end(), is_control)) {
      return in_quotes(node_.text) + " holds control characters";
    }
    const auto characters = std::count_if(node_.text.begin(), node_.text.end(), [](char c) {
      return (static_cast<unsigned char>(c) & 0xc0U) != 0x80U;
    });
    if (static_cast<double>(characters) < rule_.low ||
        static_cast<double>(characters) > rule_.high) {
      return "text of " + std::to_string(characters) + " characters; expected " + range_text(rule_);
    }
    return {};
  }

  [[nodiscard]] std::string identifier_fault() const {
    const auto is_plain = [](char c) {
      return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-' || c == '_';
    };
    const std::string& id = node_.text;
    const bool good = !id.empty() && id.size() <= kLongestIdentifier && id.front() != '-' &&
                      std::all_of(id.begin(), id.end(), is_plain);
    return good ? ""
                : in_quotes(id) +
                      " is no id; expected 1 to 32 lower-case letters, digits, - or _, "
                      "the first one not -";
  }

  [[nodiscard]] std::string choice_fault(const std::string& chosen) const {
    if (std::find(rule_.choices.begin(), rule_.choices.end(), chosen) != rule_.choices.end()) {
      return {};
    }
    const std::string_view nearest = nearest_of(chosen, rule_.choices);
    std::string text = in_quotes(chosen) + " is not one of ";
    for (const std::string_view name : rule_.choices) {
      text += (name == rule_.choices.front() ? "" : ", ") + in_quotes(name == "\t" ? "\\t" : name);
    }
    return is_close(chosen, nearest) && nearest.size() > 1
               ? text + "; did you mean " + in_quotes(nearest) + "?"
               : text;
  }

  [[nodiscard]] std::string moment_fault() const {
    return moment_from_text(node_.text, DayReading::its_begin)
               ? ""
               : in_quotes(node_.text) +
                     " is no time; expected a date such as \"2026-03-01\" or RFC 3339 with an "
                     "offset such as \"2026-03-01T14:30:00+01:00\"";
  }

  [[nodiscard]] std::string number_fault() const {
    if (node_.number < rule_.low || node_.number > rule_.high) {
      return value_text(node_.number, rule_.name) + " is outside " + range_text(rule_);
    }
    if (rule_.kind == KeyKind::whole_number && !node_.whole_number) {
      return value_text(node_.number, rule_.name) + " is no whole number";
    }
    return {};
  }

  std::string object_fault() {
    if (!is(JsonKind::object)) {
      return kind_fault(JsonKind::object);
    }
    check_keys(node_, *rule_.child, path_, findings_);
    return {};
  }

  std::string list_fault() {
    const auto count = static_cast<double>(node_.items.size());
    if (count < rule_.low || count > rule_.high) {
      return std::to_string(node_.items.size()) + " entries; expected " + range_text(rule_);
    }
    KeyRule entry = rule_;
    entry.kind = rule_.kind == KeyKind::object_list ? KeyKind::object
                 : rule_.choices.empty()            ? KeyKind::text
                                                    : KeyKind::choice;
    entry.low = 0;
    entry.high = 4096;  // a command's argument may be long
    for (std::size_t i = 0; i < node_.items.size(); ++i) {
      ValueCheck(node_.items[i], entry, item_path(path_, i), findings_).run();
    }
    return {};
  }

  JsonNode& node_;
  const KeyRule& rule_;
  const std::string path_;
  Findings& findings_;
};

}  // namespace

void Findings::add_error(int line, const std::string& key, std::string text) {
  errors_.push_back({file_name_, line, printable(key), printable(text)});
}
void Findings::add_warning(int line, const std::string& key, std::string text) {
  warnings_.push_back({file_name_, line, printable(key), printable(text)});
}
std::vector<JobFinding> Findings::take_errors() { return ordered(std::move(errors_)); }
std::vector<JobFinding> Findings::take_warnings() { return ordered(std::move(warnings_)); }

void check_keys(JsonNode& node, const ObjectKeys& keys, const std::string& path,
                Findings& findings) {
  for (JsonMember& member : node.members) {
    if (member.repeated) {
      continue;  // told already
    }
    const auto rule = std::find_if(keys.keys.begin(), keys.keys.end(),
                                   [&](const KeyRule& r) { return r.name == member.key; });
    const std::string member_path = key_path(path, member.key);
    if (rule == keys.keys.end()) {
      findings.add_error(member.line, member_path, unknown_key_text(member.key, keys));
    } else {
      ValueCheck(member.value, *rule, member_path, findings).run();
    }
  }
  for (const KeyRule& rule : keys.keys) {
    if (rule.required && node.find(rule.name) == nullptr) {
      findings.add_error(node.line, key_path(path, rule.name), missing_key_text(rule));
    }
  }
}

std::string in_quotes(std::string_view text) { return "\"" + cut(text, kLongestQuote) + "\""; }

std::string value_text(double value, std::string_view key) {
  constexpr double kPrintedWhole = 2e19;  // serials go up to 2^64
  const bool whole = std::fabs(value) < kPrintedWhole && std::trunc(value) == value;
  char digits[40];
  std::snprintf(digits, sizeof digits, whole ? "%.0f" : "%.10g", value);
  const std::string_view unit = unit_from_key(key);
  return digits + (unit.empty() ? std::string() : " " + std::string(unit));
}

std::string_view nearest_of(std::string_view text, std::span<const std::string_view> names) {
  const auto nearest =
      std::min_element(names.begin(), names.end(), [text](std::string_view a, std::string_view b) {
        return edit_distance(text, a) < edit_distance(text, b);
      });
  return nearest == names.end() ? std::string_view() : *nearest;
}

std::string key_path(const std::string& path, std::string_view key) {
  return path + (path.empty() ? "" : ".") + cut(key, kLongestQuote);
}
std::string item_path(const std::string& path, std::size_t index) {
  return path + "[" + std::to_string(index) + "]";
}

}  // namespace logger::app
