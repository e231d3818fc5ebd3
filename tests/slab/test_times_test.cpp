// When tests of a slab may be read. Hours: secondary summaries of ASTM F2170-18 (24 h; editions up
// to -16 72 h, which a job asks for by settle_hours) and of F1869 (60 to 72 h).
#include "analysis/readiness/slab/test_times.hpp"

#include <catch2/catch.hpp>

using namespace analysis::readiness;
using analysis::base::micros_from_hours;

namespace {

const UtcMicros kDrilled = analysis::base::utc_from_rfc3339("2026-03-01T08:00:00Z").value();

UtcMicros after(double hours) { return kDrilled + micros_from_hours(hours); }

SiteTimes settled_site() { return {after(2), micros_from_hours(100), std::nullopt}; }

}  // namespace

TEST_CASE("Sleeves may be read once they were closed for the job's hours") {
  SlabRequirements slab;
  const ReadTime time = read_time_from({TimedTest::rh, kDrilled}, slab, settled_site());
  CHECK(time.earliest == after(24));
  CHECK_FALSE(time.latest);
  REQUIRE(time.because.size() == 1);
  CHECK(time.because[0] == "24 h in closed sleeves (common practice)");
  slab.settle = {micros_from_hours(72), "the floor's paper"};
  const ReadTime older = read_time_from({TimedTest::rh, kDrilled}, slab, settled_site());
  CHECK(older.earliest == after(72));
  CHECK(older.because[0] == "72 h in closed sleeves (the floor's paper)");
}

TEST_CASE("Sleeves wait until the room was as in use for long enough") {
  SlabRequirements slab;
  // At 2 h after drilling the room has been as in use for 5 h: 48 - 5 = 43 h more, 45 h after.
  const ReadTime time = read_time_from({TimedTest::rh, kDrilled}, slab,
                                       {after(2), micros_from_hours(5), std::nullopt});
  CHECK(time.earliest == after(45));
  REQUIRE(time.because.size() == 2);
  CHECK(time.because[1] ==
        "the room as in use for 48 h before, of which 43.0 h are missing (common practice)");
  slab.service_conditions = Limit<Micros>{micros_from_hours(6), "job"};
  CHECK(read_time_from({TimedTest::rh, kDrilled}, slab,
                       {after(2), micros_from_hours(5), std::nullopt})
            .earliest == after(24));
}

TEST_CASE("Dishes have an earliest and a latest time; a young slab is said and moves nothing") {
  const SlabRequirements slab;
  const ReadTime time =
      read_time_from({TimedTest::dish, kDrilled}, slab,
                     {after(1), Micros{0}, kDrilled - micros_from_hours(24.0 * 50)});
  CHECK(time.earliest == after(60));
  CHECK(time.latest == after(72));
  REQUIRE(time.because.size() == 2);
  CHECK(time.because[0] == "60 h to 72 h under the cover (common practice)");
  // Poured 50 days before, 60 asked for: ten days after the dishes were set.
  CHECK(time.because[1] ==
        "the slab is old enough for the floor only from 2026-03-11 08:00 UTC (common practice)");
  CHECK(read_time_from({TimedTest::dish, kDrilled}, slab,
                       {after(1), Micros{0}, kDrilled - micros_from_hours(24.0 * 58)})
            .because.size() == 1);
}

TEST_CASE("What a job asks of probes comes from its own keys") {
  SlabRequirements slab;
  CHECK(rh_test_rules_from(slab).service_conditions == micros_from_hours(48));
  CHECK_FALSE(places_asked_from(slab));
  slab.probes_at_least = Limit<int>{2, "job"};
  slab.service_conditions = Limit<Micros>{micros_from_hours(72), "job"};
  slab.settle.value = micros_from_hours(30);
  CHECK(rh_test_rules_from(slab).service_conditions == micros_from_hours(72));
  CHECK(rh_test_rules_from(slab).equilibration == micros_from_hours(30));
  CHECK(places_asked_from(slab) == 2U);
  CHECK(timed_test_from_name("dish") == TimedTest::dish);
  CHECK_FALSE(timed_test_from_name("carbide"));
}
