// Checks a tree against the keys it may have, and collects what is wrong. Pure. What depends on
// more than one key is checked in job_checks.cpp.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "logger/app/job/job_file.hpp"
#include "logger/app/job/reader/keys/job_keys.hpp"
#include "logger/app/job/reader/keys/json_tree.hpp"

namespace logger::app {

// Collects findings of one file. Keys and texts are made printable and cut to a bearable length.
class Findings {
 public:
  explicit Findings(std::string file_name) : file_name_(std::move(file_name)) {}
  void add_error(int line, const std::string& key, std::string text);
  void add_warning(int line, const std::string& key, std::string text);
  [[nodiscard]] bool has_errors() const { return !errors_.empty(); }
  // In order of lines, at most 100; the last one then says how many there are.
  [[nodiscard]] std::vector<JobFinding> take_errors();
  [[nodiscard]] std::vector<JobFinding> take_warnings();

 private:
  std::string file_name_;
  std::vector<JobFinding> errors_;
  std::vector<JobFinding> warnings_;
};

// Unknown and missing keys, kinds, ranges, down the whole tree. Marks what is wrong as refused.
void check_keys(JsonNode& node, const ObjectKeys& keys, const std::string& path,
                Findings& findings);

// `"text"`, cut when long.
[[nodiscard]] std::string in_quotes(std::string_view text);
// "17.5 °C"; the unit from the key's name.
[[nodiscard]] std::string value_text(double value, std::string_view key);
// The nearest of `names` by edit distance; empty when there are none.
[[nodiscard]] std::string_view nearest_of(std::string_view text,
                                          std::span<const std::string_view> names);
// path + key, with a dot where one is needed.
[[nodiscard]] std::string key_path(const std::string& path, std::string_view key);
[[nodiscard]] std::string item_path(const std::string& path, std::size_t index);

}  // namespace logger::app
