#include "analysis/readiness/room/time_to_ready.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <random>

#include "tests/decision/logged_room.hpp"

using namespace analysis::readiness;
using namespace analysis::readiness::room;
using analysis::base::Failure;
using analysis::base::hours_from;
using analysis::base::micros_from_hours;
using logged_room::constant;
using logged_room::Curve;
using logged_room::hour;
using logged_room::hours_since_start;
using logged_room::line;
using logged_room::LoggedRoom;

TEST_CASE("RoomInBandIsExpectedToStaySo") {
  LoggedRoom room;
  room.log(0.0, 10.0, constant(20.0), constant(0.50));
  const auto expected = room.expected(10.0);
  REQUIRE(expected.has_value());
  CHECK(expected.value().basis == DwellBasis::if_it_stays_so);
  CHECK(expected.value().at == ExpectedTime{hour(48.0), hour(48.0), hour(48.0)});
  CHECK_FALSE(expected.value().enters_band_at.has_value());
  // The hours end that much after the newest reading, not after the question.
  CHECK(room.expected(10.5).value().at.likely == hour(48.0));
}

TEST_CASE("FirstReadingInBandIsEnoughToExpect") {
  LoggedRoom room;
  room.log(0.0, 20.0, 0.50);
  CHECK(room.expected(0.1).value().at.likely == hour(48.0));
}

TEST_CASE("CompleteHoursAreCompleteNow") {
  LoggedRoom room;
  room.log(0.0, 48.0, constant(20.0), constant(0.50));
  const auto expected = room.expected(60.0);  // even where the readings have stopped
  CHECK(expected.value().basis == DwellBasis::complete);
  CHECK(expected.value().at.likely == hour(60.0));
}

TEST_CASE("WithoutFreshReadingsNothingIsExpected") {
  LoggedRoom room;
  CHECK(room.expected(0.0).error() == NoTime::no_data);
  room.log(0.0, 10.0, constant(20.0), constant(0.50));
  CHECK(room.expected(10.75).has_value());
  CHECK(room.expected(10.76).error() == NoTime::gap);
  room.account.add({hour(10.25), Celsius{20.0}, std::nullopt});
  CHECK(room.expected(10.3).error() == NoTime::gap);
}

TEST_CASE("LinearApproachEntersWhereTheLineMeetsTheEdge") {
  LoggedRoom room;
  room.log(0.0, 4.0, line(10.0, 0.5), constant(0.50));
  // 12 deg C at 4 h, 0.5 K an hour: 17 deg C at 14 h.
  const auto expected = room.expected(4.1).value();
  CHECK(expected.basis == DwellBasis::if_trend_goes_on);
  CHECK(hours_since_start(expected.enters_band_at->early) == Approx(14.0).margin(1e-6));
  CHECK(hours_since_start(expected.at.early) == Approx(62.0).margin(1e-6));
  CHECK_FALSE(expected.starts_anew);
  // Air that slows down takes longer than the line's ten hours.
  CHECK(hours_since_start(expected.enters_band_at->likely) == Approx(20.0).margin(1e-6));
  CHECK(hours_since_start(expected.enters_band_at->late) == Approx(34.0).margin(1e-6));
  CHECK(hours_since_start(expected.at.likely) == Approx(68.0).margin(1e-6));
  CHECK(hours_since_start(expected.at.late) == Approx(82.0).margin(1e-6));
}

TEST_CASE("TheLaterChannelDecidesTheEntry") {
  LoggedRoom room;
  room.log(0.0, 4.0, line(14.0, 0.5), line(0.72, -0.01));
  // Temperature at 6 h, RH at 12 h; by then the temperature is 20 deg C, still in its band.
  CHECK(hours_since_start(room.expected(4.0).value().enters_band_at->early) ==
        Approx(12.0).margin(1e-6));
  LoggedRoom from_above;
  from_above.log(0.0, 4.0, line(27.0, -0.5), line(0.40, 0.005));
  CHECK(hours_since_start(from_above.expected(4.0).value().enters_band_at->early) ==
        Approx(10.0).margin(1e-6));
}

TEST_CASE("WhatGoesTheWrongWayHasNoTime") {
  LoggedRoom colder;
  colder.log(0.0, 4.0, line(16.0, -0.2), constant(0.50));
  CHECK(colder.expected(4.0).error() == NoTime::away);
  LoggedRoom drier;  // the temperature comes in, RH leaves below before
  drier.log(0.0, 4.0, line(10.0, 0.5), line(0.50, -0.01));
  CHECK(drier.expected(4.0).error() == NoTime::away);
  LoggedRoom through;  // the temperature will be above its band before RH comes in
  through.log(0.0, 4.0, line(12.0, 1.0), line(0.80, -0.01));
  CHECK(through.expected(4.0).error() == NoTime::away);
}

