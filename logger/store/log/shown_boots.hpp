// What a log extract shows of the boots that the readings are of.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <utility>

#include "logger/store/log/extract_writer.hpp"

namespace logger::store {

struct ShownBoot {
  RecordSpan readings;
  std::int64_t first_ticks = 0;  // of the exchanges
  // The nearest records before and after the readings, which tell that none is left out there.
  std::optional<std::int64_t> before;
  std::optional<std::int64_t> after;

  [[nodiscard]] bool is_reading(std::int64_t sequence) const {
    return sequence >= readings.first_sequence && sequence <= readings.last_sequence;
  }
  [[nodiscard]] bool shows_record(std::int64_t sequence) const {
    return is_reading(sequence) || before == sequence || after == sequence;
  }
  [[nodiscard]] bool shows_any(std::int64_t first, std::int64_t last) const {
    const auto within = [=](const std::optional<std::int64_t>& sequence) {
      return sequence && *sequence >= first && *sequence <= last;
    };
    return (first <= readings.last_sequence && last >= readings.first_sequence) || within(before) ||
           within(after);
  }
};

// By the box's key of the table `boxes`, and the boot.
using ShownBoots = std::map<std::pair<std::int64_t, std::int64_t>, ShownBoot>;

// invalid_input when the store has no such box.
[[nodiscard]] Result<ShownBoots> shown_boots_of(Connection& connection,
                                                const ExtractRequest& request);

}  // namespace logger::store
