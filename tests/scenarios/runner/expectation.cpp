#include "tests/scenarios/runner/expectation.hpp"

#include <cmath>
#include <exception>
#include <sstream>
#include <vector>

#include "tests/scenarios/runner/expectation_kinds.hpp"

namespace scenarios {

std::string text_of(double value) {
  std::ostringstream text;
  text.precision(10);
  text << value;
  return text.str();
}

bool Comparison::holds(double value, double tolerance) const {
  return op == 0 ? std::abs(value - limit) <= tolerance : op == 1 ? value <= limit : value >= limit;
}

Comparison read_comparison(WordCursor& words) {
  Comparison comparison;
  comparison.op = words.one_of(kOperators);
  comparison.limit = words.real(-kAnyNumber, kAnyNumber);
  words.expect_end();
  return comparison;
}

std::string found(const WordCursor& words, bool holds, const std::string& what) {
  return !words.ok() ? words.fault() : holds ? "" : "found " + what;
}

std::string compared(WordCursor& words, double value, const std::string& what, double tolerance) {
  const Comparison comparison = read_comparison(words);
  return found(words, comparison.holds(value, tolerance), text_of(value) + " " + what);
}

std::string fault_of(const Expectation& expectation, CaseOutcome& outcome) {
  std::vector<ExpectationKind> kinds(record_expectations().begin(), record_expectations().end());
  kinds.insert(kinds.end(), output_expectations().begin(), output_expectations().end());
  std::vector<std::string_view> names;
  for (const ExpectationKind& kind : kinds) {
    names.push_back(kind.word);
  }
  WordCursor words(expectation.words);
  const std::size_t index = words.one_of(names);
  if (!words.ok()) {
    return words.fault();
  }
  try {
    return kinds.at(index).check(words, outcome);
  } catch (const std::exception& error) {
    return error.what();
  }
}

}  // namespace scenarios