TEST_CASE("WhatHardlyMovesHasNoTime") {
  LoggedRoom still;
  still.log(0.0, 4.0, constant(16.0), constant(0.50));
  CHECK(still.expected(4.0).error() == NoTime::flat);
  LoggedRoom slow;
  slow.log(0.0, 4.0, line(10.0, 0.2), constant(0.50));  // 17 deg C at 35 h, 31 h away
  CHECK(slow.expected(4.0).error() == NoTime::too_far_off);
  LoggedRoom near;
  near.log(0.0, 4.0, line(11.3, 0.2), constant(0.50));  // 24.5 h away
  CHECK(near.expected(4.0).error() == NoTime::too_far_off);
  LoggedRoom nearer;
  nearer.log(0.0, 4.0, line(11.5, 0.2), constant(0.50));  // 23.5 h away
  CHECK(nearer.expected(4.0).has_value());
}

TEST_CASE("NoiseAroundAStillRoomIsRarelyTakenForATrend") {
  constexpr unsigned kSeed = 77;
  std::mt19937 random(kSeed);
  INFO("seed " << kSeed);
  std::normal_distribution<double> noise(0.0, 0.1);
  int flat = 0;
  constexpr int kRooms = 400;
  for (int i = 0; i < kRooms; ++i) {
    LoggedRoom room;
    room.log(
        0.0, 3.0, [&](double) { return 15.0 + noise(random); }, constant(0.50));
    const auto expected = room.expected(3.0);
    flat += !expected && expected.error() == NoTime::flat ? 1 : 0;
  }
  CHECK(flat > static_cast<int>(0.85 * kRooms));
  CHECK(flat < kRooms);
}

TEST_CASE("TooShortOrBrokenRecordsHaveNoTrend") {
  LoggedRoom fresh;
  fresh.log(0.0, 1.25, line(10.0, 0.5), constant(0.50));
  CHECK(fresh.expected(1.25).error() == NoTime::no_data);
  fresh.log(1.5, line(10.0, 0.5)(1.5), 0.50);
  CHECK(fresh.expected(1.5).has_value());

  LoggedRoom broken;
  broken.log(0.0, 2.0, line(10.0, 0.5), constant(0.50));
  broken.log(3.0, 4.0, line(10.0, 0.5), constant(0.50));
  CHECK(broken.expected(4.0).error() == NoTime::gap);
  broken.log(4.25, 4.5, line(10.0, 0.5), constant(0.50));
  CHECK(broken.expected(4.5).has_value());

  LoggedRoom stated;  // an absence the series names itself, shorter than the longest interval
  stated.log(0.0, 4.0, line(10.0, 0.5), constant(0.50));
  stated.air.rh.gaps.push_back({hour(3.05), hour(3.2)});
  CHECK(stated.expected(4.0).error() == NoTime::gap);
}

TEST_CASE("OnlyTheLastHoursMakeTheTrend") {
  LoggedRoom room;
  room.log(0.0, 10.0, line(16.0, -0.5), constant(0.50));  // down to 11 deg C
  room.log(10.25, 13.5, line(6.0, 0.5), constant(0.50));  // and up again
  CHECK(room.expected(13.5).value().basis == DwellBasis::if_trend_goes_on);
  // Readings after `now` are not known yet.
  const auto at_ten = room.expected(13.5).value();
  room.air.temperature.points.push_back({hour(13.75), -40.0});
  CHECK(room.expected(13.5).value().enters_band_at == at_ten.enters_band_at);
}

TEST_CASE("ShortExcursionKeepsTheHoursAndALongOneLosesThem") {
  DwellPolicy policy;
  policy.grace = micros_from_hours(4.0);
  policy.excursion_budget = micros_from_hours(6.0);
  const auto after_excursion = [&](double back_per_hour) {
    LoggedRoom room(policy);
    room.log(0.0, 20.0, constant(20.0), constant(0.50));
    // Out of band at about 20.2 h, and climbing back from then on.
    room.log(20.25, 23.5, line(16.9 - 23.5 * back_per_hour, back_per_hour), constant(0.50));
    return room.expected(23.5).value();
  };
  // 0.1 K to go at 0.5 K an hour: back within the grace of four hours.
  const auto kept = after_excursion(0.5);
  CHECK_FALSE(kept.starts_anew);
  CHECK(hours_from(kept.at.early - kept.enters_band_at->early) == Approx(27.8).margin(0.1));
  // At 0.05 K an hour it takes two hours more.
  const auto lost = after_excursion(0.05);
  CHECK(lost.starts_anew);
  CHECK(hours_from(lost.at.early - lost.enters_band_at->early) == Approx(48.0).margin(1e-6));
}

