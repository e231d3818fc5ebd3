// Tests of a room's slab that have begun and have no result yet: when each may be read, and why
// then.
#pragma once

#include <string>
#include <vector>

#include "analysis/readiness/slab/test_times.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

struct TestUnderWay {
  analysis::readiness::TestBegun begun;
  analysis::readiness::ReadTime read;
};
// In the order in which they were noted. What a room without a slab in job.json would ask is common
// practice.
[[nodiscard]] std::vector<TestUnderWay> tests_under_way(const RoomTracker& tracker,
                                                        const JobRoom& room, UtcMicros now);
// One sentence: what began when, from when on it may be read, because of what.
[[nodiscard]] std::string sentence_from(const TestUnderWay& test);

}  // namespace logger::app
