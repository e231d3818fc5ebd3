// When a test of the slab may be read, and what a job asks of such tests. Pure.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "analysis/readiness/requirements.hpp"

namespace analysis::readiness {

// The job's own hours where it has them (settle_hours, service_hours), else those of the practice.
[[nodiscard]] RhTestRules rh_test_rules_from(const SlabRequirements& slab);
// probes_at_least of the job; nullopt = by the floor's area.
[[nodiscard]] std::optional<std::size_t> places_asked_from(const SlabRequirements& slab);

// Tests that take days. Values are permanent (stored).
enum class TimedTest : std::uint8_t { rh = 1, dish = 2 };
[[nodiscard]] std::string_view name_of(TimedTest test);  // "rh", "dish"
[[nodiscard]] std::optional<TimedTest> timed_test_from_name(std::string_view name);

struct TestBegun {
  TimedTest test = TimedTest::rh;
  UtcMicros at;  // sleeves drilled and closed, dishes set
};

// What of the site bears on the time.
struct SiteTimes {
  UtcMicros now;
  Micros as_in_use_for{0};                  // up to now
  std::optional<UtcMicros> slab_poured_at;  // nullopt = unknown
};

struct ReadTime {
  UtcMicros earliest;
  std::optional<UtcMicros> latest;   // of dishes
  std::vector<std::string> because;  // what it follows from, each a clause with its figures
};
// The sleeve stays closed for its hours, and the room has to be as in use for its own before a
// probe is read; a dish is weighed between its shortest and longest time. The slab's least age is a
// clause of its own and moves nothing: a young slab may be read, only not laid upon.
[[nodiscard]] ReadTime read_time_from(const TestBegun& begun, const SlabRequirements& slab,
                                      const SiteTimes& site);

}  // namespace analysis::readiness
