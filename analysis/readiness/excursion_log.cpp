#include "analysis/readiness/excursion_log.hpp"

#include <algorithm>
#include <cmath>

namespace analysis::readiness {
namespace {

Micros length_of(const base::TimeRange& range) { return range.to - range.from; }
Micros length_of(const Excursion& excursion) { return length_of(excursion.range); }

UtcMicros begin_of(const base::TimeRange& range) { return range.from; }
UtcMicros begin_of(const Excursion& excursion) { return excursion.range.from; }

// Keeps the longest; of equal ones the earlier.
template <class T>
void keep_longest(std::vector<T>& kept, const T& entry) {
  kept.push_back(entry);
  if (kept.size() > ExcursionLog::kMostListed) {
    auto shortest = kept.begin();
    for (auto it = kept.begin(); it != kept.end(); ++it) {
      if (length_of(*it) <= length_of(*shortest)) {
        shortest = it;
      }
    }
    kept.erase(shortest);
  }
}

// The kept ones with the open one, in order of time.
template <class T>
std::vector<T> listed_with(std::vector<T> kept, const std::optional<T>& open) {
  if (open) {
    keep_longest(kept, *open);
  }
  std::stable_sort(kept.begin(), kept.end(),
                   [](const T& a, const T& b) { return begin_of(a) < begin_of(b); });
  return kept;
}

double outside_by(double value, double low, double high) {
  return std::max({low - value, value - high, 0.0});
}

std::optional<double> celsius_of(const DwellSample& sample) {
  return sample.temperature ? std::optional(sample.temperature->value()) : std::nullopt;
}
std::optional<double> percent_rh_of(const DwellSample& sample) {
  return sample.rh ? std::optional(base::percent_from_rh(*sample.rh)) : std::nullopt;
}

}  // namespace

void ExcursionLog::follow(const Limits& limits, const Point& from, const Point& to, bool known,
                          std::optional<Excursion>& open) {
  const auto close_at = [&](UtcMicros at) {
    open->range.to = at;
    keep_longest(excursions_, *open);
    ++excursions_closed_;
    open.reset();
  };
  if (open && !known) {
    close_at(from.at);
  }
  if (!to.value) {
    return;
  }
  const double value = *to.value;
  // The instant at which the straight line from `from` to `to` passes `limit`.
  const auto crossing = [&](double limit) {
    const double fraction = (limit - *from.value) / (value - *from.value);
    return from.at +
           Micros{std::llround(fraction * static_cast<double>((to.at - from.at).count()))};
  };
  const bool came_from_below = known && *from.value < limits.low;
  const bool came_from_above = known && *from.value > limits.high;
  if (open &&
      ((came_from_below && value >= limits.low) || (came_from_above && value <= limits.high))) {
    close_at(crossing(came_from_below ? limits.low : limits.high));
  }
  const double outside = outside_by(value, limits.low, limits.high);
  if (outside <= 0.0) {
    return;
  }
  if (!open) {
    const UtcMicros begin = known ? crossing(value < limits.low ? limits.low : limits.high) : to.at;
    open = Excursion{{begin, to.at}, limits.role, value};
  }
  open->range.to = to.at;
  if (outside > outside_by(open->worst, limits.low, limits.high)) {
    open->worst = value;
  }
}

void ExcursionLog::add(const DwellSample& sample) {
  if (previous_ && sample.at <= previous_->at) {
    return;
  }
  const DwellSample from = previous_.value_or(DwellSample{sample.at, {}, {}});
  const bool near = sample.at - from.at <= longest_interval_;
  const bool temperature_known = near && from.temperature && sample.temperature;
  const bool rh_known = near && from.rh && sample.rh;
  follow({base::ChannelRole::room_air_temperature, band_.temperature_low.value(),
          band_.temperature_high.value()},
         {from.at, celsius_of(from)}, {sample.at, celsius_of(sample)}, temperature_known,
         open_temperature_);
  follow({base::ChannelRole::room_air_rh, base::percent_from_rh(band_.rh_low),
          base::percent_from_rh(band_.rh_high)},
         {from.at, percent_rh_of(from)}, {sample.at, percent_rh_of(sample)}, rh_known, open_rh_);
  if (previous_) {
    if (!temperature_known || !rh_known) {
      open_unknown_ = {open_unknown_ ? open_unknown_->from : from.at, sample.at};
    } else if (open_unknown_) {
      keep_longest(unknown_, *open_unknown_);
      ++unknown_closed_;
      open_unknown_.reset();
    }
  }
  previous_ = sample;
}

std::vector<Excursion> ExcursionLog::excursions() const {
  std::vector<Excursion> listed = listed_with(excursions_, open_temperature_);
  return listed_with(std::move(listed), open_rh_);
}

std::int64_t ExcursionLog::excursions_total() const {
  return excursions_closed_ + (open_temperature_ ? 1 : 0) + (open_rh_ ? 1 : 0);
}

std::optional<base::TimeRange> ExcursionLog::open_unknown(UtcMicros until) const {
  if (!previous_ || until - previous_->at <= longest_interval_) {
    return open_unknown_;
  }
  return base::TimeRange{open_unknown_ ? open_unknown_->from : previous_->at, until};
}

std::vector<base::TimeRange> ExcursionLog::unknown_time(UtcMicros until) const {
  return listed_with(unknown_, open_unknown(until));
}

std::int64_t ExcursionLog::unknown_time_total(UtcMicros until) const {
  return unknown_closed_ + (open_unknown(until) ? 1 : 0);
}

}  // namespace analysis::readiness