TEST_CASE("UnknownTimeWithinAnExcursionCountsAgainstIt") {
  // As the account does: unknown between two times out of band is out.
  const auto after_excursion = [](bool bad_reading) {
    DwellPolicy policy;
    policy.grace = micros_from_hours(3.5);
    policy.excursion_budget = micros_from_hours(6.0);
    LoggedRoom room(policy);
    room.log(0.0, 20.0, constant(20.0), constant(0.50));
    room.log(20.25, 23.25, line(16.9 - 23.5 * 0.5, 0.5), constant(0.50));
    if (bad_reading) {
      room.account.add({hour(23.375), std::nullopt, RelativeHumidity{0.50}});
    }
    room.log(23.5, 16.9, 0.50);
    return room.expected(23.5).value();
  };
  CHECK(after_excursion(false).enters_band_at == after_excursion(true).enters_band_at);
  CHECK(after_excursion(false).starts_anew == after_excursion(true).starts_anew);
  CHECK(after_excursion(true).starts_anew);
}

TEST_CASE("AnEntryThatShouldHaveHappenedIsExpectedNow") {
  LoggedRoom room;
  room.log(0.0, 13.75, line(10.0, 0.5), constant(0.50));
  CHECK(room.expected(14.4).value().enters_band_at->early == hour(14.4));
  // The line is in already, only the newest reading is not.
  LoggedRoom wobbling;
  wobbling.log(0.0, 4.0, line(15.25, 0.5), constant(0.50));
  wobbling.log(4.25, 16.9, 0.50);
  CHECK(wobbling.expected(4.25).value().enters_band_at->early == hour(4.25));
}

TEST_CASE("OnlyACertainDriftTakesAChannelOut") {
  // RH falls by 0.3 % an hour and swings by 0.2 %: in ten hours the line itself would be
  // out, the slowest slope that fits would not.
  const auto expected_with = [](double noise) {
    LoggedRoom room;
    int reading = 0;
    room.log(0.0, 4.0, line(10.0, 0.5), [&](double h) {
      const double sign = ++reading % 2 == 1 ? 1.0 : -1.0;
      return 0.485 - 0.003 * h + sign * noise;
    });
    return room.expected(4.0);
  };
  CHECK(expected_with(0.0).error() == NoTime::away);
  CHECK(expected_with(0.002).has_value());
}

TEST_CASE("RecoveryAfterASuddenDropHasNoTimeUntilItFillsTheWindow") {
  // The drop lies in the window: no line fits it. Better no time than a wild one.
  LoggedRoom room;
  room.log(0.0, 20.0, constant(20.0), constant(0.50));
  room.log(20.25, 21.75, line(11.0 - 20.25, 1.0), constant(0.50));
  CHECK(room.expected(21.75).error() == NoTime::flat);
  room.log(22.0, 23.5, line(11.0 - 20.25, 1.0), constant(0.50));
  CHECK(hours_since_start(room.expected(23.5).value().enters_band_at->early) ==
        Approx(26.25).margin(0.3));
}

TEST_CASE("ExpectationAgreesWithTheAccountThatFollows") {
  // Whatever grace, budget and policy: on an exact line the account itself must end up there.
  for (const bool cumulative : {false, true}) {
    for (const double grace : {0.25, 1.0, 4.0, 12.0}) {
      for (const double budget : {0.5, 3.0, 6.5, 20.0}) {
        DwellPolicy policy;
        policy.grace = micros_from_hours(grace);
        policy.excursion_budget = micros_from_hours(budget);
        policy.cumulative = cumulative;
        LoggedRoom room(policy);
        room.log(0.0, 15.0, constant(20.0), constant(0.50));
        room.log(15.25, 16.0, constant(16.0), constant(0.50));
        room.log(16.25, 20.0, constant(20.0), constant(0.50));
        const Curve back = [](double h) { return std::min(14.0 + 0.5 * (h - 20.25), 20.0); };
        room.log(20.25, 23.25, back, constant(0.50));
        const auto expected = room.expected(23.25).value();
        room.log(23.5, 90.0, back, constant(0.50));
        CAPTURE(cumulative, grace, budget);
        CHECK(hours_since_start(expected.at.early) ==
              Approx(hours_since_start(*room.account.state().done_at)).margin(1e-3));
      }
    }
  }
}

