// Readings of one channel thinned to means over equal stretches of time, as they stream by. Pure;
// memory is bounded by the slots kept, not by the readings.
#pragma once

#include <bitset>
#include <cstddef>
#include <cstdint>
#include <deque>
#include <optional>

#include "analysis/base/time.hpp"

namespace analysis::readiness::outlook {

inline constexpr std::size_t kSlotParts = 24;

// Lowest, mean and highest reading of one slot; the mean is over readings, not over time.
struct SlotMean {
  std::int64_t number = 0;  // of slots since the origin, negative before it
  base::UtcMicros at;       // mean time of its readings
  double mean = 0.0;
  double low = 0.0;
  double high = 0.0;
  double covered = 0.0;  // share of the slot's 24 parts with at least one reading
};

class SlotMeans {
 public:
  // Keeps the newest `most` slots. REQUIRES: slot > 0, most > 0.
  SlotMeans(base::UtcMicros origin, base::Micros slot, std::size_t most)
      : origin_(origin), slot_(slot), most_(most) {}

  // A finite reading; one of a slot before the newest is left out.
  void add(base::UtcMicros at, double value);

  // Increasing in time; slots without a reading are not there.
  [[nodiscard]] std::deque<SlotMean> slots() const;
  [[nodiscard]] bool full() const { return dropped_; }  // older slots were let go

 private:
  struct Sum {
    std::int64_t number = 0;
    double sum = 0.0;
    double low = 0.0;
    double high = 0.0;
    double offset_sum_us = 0.0;  // of the readings' times within the slot
    std::int64_t count = 0;
    std::bitset<kSlotParts> parts;
  };
  base::UtcMicros origin_;
  base::Micros slot_;
  std::size_t most_;
  std::deque<Sum> sums_;
  bool dropped_ = false;
};

// Mean over the newest `count` slots, each weighing the same; nullopt without any.
[[nodiscard]] std::optional<double> mean_of_newest(const std::deque<SlotMean>& slots,
                                                   std::size_t count);
// Mean over all slots, each weighing as much as it has recorded time; nullopt without any.
[[nodiscard]] std::optional<double> mean_by_time(const std::deque<SlotMean>& slots);
// How many slots' worth of time has readings among the newest `count`.
[[nodiscard]] double recorded_of_newest(const std::deque<SlotMean>& slots, std::size_t count);

}  // namespace analysis::readiness::outlook
