#include "analysis/plan/room/length_text.hpp"

#include <array>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <numeric>
#include <optional>

#include "analysis/readiness/reason_texts.hpp"

namespace analysis::plan {
namespace {

constexpr double kLongest = 1000.0;  // metres; more is a slip of the pen

class LengthReader {
 public:
  explicit LengthReader(std::string_view text) : rest_(text) { skip_blanks(); }

  [[nodiscard]] bool at_end() const { return rest_.empty(); }

  // Whole or decimal, without a sign; nullopt when the rest begins with none.
  std::optional<double> number() {
    if (rest_.empty() || (rest_.front() != '.' && (rest_.front() < '0' || rest_.front() > '9'))) {
      return std::nullopt;  // from_chars would take "nan" and "inf"
    }
    double value = 0.0;
    const auto [end, fault] =
        std::from_chars(rest_.data(), rest_.data() + rest_.size(), value, std::chars_format::fixed);
    if (fault != std::errc{}) {
      return std::nullopt;
    }
    rest_.remove_prefix(static_cast<std::size_t>(end - rest_.data()));
    skip_blanks();
    return value;
  }
  // "1/2": the part behind a number that was read; nullopt when there is none.
  std::optional<double> divided(double above) {
    if (!take("/")) {
      return std::nullopt;
    }
    const auto below = number();
    return below && *below > 0.0 ? std::optional(above / *below) : std::nullopt;
  }
  bool take(std::string_view mark) {
    if (!rest_.starts_with(mark)) {
      return false;
    }
    rest_.remove_prefix(mark.size());
    skip_blanks();
    return true;
  }
  template <std::size_t N>
  bool take_one_of(const std::array<std::string_view, N>& marks) {
    for (const std::string_view mark : marks) {
      if (take(mark)) {
        return true;
      }
    }
    return false;
  }
  [[nodiscard]] bool is_next(char c) const { return rest_.starts_with(c); }

 private:
  void skip_blanks() {
    while (rest_.starts_with(' ')) {
      rest_.remove_prefix(1);
    }
  }
  std::string_view rest_;
};

constexpr std::array<std::string_view, 5> kFeetMarks{"ft", "'", "\u2032", "\u2019", "feet"};
constexpr std::array<std::string_view, 5> kInchMarks{"inches", "in", "\"", "\u2033", "\u201d"};

std::string expectation(std::string_view text, const char* wrong) {
  return "\"" + std::string(text) + "\" " + wrong +
         "; expected a length like 4.2 m, 420 cm, 4200 mm or 12' 6 1/2\"";
}

// "6", "6 1/2" or "1/2", with the mark of inches behind it.
std::optional<double> inches_from(LengthReader& reader) {
  auto value = reader.number();
  if (!value) {
    return std::nullopt;
  }
  if (reader.is_next('/')) {
    value = reader.divided(*value);
  } else if (const auto above = reader.number()) {
    const auto part = reader.divided(*above);
    value = part && *part < 1.0 ? std::optional(*value + *part) : std::nullopt;
  }
  return value && reader.take_one_of(kInchMarks) ? value : std::nullopt;
}

std::optional<double> feet_and_inches_from(std::string_view text) {
  LengthReader reader(text);
  const auto feet = reader.number();
  if (feet && reader.take_one_of(kFeetMarks)) {
    reader.take("-");
    if (reader.at_end()) {
      return *feet * kMetresPerFoot;
    }
    const auto inches = inches_from(reader);
    const bool fits = inches && *inches < 12.0 && *feet == std::floor(*feet);
    return fits && reader.at_end()
               ? std::optional(*feet * kMetresPerFoot + *inches * kMetresPerInch)
               : std::nullopt;
  }
  LengthReader again(text);
  const auto inches = inches_from(again);
  return inches && again.at_end() ? std::optional(*inches * kMetresPerInch) : std::nullopt;
}

std::optional<double> metric_from(std::string_view text) {
  LengthReader reader(text);
  const auto value = reader.number();
  if (!value) {
    return std::nullopt;
  }
  const double unit = reader.take("mm") ? 0.001 : reader.take("cm") ? 0.01 : 1.0;
  if (unit == 1.0) {
    reader.take("m");
  }
  return reader.at_end() ? std::optional(*value * unit) : std::nullopt;
}

}  // namespace

base::Result<Metres, std::string> length_from_text(std::string_view text) {
  if (text.find(',') != std::string_view::npos) {
    return base::Failure{expectation(text, "has a comma; write decimals with a point")};
  }
  auto metres = metric_from(text);
  if (!metres) {
    metres = feet_and_inches_from(text);
  }
  if (!metres) {
    return base::Failure{expectation(text, "is no length")};
  }
  if (*metres > kLongest) {
    return base::Failure{expectation(text, "is longer than 1000 m")};
  }
  return Metres{*metres};
}

std::string metric_text_from(Metres length) {
  std::string shown = readiness::text_from_number(length.value(), 3);
  while (shown.ends_with('0') && shown[shown.size() - 3] != '.') {
    shown.pop_back();
  }
  return shown + " m";
}

std::string imperial_text_from(Metres length) {
  const long sixteenths = std::lround(length.value() / kMetresPerInch * 16.0);
  const long feet = sixteenths / 192;
  const long inches = sixteenths % 192 / 16;
  const long part = sixteenths % 16;
  std::string text = feet > 0 ? std::to_string(feet) + "' " : "";
  if (inches > 0 || part == 0) {
    text += std::to_string(inches) + (part > 0 ? " " : "");
  }
  if (part > 0) {
    const long divisor = std::gcd(part, 16L);
    text += std::to_string(part / divisor) + "/" + std::to_string(16 / divisor);
  }
  return text + "\"";
}

std::string length_text_from(Metres length, bool imperial) {
  return imperial ? imperial_text_from(length) : metric_text_from(length);
}

std::string sawn_text_from(Metres length, bool imperial) {
  if (imperial) {
    return imperial_text_from(length);
  }
  return readiness::text_from_number(length.value() * 100.0) + " cm";
}

std::string gap_text_from(Metres gap, bool imperial) {
  if (imperial) {
    constexpr double kSixteenth = kMetresPerInch / 16.0;
    return imperial_text_from(Metres{std::ceil(gap.value() / kSixteenth - 1e-6) * kSixteenth});
  }
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), "%.3g mm", gap.value() * 1000.0);
  return text.data();
}

std::string lengths_held_in(std::string_view text) {
  const auto is_digit = [&text](std::size_t i) {
    return i < text.size() && text[i] >= '0' && text[i] <= '9';
  };
  const auto begins_fraction = [&](std::size_t i) {
    while (is_digit(i)) {
      ++i;
    }
    return i < text.size() && text[i] == '/' && is_digit(i + 1);
  };
  std::string held;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool between = text[i] == ' ' && i > 0 && is_digit(i + 1);
    const bool feet = between && i > 1 && text[i - 1] == '\'' && is_digit(i - 2);
    const bool fraction = between && is_digit(i - 1) && begins_fraction(i + 1);
    held += feet || fraction ? "\u00a0" : std::string(1, text[i]);
  }
  return held;
}

}  // namespace analysis::plan