TEST_CASE("ReadyTimeIsTheLaterOfDwellAndCore") {
  const analysis::base::Result<DwellExpectation, NoTime> dwell = DwellExpectation{
      {hour(48.0), hour(48.0), hour(48.0)}, DwellBasis::if_it_stays_so, std::nullopt, false};
  const analysis::base::Result<DwellExpectation, NoTime> no_dwell = Failure{NoTime::flat};
  const TimeOrReason core = ExpectedTime{hour(40.0), hour(55.0), hour(80.0)};
  const TimeOrReason quick = ExpectedTime{hour(10.0), hour(20.0), hour(50.0)};
  const TimeOrReason no_core = Failure{NoTime::not_modelled};

  const ReadyTime both = ready_time_from(dwell, core);
  CHECK(both.at.value() == ExpectedTime{hour(48.0), hour(55.0), hour(80.0)});
  CHECK(both.decided_by == DecidingPart::core);
  const ReadyTime by_dwell = ready_time_from(dwell, quick);
  CHECK(by_dwell.at.value() == ExpectedTime{hour(48.0), hour(48.0), hour(50.0)});
  CHECK(by_dwell.decided_by == DecidingPart::dwell);
  const ReadyTime alone = ready_time_from(dwell, std::nullopt);
  CHECK(alone.at.value() == ExpectedTime{hour(48.0), hour(48.0), hour(48.0)});
  CHECK(alone.decided_by == DecidingPart::dwell);

  const ReadyTime core_unknown = ready_time_from(dwell, no_core);
  CHECK(core_unknown.at.error() == NoTime::not_modelled);
  CHECK(core_unknown.decided_by == DecidingPart::core);
  const ReadyTime dwell_unknown = ready_time_from(no_dwell, core);
  CHECK(dwell_unknown.at.error() == NoTime::flat);
  CHECK(dwell_unknown.decided_by == DecidingPart::dwell);
  const ReadyTime neither = ready_time_from(no_dwell, no_core);
  CHECK(neither.at.error() == NoTime::flat);
}

TEST_CASE("NothingIsReadyBeforeTheHoursThatAreMissing") {
  const auto earliest = [](const LoggedRoom& room, double now_hours) {
    return hours_since_start(
        earliest_dwell_end_from(room.account.state(), room.account.policy(), hour(now_hours)));
  };
  LoggedRoom room;
  CHECK(earliest(room, 3.0) == Approx(51.0));  // nothing recorded: all hours are missing
  room.log(0.0, 20.0, constant(20.0), constant(0.50));
  CHECK(earliest(room, 20.1) == Approx(48.0));  // in band: from the newest reading on
  CHECK(earliest(room, 30.0) == Approx(48.0));  // later readings may still come in
  CHECK(earliest(room, 60.0) == Approx(60.0));  // never before now

  DwellPolicy patient;
  patient.grace = micros_from_hours(4.0);
  patient.excursion_budget = micros_from_hours(6.0);
  LoggedRoom kept(patient);
  kept.log(0.0, 20.0, constant(20.0), constant(0.50));
  kept.log(20.25, 21.25, constant(16.0), constant(0.50));
  // About 20 h 10 min are there, and out of band they stay as they are.
  CHECK(earliest(kept, 21.5) == Approx(21.5 + 28.0).margin(0.25));
  CHECK(earliest(kept, 21.5) > 21.5 + 27.0);
  kept.log(21.5, 30.0, constant(16.0), constant(0.50));
  CHECK(earliest(kept, 30.25) == Approx(78.25));  // the hours are lost for certain

  LoggedRoom complete;
  complete.log(0.0, 48.0, constant(20.0), constant(0.50));
  CHECK(earliest(complete, 50.0) == Approx(50.0));
  LoggedRoom blind;  // the newest reading lacks a value: the air may have been in its band
  blind.log(0.0, 10.0, constant(20.0), constant(0.50));
  blind.account.add({hour(10.25), Celsius{20.0}, std::nullopt});
  CHECK(earliest(blind, 10.5) == Approx(48.25));
}
