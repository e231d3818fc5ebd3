// The kinds of expectation, one function each: reads its words, and gives nothing when it holds,
// else what was found or what is wrong with the words.
#pragma once

#include <array>
#include <string>
#include <string_view>

#include "firmware-sim/sim/script/word_cursor.hpp"
#include "tests/scenarios/runner/case_outcome.hpp"

namespace scenarios {

using firmware::sim::script::WordCursor;

inline constexpr double kAnyNumber = 1e15;
inline constexpr std::array<std::string_view, 3> kOperators{"=", "<=", ">="};

struct Comparison {
  std::size_t op = 0;  // of kOperators
  double limit = 0.0;
  // `tolerance` is for "=".
  [[nodiscard]] bool holds(double value, double tolerance = 0.0) const;
};
[[nodiscard]] Comparison read_comparison(WordCursor& words);
[[nodiscard]] std::string text_of(double value);
// What was found, when the words are in order and it does not hold.
[[nodiscard]] std::string found(const WordCursor& words, bool holds, const std::string& what);
// Reads the comparison that is left and makes it.
[[nodiscard]] std::string compared(WordCursor& words, double value, const std::string& what,
                                   double tolerance = 0.0);

using CheckExpectation = std::string (*)(WordCursor& words, CaseOutcome& outcome);
struct ExpectationKind {
  std::string_view word;
  CheckExpectation check;
};
// Of what was measured: records, gaps, dates, hours, values.
inline constexpr std::size_t kRecordKinds = 9;
[[nodiscard]] const std::array<ExpectationKind, kRecordKinds>& record_expectations();
// Of what was told: events, messages, verdicts, output.
inline constexpr std::size_t kOutputKinds = 11;
[[nodiscard]] const std::array<ExpectationKind, kOutputKinds>& output_expectations();

}  // namespace scenarios
