#include "analysis/readiness/outlook/slot_means.hpp"

#include <algorithm>

namespace analysis::readiness::outlook {

void SlotMeans::add(base::UtcMicros at, double value) {
  const std::int64_t length = slot_.count();
  const std::int64_t since = (at - origin_).count();
  const std::int64_t number = since >= 0 ? since / length : -((length - 1 - since) / length);
  if (sums_.empty() || number > sums_.back().number) {
    sums_.push_back({number, 0.0, value, value, 0.0, 0, {}});
    if (sums_.size() > most_) {
      sums_.pop_front();
      dropped_ = true;
    }
  } else if (number < sums_.back().number) {
    return;
  }
  Sum& sum = sums_.back();
  const std::int64_t offset = since - number * length;
  sum.sum += value;
  sum.low = std::min(sum.low, value);
  sum.high = std::max(sum.high, value);
  sum.offset_sum_us += static_cast<double>(offset);
  ++sum.count;
  sum.parts.set(static_cast<std::size_t>(static_cast<double>(offset) / static_cast<double>(length) *
                                         kSlotParts));
}

std::deque<SlotMean> SlotMeans::slots() const {
  std::deque<SlotMean> means;
  for (const Sum& sum : sums_) {
    const auto count = static_cast<double>(sum.count);
    const base::Micros offset{static_cast<std::int64_t>(sum.offset_sum_us / count)};
    means.push_back({sum.number, origin_ + sum.number * slot_ + offset, sum.sum / count, sum.low,
                     sum.high, static_cast<double>(sum.parts.count()) / kSlotParts});
  }
  return means;
}

std::optional<double> mean_of_newest(const std::deque<SlotMean>& slots, std::size_t count) {
  const std::size_t used = std::min(count, slots.size());
  if (used == 0) {
    return std::nullopt;
  }
  double sum = 0.0;
  for (std::size_t i = slots.size() - used; i < slots.size(); ++i) {
    sum += slots[i].mean;
  }
  return sum / static_cast<double>(used);
}

std::optional<double> mean_by_time(const std::deque<SlotMean>& slots) {
  double sum = 0.0;
  for (const SlotMean& slot : slots) {
    sum += slot.mean * slot.covered;
  }
  const double recorded = recorded_of_newest(slots, slots.size());
  return recorded > 0.0 ? std::optional(sum / recorded) : std::nullopt;
}

double recorded_of_newest(const std::deque<SlotMean>& slots, std::size_t count) {
  double sum = 0.0;
  for (std::size_t i = slots.size() - std::min(count, slots.size()); i < slots.size(); ++i) {
    sum += slots[i].covered;
  }
  return sum;
}

}  // namespace analysis::readiness::outlook
