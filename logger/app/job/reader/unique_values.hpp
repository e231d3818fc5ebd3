// Refuses the second use of a value that must be unique, naming the line of the first.
#pragma once

#include <map>
#include <string>

#include "logger/app/job/reader/keys/key_check.hpp"

namespace logger::app {

class UniqueValues {
 public:
  UniqueValues(Findings& findings, std::string what)
      : findings_(findings), what_(std::move(what)) {}
  void add(const std::string& value, int line, const std::string& path) {
    const auto [first, is_new] = first_line_.emplace(value, line);
    if (!is_new) {
      findings_.add_error(line, path,
                          what_ + " " + in_quotes(value) + " is used on line " +
                              std::to_string(first->second) + " already; it must be unique");
    }
  }

 private:
  Findings& findings_;
  std::string what_;
  std::map<std::string, int> first_line_;
};

}  // namespace logger::app
