#include "analysis/drawing/axis.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <charconv>
#include <chrono>
#include <cmath>
#include <optional>

namespace analysis::drawing {
namespace {

using std::chrono::days;
using std::chrono::hours;
using std::chrono::minutes;
using SysMicros = std::chrono::sys_time<base::Micros>;

struct Step {
  base::Micros labelled;
  base::Micros minor;  // zero = none
};
constexpr std::array<Step, 13> kSteps{{{minutes{5}, minutes{1}},
                                       {minutes{15}, minutes{5}},
                                       {minutes{30}, minutes{10}},
                                       {hours{1}, minutes{15}},
                                       {hours{2}, minutes{30}},
                                       {hours{3}, hours{1}},
                                       {hours{6}, hours{1}},
                                       {hours{12}, hours{3}},
                                       {days{1}, hours{6}},
                                       {days{2}, hours{12}},
                                       {days{7}, days{1}},
                                       {days{14}, days{7}},
                                       {days{28}, days{7}}}};
constexpr std::array<int, 6> kMonthSteps{1, 2, 3, 6, 12, 24};
constexpr base::Micros kShortestMonth = days{28};

// 1970-01-01 was a Thursday; shifted by four days, weeks begin on Mondays.
constexpr base::Micros kWeekShift = days{4};

std::string two_digits(unsigned value) {
  return {static_cast<char>('0' + value / 10 % 10), static_cast<char>('0' + value % 10)};
}

std::string label_of(base::UtcMicros at, const MonthNames& months) {
  const SysMicros moment{base::Micros{at.value}};
  const auto midnight = std::chrono::floor<days>(moment);
  const auto minute_of_day =
      static_cast<unsigned>(std::chrono::duration_cast<minutes>(moment - midnight).count());
  if (minute_of_day != 0) {
    return two_digits(minute_of_day / 60) + ":" + two_digits(minute_of_day % 60);
  }
  const std::chrono::year_month_day date{midnight};
  return std::to_string(static_cast<unsigned>(date.day())) + " " +
         months[static_cast<unsigned>(date.month()) - 1];
}

std::int64_t floor_multiple(std::int64_t value, std::int64_t step) {
  const std::int64_t rest = value % step;
  return value - (rest < 0 ? rest + step : rest);
}

std::vector<TimeTick> ticks_by_step(const base::TimeRange& range, const Step& step,
                                    const MonthNames& months) {
  const std::int64_t shift = step.labelled >= days{7} ? kWeekShift.count() : 0;
  const std::int64_t fine = step.minor.count();
  std::vector<TimeTick> ticks;
  for (std::int64_t at = floor_multiple(range.from.value - shift, fine) + shift;
       at <= range.to.value; at += fine) {
    if (at < range.from.value) {
      continue;
    }
    const bool labelled = (at - shift) % step.labelled.count() == 0;
    ticks.push_back({base::UtcMicros{at}, labelled ? label_of({at}, months) : std::string{}});
  }
  return ticks;
}

std::vector<TimeTick> ticks_by_month(const base::TimeRange& range, int step_months,
                                     const MonthNames& months) {
  std::vector<TimeTick> ticks;
  const SysMicros start{base::Micros{range.from.value}};
  const std::chrono::year_month_day first{std::chrono::floor<days>(start)};
  auto month = std::chrono::year_month{first.year(), std::chrono::January};
  while (true) {
    const std::chrono::sys_days day{month / std::chrono::day{1}};
    const base::UtcMicros at{base::Micros{day.time_since_epoch()}.count()};
    if (at > range.to) {
      return ticks;
    }
    if (at >= range.from) {
      const unsigned number = static_cast<unsigned>(month.month());
      ticks.push_back(
          {at, number == 1 ? std::to_string(static_cast<int>(month.year())) : months[number - 1]});
    }
    month += std::chrono::months{step_months};
  }
}

}  // namespace

std::string number_text(double value, int decimals) {
  assert(std::isfinite(value) && decimals >= 0 && decimals <= 6);
  std::array<char, 400> buffer{};  // the largest double has 309 digits before the point
  const auto done = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value,
                                  std::chars_format::fixed, decimals);
  std::string text(buffer.data(), done.ptr);
  const bool all_zero = text.find_first_of("123456789") == std::string::npos;
  return all_zero && text.front() == '-' ? text.substr(1) : text;
}

std::vector<TimeTick> time_ticks(const base::TimeRange& range, double width, double label_width,
                                 const MonthNames& months) {
  if (range.to <= range.from || width < label_width || label_width <= 0.0) {
    return {};
  }
  const double span = static_cast<double>((range.to - range.from).count());
  const auto enough = [&](base::Micros step) {
    return width * static_cast<double>(step.count()) / span >= label_width;
  };
  const auto step =
      std::find_if(kSteps.begin(), kSteps.end(), [&](const Step& s) { return enough(s.labelled); });
  if (step != kSteps.end()) {
    return ticks_by_step(range, *step, months);
  }
  const auto month_step = std::find_if(kMonthSteps.begin(), kMonthSteps.end(),
                                       [&](int n) { return enough(kShortestMonth * n); });
  return ticks_by_month(range, month_step == kMonthSteps.end() ? kMonthSteps.back() : *month_step,
                        months);
}

ValueAxis value_axis_from(double low, double high, int most_steps) {
  assert(std::isfinite(low) && std::isfinite(high) && low <= high && most_steps >= 2);
  if (high - low < 1e-9 * std::max(1.0, std::abs(high))) {
    low -= 0.5;
    high += 0.5;
  }
  double power = std::pow(10.0, std::floor(std::log10((high - low) / most_steps)));
  for (;; power *= 10.0) {
    for (const double factor : {1.0, 2.0, 5.0}) {
      const double step = power * factor;
      // A hair of slack, so that a limit of 60 does not push the axis to 65 by rounding.
      const double bottom = std::floor(low / step + 1e-9) * step;
      const double top = std::ceil(high / step - 1e-9) * step;
      if ((top - bottom) / step <= most_steps + 1e-9) {
        const int decimals = std::max(0, static_cast<int>(-std::floor(std::log10(step) + 1e-9)));
        return ValueAxis{bottom, top, step, std::min(decimals, 6)};
      }
    }
  }
}

std::vector<double> ticks_of(const ValueAxis& axis) {
  std::vector<double> ticks;
  const auto steps = static_cast<int>(std::lround((axis.high - axis.low) / axis.step));
  for (int i = 0; i <= steps; ++i) {
    ticks.push_back(axis.low + axis.step * i);
  }
  return ticks;
}

}  // namespace analysis::drawing
