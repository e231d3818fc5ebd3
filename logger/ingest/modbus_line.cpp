#include "logger/ingest/modbus_line.hpp"

#include <algorithm>

namespace logger::ingest {

namespace {
constexpr Micros kFirstReopenDelay{1'000'000};
constexpr Micros kLongestReopenDelay{60'000'000};
}  // namespace

Micros reopen_delay(unsigned failed_attempts) {
  Micros delay = kFirstReopenDelay;
  for (unsigned i = 1; i < failed_attempts && delay < kLongestReopenDelay; ++i) {
    delay *= 2;
  }
  return std::min(delay, kLongestReopenDelay);
}

}  // namespace logger::ingest
