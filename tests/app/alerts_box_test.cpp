// Silence of a box.
#include <catch2/catch.hpp>

#include "analysis/alerts/observations.hpp"
#include "analysis/base/record.hpp"

using namespace analysis::alerts;

namespace {

constexpr UtcMicros kStart{1'772'352'000'000'000};  // 2026-03-01T08:00:00Z

UtcMicros at_minute(int minute) { return kStart + std::chrono::minutes(minute); }

class Box {
 public:
  std::vector<AlertMessage> step(int minute, std::optional<int> last_sample_minute) {
    BoxObservation box{"box-1", std::nullopt, expected_from, flags, {}};
    if (last_sample_minute) {
      box.last_sample_at = at_minute(*last_sample_minute);
    }
    return step_box_alerts(alerts, timings, box, at_minute(minute));
  }
  UtcMicros expected_from = kStart;
  std::optional<std::uint16_t> flags = 0;
  AlertSettings timings;
  std::vector<Alert> alerts;
};

}  // namespace

TEST_CASE("A box never heard fires when it was tried for long enough") {
  Box box;
  CHECK(box.step(0, std::nullopt).empty());
  CHECK(box.step(29, std::nullopt).empty());
  const auto messages = box.step(30, std::nullopt);
  REQUIRE(messages.size() == 1);
  CHECK(messages[0].transition == Transition::fired);
  CHECK(messages[0].kind == RuleKind::probe_silent);
  CHECK(messages[0].text == "box-1: never heard; tried for 30 min; check supply, cable and port");
  CHECK(messages[0].values == std::vector<AlertValue>{{"silent_for_minutes", 30.0}});
  CHECK(box.step(31, std::nullopt).empty());
  CHECK(key_of(box.alerts.at(0)) == "probe_silent/box-1");
}

TEST_CASE("Silence fires once and only a new sample ends it") {
  Box box;
  CHECK(box.step(5, 4).empty());
  const auto fired = box.step(34, 4);
  REQUIRE(fired.size() == 1);
  CHECK(fired[0].text ==
        "box-1: no sample for 30 min, the last one at 2026-03-01 08:04 UTC; check supply, cable "
        "and port");
  for (int minute = 35; minute < 7 * 24 * 60; minute += 5) {
    REQUIRE(box.step(minute, 4).empty());
  }
  const auto cleared = box.step(7 * 24 * 60, 7 * 24 * 60 - 1);
  REQUIRE(cleared.size() == 1);
  CHECK(cleared[0].transition == Transition::cleared);
  CHECK(cleared[0].text == "box-1: samples arrive again");
}

TEST_CASE("Samples from before the logger's own stop are no silence") {
  Box box;
  CHECK(box.step(0, 0).empty());
  box.expected_from = at_minute(600);  // the daemon was down for ten hours
  CHECK(box.step(600, 0).empty());
  CHECK(box.step(605, 604).empty());
  CHECK(box.alerts.at(0).state.fired_count == 0);
}

TEST_CASE("Silence that stood before a restart stands after it") {
  Box box;
  REQUIRE(box.step(30, std::nullopt).size() == 1);
  box.expected_from = at_minute(600);
  CHECK(box.step(600, std::nullopt).empty());
  CHECK(box.alerts.at(0).state.phase == Phase::firing);
}

TEST_CASE("What a box says of itself fires at once and clears after a quarter of an hour without") {
  Box box;
  CHECK(box.step(0, 0).empty());
  box.flags = analysis::base::kFlagLidOpen | analysis::base::kFlagSupplyLow;
  const auto fired = box.step(1, 1);
  REQUIRE(fired.size() == 2);
  CHECK(fired[0].kind == RuleKind::lid_open);
  CHECK(fired[0].text == "box-1: its lid was opened; look who is there and what was touched");
  CHECK(fired[1].kind == RuleKind::supply_low);
  box.flags = analysis::base::kFlagSupplyLow;
  CHECK(box.step(2, 2).empty());
  box.flags = std::nullopt;  // no samples: nothing is known, so nothing clears
  CHECK(box.step(16, 2).empty());
  box.flags = analysis::base::kFlagSupplyLow;
  CHECK(box.step(17, 17).empty());
  const auto cleared = box.step(32, 32);
  REQUIRE(cleared.size() == 1);
  CHECK(cleared[0].kind == RuleKind::lid_open);
  CHECK(cleared[0].transition == Transition::cleared);
  CHECK(cleared[0].text == "box-1: its lid is closed again");
}

TEST_CASE("Each of what a box says of itself has its own rule") {
  for (const std::uint16_t flag :
       {analysis::base::kFlagLidOpen, analysis::base::kFlagTilted, analysis::base::kFlagSupplyLow,
        analysis::base::kFlagSelfTestFailed}) {
    Box box;
    box.flags = flag;
    CHECK(box.step(0, 0).size() == 1);
  }
}
