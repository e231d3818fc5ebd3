// One line of a script, word by word. The first thing that does not fit is kept as a fault and
// everything after it is skipped, so that a reader of a statement needs no checks of its own: it
// asks for what it expects and looks at ok() once, at the end. No I/O.
#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "analysis/base/time.hpp"

namespace firmware::sim::script {

inline constexpr std::uint64_t kAny = std::numeric_limits<std::uint64_t>::max();

class WordCursor {
 public:
  // Words are parted by blanks; "..." is one word; # begins a comment.
  explicit WordCursor(std::string_view line);
  explicit WordCursor(std::vector<std::string> words) : words_(std::move(words)) {}

  [[nodiscard]] bool ok() const { return fault_.empty(); }
  [[nodiscard]] const std::string& fault() const { return fault_; }
  [[nodiscard]] bool at_end() const { return next_ == words_.size(); }
  [[nodiscard]] const std::string& peek() const;  // empty at the end
  [[nodiscard]] std::vector<std::string> rest();  // takes all that is left

  // Everything below takes words, or faults and gives a neutral value; after a fault nothing more
  // is taken.
  std::string word(std::string_view expected);  // any word; `expected` says what in the fault
  bool take_if(std::string_view word);          // false, and no fault, when another word comes
  void expect(std::string_view word);
  // Position of the next word among `words`.
  std::size_t one_of(std::span<const std::string_view> words);
  std::uint64_t whole(std::uint64_t lowest, std::uint64_t highest);
  // A number, with `suffix` right behind it when that is not empty ("100ppm").
  double real(double lowest, double highest, std::string_view suffix = "");
  // Parts of d, h, min, s and ms without blanks, "1d12h", "90min", "0.5s", or 0; at most 3650d.
  analysis::base::Micros duration();
  analysis::base::Micros signed_duration();  // with + or - in front
  void expect_end();
  // Faults at the word taken last.
  void refuse(const std::string& expected);
  // Faults at a word that was taken before.
  void refuse_word(const std::string& word, const std::string& expected);
  // Faults with a whole sentence of someone else.
  void complain(const std::string& sentence);

 private:
  void fail(const std::string& word, const std::string& expected);
  [[nodiscard]] std::string take();

  std::vector<std::string> words_;
  std::size_t next_ = 0;
  std::string fault_;
};

// nullopt when the text is no duration; see WordCursor::duration.
[[nodiscard]] std::optional<analysis::base::Micros> duration_from_text(std::string_view text);

}  // namespace firmware::sim::script
