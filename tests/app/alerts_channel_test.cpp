// A sensor that gives no usable value while its box delivers.
#include <catch2/catch.hpp>

#include "analysis/alerts/observations.hpp"

using namespace analysis::alerts;

namespace {

constexpr UtcMicros kStart{1'772'352'000'000'000};  // 2026-03-01T08:00:00Z

UtcMicros at_minute(int minute) { return kStart + std::chrono::minutes(minute); }

struct Channel {
  std::vector<AlertMessage> step(int minute, std::optional<bool> usable) {
    return step_channel_alerts(alerts, {}, {"air-rh", "frozen", usable, at_minute(0), {}, {}},
                               at_minute(minute));
  }
  std::vector<Alert> alerts;
};

}  // namespace

TEST_CASE("A sensor without usable values fires after half an hour and says what it is") {
  Channel channel;
  CHECK(channel.step(0, true).empty());
  CHECK(channel.step(1, false).empty());
  CHECK(channel.step(30, false).empty());
  const auto fired = channel.step(31, false);
  REQUIRE(fired.size() == 1);
  CHECK(fired[0].kind == RuleKind::sensor_fault);
  CHECK(fired[0].transition == Transition::fired);
  CHECK(fired[0].text ==
        "air-rh: no usable value (frozen), the last good one at 2026-03-01 08:00 UTC; check the "
        "sensor, its plug and its place");
  CHECK(key_of(channel.alerts.at(0)) == "sensor_fault/air-rh");
}

TEST_CASE("A silent box neither fires nor clears the fault of its sensor") {
  Channel channel;
  channel.step(0, false);
  for (int minute = 1; minute < 600; ++minute) {
    REQUIRE(channel.step(minute, std::nullopt).empty());
  }
  channel.step(600, false);
  CHECK(channel.step(630, false).size() == 1);
  for (int minute = 631; minute < 1200; ++minute) {
    REQUIRE(channel.step(minute, std::nullopt).empty());
  }
  channel.step(1200, true);
  const auto cleared = channel.step(1215, true);
  REQUIRE(cleared.size() == 1);
  CHECK(cleared[0].text == "air-rh: usable values again");
}
