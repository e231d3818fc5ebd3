#include "logger/app/room/tests_under_way.hpp"

namespace logger::app {

using analysis::base::minute_text_from_utc;
using analysis::readiness::SlabRequirements;
using analysis::readiness::TestBegun;
using analysis::readiness::TimedTest;

std::vector<TestUnderWay> tests_under_way(const RoomTracker& tracker, const JobRoom& room,
                                          UtcMicros now) {
  const analysis::readiness::SiteTimes site{
      now, analysis::base::micros_from_hours(tracker.replay().dwell().in_band_seconds / 3600.0),
      room.slab_poured_at};
  std::vector<TestUnderWay> tests;
  for (const TestBegun& begun : tracker.notes().begun_tests) {
    if (begun.at <= now) {
      tests.push_back(
          {begun, analysis::readiness::read_time_from(
                      begun, room.requirements.slab.value_or(SlabRequirements{}), site)});
    }
  }
  return tests;
}

std::string sentence_from(const TestUnderWay& test) {
  const bool probes = test.begun.test == TimedTest::rh;
  std::string text = (probes ? "Sleeves drilled " : "Dishes set ") +
                     minute_text_from_utc(test.begun.at) +
                     (probes ? "; read the probes from " : "; weigh them from ") +
                     minute_text_from_utc(test.read.earliest) +
                     (test.read.latest ? " to " + minute_text_from_utc(*test.read.latest) : " on");
  for (std::size_t i = 0; i < test.read.because.size(); ++i) {
    text += (i == 0 ? ": " : "; ") + test.read.because[i];
  }
  return text + ".";
}

}  // namespace logger::app
