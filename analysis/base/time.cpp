#include "analysis/base/time.hpp"

#include <array>
#include <utility>

namespace analysis::base {
namespace {

constexpr std::int64_t kMicrosPerSecond = 1'000'000;
constexpr std::int64_t kSecondsPerDay = 86'400;

// REQUIRES: 0 <= value < 10^digits. Called for every reading, so without a format to interpret.
void append_digits(std::string& text, std::int64_t value, std::size_t digits) {
  text.append(digits, '0');
  for (auto at = text.rbegin(); value != 0; ++at, value /= 10) {
    *at = static_cast<char>('0' + value % 10);
  }
}

// Takes exactly `digits` decimal digits from the front.
std::optional<int> take_number(std::string_view& text, std::size_t digits) {
  if (text.size() < digits) {
    return std::nullopt;
  }
  int value = 0;
  for (std::size_t i = 0; i < digits; ++i) {
    if (text[i] < '0' || text[i] > '9') {
      return std::nullopt;
    }
    value = value * 10 + (text[i] - '0');
  }
  text.remove_prefix(digits);
  return value;
}

bool take(std::string_view& text, char expected) {
  if (text.empty() || text.front() != expected) {
    return false;
  }
  text.remove_prefix(1);
  return true;
}

// Fraction of a second in microseconds; digits beyond the sixth are refused, not rounded away.
std::optional<std::int64_t> take_fraction(std::string_view& text) {
  std::int64_t micros = 0;
  std::int64_t unit = kMicrosPerSecond;
  while (!text.empty() && text.front() >= '0' && text.front() <= '9') {
    unit /= 10;
    if (unit == 0) {
      return std::nullopt;
    }
    micros += (text.front() - '0') * unit;
    text.remove_prefix(1);
  }
  return unit == kMicrosPerSecond ? std::nullopt : std::optional<std::int64_t>(micros);
}

// Offset east of UTC in seconds.
std::optional<std::int64_t> take_offset(std::string_view& text) {
  if (take(text, 'Z') || take(text, 'z')) {
    return 0;
  }
  if (text.empty() || (text.front() != '+' && text.front() != '-')) {
    return std::nullopt;
  }
  const int sign = text.front() == '-' ? -1 : 1;
  text.remove_prefix(1);
  const auto hours = take_number(text, 2);
  if (!hours || !take(text, ':')) {
    return std::nullopt;
  }
  const auto minutes = take_number(text, 2);
  if (!minutes || *hours > 23 || *minutes > 59) {
    return std::nullopt;
  }
  return sign * (*hours * 3600 + *minutes * 60);
}

}  // namespace

std::string rfc3339_from_utc(UtcMicros at) {
  using std::chrono::days;
  using std::chrono::floor;
  using std::chrono::sys_time;
  const sys_time<Micros> point{Micros{at.value}};
  const auto day = floor<days>(point);
  const std::chrono::year_month_day date{day};
  const std::int64_t in_day = (point - day).count();
  const std::int64_t seconds = in_day / kMicrosPerSecond;
  const std::int64_t micros = in_day % kMicrosPerSecond;
  const int year = static_cast<int>(date.year());
  std::string text;
  text.reserve(sizeof("2026-03-01T07:00:00.000000Z"));
  if (year < 0 || year > 9999) {
    text += std::to_string(year);
  } else {
    append_digits(text, year, 4);
  }
  const std::array<std::pair<char, std::int64_t>, 5> parts = {
      {{'-', static_cast<unsigned>(date.month())},
       {'-', static_cast<unsigned>(date.day())},
       {'T', seconds / 3600},
       {':', seconds / 60 % 60},
       {':', seconds % 60}}};
  for (const auto& [separator, value] : parts) {
    text += separator;
    append_digits(text, value, 2);
  }
  if (micros != 0) {
    text += '.';
    const bool whole_millis = micros % 1000 == 0;
    append_digits(text, whole_millis ? micros / 1000 : micros, whole_millis ? 3 : 6);
  }
  return text + 'Z';
}

std::string minute_text_from_utc(UtcMicros at) {
  std::string text = rfc3339_from_utc(at).substr(0, 16);
  text[10] = ' ';
  return text + " UTC";
}

std::optional<UtcMicros> utc_from_rfc3339(std::string_view text) {
  const auto year = take_number(text, 4);
  if (!year || !take(text, '-')) {
    return std::nullopt;
  }
  const auto month = take_number(text, 2);
  if (!month || !take(text, '-')) {
    return std::nullopt;
  }
  const auto day = take_number(text, 2);
  if (!day || !(take(text, 'T') || take(text, 't') || take(text, ' '))) {
    return std::nullopt;
  }
  const auto hour = take_number(text, 2);
  if (!hour || !take(text, ':')) {
    return std::nullopt;
  }
  const auto minute = take_number(text, 2);
  if (!minute || !take(text, ':')) {
    return std::nullopt;
  }
  const auto second = take_number(text, 2);
  if (!second || *hour > 23 || *minute > 59 || *second > 59) {
    return std::nullopt;
  }
  std::int64_t micros = 0;
  if (take(text, '.')) {
    const auto fraction = take_fraction(text);
    if (!fraction) {
      return std::nullopt;
    }
    micros = *fraction;
  }
  const auto offset = take_offset(text);
  if (!offset || !text.empty()) {
    return std::nullopt;
  }
  const std::chrono::year_month_day date{std::chrono::year{*year},
                                         std::chrono::month{static_cast<unsigned>(*month)},
                                         std::chrono::day{static_cast<unsigned>(*day)}};
  if (!date.ok()) {
    return std::nullopt;
  }
  const std::int64_t days = std::chrono::sys_days{date}.time_since_epoch().count();
  const std::int64_t seconds =
      days * kSecondsPerDay + *hour * 3600 + *minute * 60 + *second - *offset;
  return UtcMicros{seconds * kMicrosPerSecond + micros};
}

std::string text_from_duration(Micros d) {
  const bool negative = d.count() < 0;
  const std::int64_t seconds = (negative ? -d.count() : d.count()) / kMicrosPerSecond;
  const std::int64_t minutes = seconds / 60;
  const std::int64_t hours = minutes / 60;
  std::string text;
  if (hours >= 72) {
    text = std::to_string(hours / 24) + " d " + std::to_string(hours % 24) + " h";
  } else if (hours > 0) {
    text = std::to_string(hours) + " h";
    if (minutes % 60 != 0) {
      text += " " + std::to_string(minutes % 60) + " min";
    }
  } else if (minutes > 0) {
    text = std::to_string(minutes) + " min";
  } else {
    text = std::to_string(seconds) + " s";
  }
  return negative ? "-" + text : text;
}

}  // namespace analysis::base
