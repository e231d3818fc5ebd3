#include "firmware-sim/sim/script/word_cursor.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "firmware-sim/sim/site/nearest_name.hpp"

namespace firmware::sim::script {
namespace {

using analysis::base::Micros;

constexpr std::string_view kBlanks = " \t\r";
// No script needs longer; keeps sums of parts far inside 64 bits.
constexpr double kLongestUs = 3650.0 * 86400e6;
constexpr std::string_view kLongest = "3650d";

struct Unit {
  std::string_view name;
  double us;
};
// Longer names first, where one begins with another.
constexpr std::array<Unit, 5> kUnits{Unit{"min", 60e6}, Unit{"ms", 1e3}, Unit{"d", 86400e6},
                                     Unit{"h", 3600e6}, Unit{"s", 1e6}};

std::optional<double> number_at(std::string_view& text) {
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || !std::isfinite(value)) {
    return std::nullopt;
  }
  text.remove_prefix(static_cast<std::size_t>(end - text.data()));
  return value;
}

std::string text_of(double value) {
  std::array<char, 32> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value);
  return {buffer.data(), end.ptr};
}

// Microseconds, however many; nullopt when the text is no duration.
std::optional<double> us_from_text(std::string_view text) {
  double us = 0.0;
  while (true) {
    const auto number = number_at(text);
    const auto* const unit = std::find_if(kUnits.begin(), kUnits.end(), [&](const Unit& candidate) {
      return text.starts_with(candidate.name);
    });
    if (!number || *number < 0.0 || unit == kUnits.end()) {
      return std::nullopt;
    }
    us += *number * unit->us;
    text.remove_prefix(unit->name.size());
    if (text.empty()) {
      return us;
    }
  }
}

std::string listed(std::span<const std::string_view> words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) {
    text += i == 0 ? "" : i + 1 == words.size() ? " or " : ", ";
    text += words[i];
  }
  return text;
}

}  // namespace

std::optional<Micros> duration_from_text(std::string_view text) {
  if (text == "0") {
    return Micros{0};
  }
  const auto us = us_from_text(text);
  return us && *us <= kLongestUs ? std::optional(Micros{std::llround(*us)}) : std::nullopt;
}

WordCursor::WordCursor(std::string_view line) {
  while (true) {
    const std::size_t begin = line.find_first_not_of(kBlanks);
    if (begin == std::string_view::npos || line[begin] == '#') {
      return;
    }
    line.remove_prefix(begin);
    const bool quoted = line.front() == '"';
    const std::size_t end = quoted ? line.find('"', 1) : line.find_first_of(kBlanks);
    if (quoted && end == std::string_view::npos) {
      fail(std::string(line), "a closing \" on the same line");
      return;
    }
    words_.emplace_back(quoted ? line.substr(1, end - 1) : line.substr(0, end));
    line.remove_prefix(std::min(line.size(), quoted ? end + 1 : end));
  }
}

const std::string& WordCursor::peek() const {
  static const std::string kNothing;
  return at_end() || !ok() ? kNothing : words_[next_];
}

std::vector<std::string> WordCursor::rest() {
  std::vector<std::string> left(words_.begin() + static_cast<std::ptrdiff_t>(next_), words_.end());
  next_ = words_.size();
  return left;
}

std::string WordCursor::take() { return at_end() ? std::string() : words_[next_++]; }

void WordCursor::fail(const std::string& word, const std::string& expected) {
  if (fault_.empty()) {
    fault_ = (word.empty() ? "it ends too early" : "'" + word + "'") + ": expected " + expected;
  }
}

void WordCursor::refuse(const std::string& expected) {
  fail(next_ == 0 ? "" : words_[next_ - 1], expected);
}

void WordCursor::refuse_word(const std::string& word, const std::string& expected) {
  fail(word, expected);
}

void WordCursor::complain(const std::string& sentence) {
  if (ok()) {
    fault_ = sentence;
  }
}

std::string WordCursor::word(std::string_view expected) {
  if (ok() && at_end()) {
    fail("", std::string(expected));
  }
  return ok() ? take() : std::string();
}

bool WordCursor::take_if(std::string_view word) {
  if (!ok() || at_end() || words_[next_] != word) {
    return false;
  }
  ++next_;
  return true;
}

void WordCursor::expect(std::string_view word) {
  if (ok() && !take_if(word)) {
    fail(peek(), "'" + std::string(word) + "'");
  }
}

std::size_t WordCursor::one_of(std::span<const std::string_view> words) {
  if (!ok()) {
    return 0;
  }
  const std::string next = take();
  const auto found = std::find(words.begin(), words.end(), next);
  if (found != words.end()) {
    return static_cast<std::size_t>(found - words.begin());
  }
  fail(next, listed(words) + site::nearest_text(next, words));
  return 0;
}

std::uint64_t WordCursor::whole(std::uint64_t lowest, std::uint64_t highest) {
  if (!ok()) {
    return lowest;
  }
  const std::string text = take();
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (text.empty() || error != std::errc{} || end != text.data() + text.size() || value < lowest ||
      value > highest) {
    fail(text, "a whole number from " + std::to_string(lowest) + " to " + std::to_string(highest));
    return lowest;
  }
  return value;
}

double WordCursor::real(double lowest, double highest, std::string_view suffix) {
  if (!ok()) {
    return lowest;
  }
  const std::string text = take();
  std::string_view left = text;
  if (left.starts_with('+')) {
    left.remove_prefix(1);
  }
  const auto value = number_at(left);
  if (!value || left != suffix || *value < lowest || *value > highest) {
    fail(text, "a number from " + text_of(lowest) + " to " + text_of(highest) +
                   (suffix.empty() ? "" : " with " + std::string(suffix) + " right behind it"));
    return lowest;
  }
  return *value;
}

Micros WordCursor::duration() {
  if (!ok()) {
    return Micros{0};
  }
  const std::string text = take();
  const auto value = duration_from_text(text);
  if (!value) {
    fail(text, us_from_text(text) ? "at most " + std::string(kLongest) + ", it is too long"
                                  : "a duration such as 38h, 1d12h, 90min, 0.5s, 250ms or 0");
  }
  return value.value_or(Micros{0});
}

Micros WordCursor::signed_duration() {
  if (!ok()) {
    return Micros{0};
  }
  const std::string text = take();
  const bool has_sign = text.starts_with('+') || text.starts_with('-');
  const auto value = duration_from_text(std::string_view(text).substr(has_sign ? 1 : 0));
  if (!value || !has_sign) {
    fail(text, "a duration with its sign, such as +90s or -1h");
    return Micros{0};
  }
  return text.front() == '-' ? -*value : *value;
}

void WordCursor::expect_end() {
  if (ok() && !at_end()) {
    fail(peek(), "the end of the line");
  }
}

}  // namespace firmware::sim::script
