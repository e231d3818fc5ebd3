// A laid floor: its record against the plan, the days since, spells, and what they did to it.
#include "analysis/readiness/service/laid_floor.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <map>
#include <random>

#include "analysis/readiness/reason_texts.hpp"
#include "analysis/readiness/service/service_report.hpp"

using namespace analysis::readiness;
using analysis::base::Celsius;
using analysis::base::Metres;
using analysis::base::micros_from_hours;
using analysis::base::MovementCoefficient;
using analysis::base::RelativeHumidity;
using analysis::base::UtcMicros;
using analysis::physics::DomainError;
using analysis::physics::FloorHold;

namespace {

const UtcMicros kLaid{1'755'972'000'000'000};  // 2025-08-23T18:00:00Z

ServiceFloor floor_of(double width_m, double at_laying) {
  return {{Metres{width_m}, FloorHold::free_both_sides, MovementCoefficient{0.010}},
          Metres{0.010},
          Metres{0.192},
          RelativeHumidity{at_laying}};
}

ServiceDay day_of(std::size_t number, double rh, std::optional<double> celsius = {}) {
  return {number,
          kLaid + micros_from_hours(24.0 * static_cast<double>(number)),
          RelativeHumidity{rh},
          RelativeHumidity{rh},
          RelativeHumidity{rh},
          celsius ? std::optional(Celsius{*celsius}) : std::nullopt};
}

std::uint32_t seed() {
  const auto value = std::random_device{}();
  UNSCOPED_INFO("seed " << value);
  return value;
}

std::string millimetres(Metres length) { return text_from_millimetres(length, 1); }
const LengthWords kMetric{millimetres, millimetres};

}  // namespace

TEST_CASE("movement of a laid floor meets figures worked by hand") {
  // 6.5 m x 0.010 x (0.65 - 0.45) = 13.0 mm, half of it at each side.
  const auto worked = service_movement_from(floor_of(6.5, 0.45), MovementCoefficient{0.010},
                                            RelativeHumidity{0.35}, RelativeHumidity{0.65});
  REQUIRE(worked);
  CHECK(worked.value().growth_each_side.value() == Approx(0.0065).epsilon(1e-9));
  CHECK(worked.value().gap_closed == false);
  // 6.5 m x 0.010 x 0.10 = 6.5 mm over the run; 0.192 m x 0.010 x 0.10 = 0.192 mm a panel.
  CHECK(worked.value().shrinkage.value() == Approx(0.0065).epsilon(1e-9));
  CHECK(worked.value().shrinkage_of_panel->value() == Approx(0.000192).epsilon(1e-9));
  // 7 m x 0.010 x (0.80 - 0.50) / 2 = 10.5 mm: more than the 10 mm that are left.
  const auto wide = service_movement_from(floor_of(7.0, 0.50), MovementCoefficient{0.010},
                                          RelativeHumidity{0.50}, RelativeHumidity{0.80});
  REQUIRE(wide);
  CHECK(wide.value().growth_each_side.value() == Approx(0.0105).epsilon(1e-9));
  CHECK(wide.value().gap_closed == true);
  CHECK(wide.value().shrinkage.value() == 0.0);
}

TEST_CASE("a growth of just the gap fills it and closes nothing") {
  // 10 mm a side: 20 mm / (6.5 m x 0.010) = 0.3077 above 0.45.
  const ServiceFloor floor = floor_of(6.5, 0.45);
  const auto filled = rh_that_fills_gap(floor, MovementCoefficient{0.010});
  REQUIRE(filled);
  REQUIRE(filled.value());
  CHECK(filled.value()->value() == Approx(0.45 + 0.020 / 0.065).epsilon(1e-9));
  const auto there = service_movement_from(floor, MovementCoefficient{0.010},
                                           RelativeHumidity{0.45}, *filled.value());
  REQUIRE(there);
  CHECK(there.value().growth_each_side.value() == Approx(0.010).epsilon(1e-9));
  CHECK(there.value().gap_closed == false);
  // 2 m grow by at most 2 x 0.010 x 0.55 / 2 = 5.5 mm a side.
  const auto never = rh_that_fills_gap(floor_of(2.0, 0.45), MovementCoefficient{0.010});
  REQUIRE(never);
  CHECK_FALSE(never.value());
  // Pinned at one side, all of it shows at the other: half the step is enough.
  ServiceFloor pinned = floor;
  pinned.run.hold = FloorHold::pinned_one_side;
  const auto half = rh_that_fills_gap(pinned, MovementCoefficient{0.010});
  REQUIRE(half);
  CHECK(half.value()->value() == Approx(0.45 + 0.010 / 0.065).epsilon(1e-9));
}

TEST_CASE("figures that no floor has are refused") {
  const auto refused = [](const ServiceFloor& floor, double driest, double dampest) {
    const auto moved = service_movement_from(floor, MovementCoefficient{0.010},
                                             RelativeHumidity{driest}, RelativeHumidity{dampest});
    return moved ? std::nullopt : std::optional(moved.error());
  };
  CHECK(refused(floor_of(0.0, 0.5), 0.4, 0.6) == DomainError::length_out_of_domain);
  CHECK(refused(floor_of(6.0, 0.5), 0.6, 0.4) == DomainError::rh_out_of_domain);
  CHECK(refused(floor_of(6.0, 1.5), 0.4, 0.6) == DomainError::rh_out_of_domain);
  CHECK_FALSE(rh_that_fills_gap(floor_of(-1.0, 0.5), MovementCoefficient{0.010}));
}

TEST_CASE("days outside the climate to keep are counted once, and a limit is inside") {
  const std::vector<ServiceDay> days{day_of(0, 0.45, 17.0),  day_of(1, 0.60, 23.0),
                                     day_of(2, 0.449, 16.9), day_of(3, 0.61, 20.0),
                                     day_of(4, 0.50, 23.1),  day_of(5, 0.40)};
  const DaysOutside outside = days_outside(days, {});
  CHECK(outside.too_dry == 2);
  CHECK(outside.too_damp == 1);
  CHECK(outside.too_cold == 1);
  CHECK(outside.too_warm == 1);
  CHECK(outside.any == 4);
}

TEST_CASE("a day exactly at a limit is inside, whatever adding up its readings leaves behind") {
  ServiceLog log(kLaid);
  for (int i = 0; i < 288; ++i) {  // 44.8 and 45.2 %RH in turn: 45 %RH
    const UtcMicros at = kLaid + micros_from_hours(i / 12.0);
    log.add(at, RelativeHumidity{i % 2 == 0 ? 0.448 : 0.452});
    log.add(at, Celsius{i % 2 == 0 ? 16.9 : 17.1});
  }
  const auto days = log.days();
  REQUIRE(days.size() == 1);
  CHECK(days_outside(days, {}).any == 0);
  const double noise = 4e-17;
  CHECK(days_outside({day_of(0, 0.45 - noise), day_of(1, 0.60 + 2.0 * noise)}, {}).any == 0);
  // The finest reading, 0.01 %RH, is seen even where it moves a mean over 1000 of them.
  CHECK(days_outside({day_of(0, 0.45 - 1e-7)}, {}).too_dry == 1);
  CHECK(days_outside({day_of(0, 0.60 + 1e-7)}, {}).too_damp == 1);
}

TEST_CASE("of spells that are alike the earliest is named") {
  std::vector<ServiceDay> days;
  for (std::size_t n = 0; n < 120; ++n) {
    const double noise = 1e-12 * static_cast<double>(n);
    days.push_back(day_of(n, n < 20 ? 0.30 - noise : 0.9 + noise));
  }
  const auto found = spells_from(days, kLaid, kSpellDays, kLeastSpellDays);
  REQUIRE(found);
  CHECK(found->driest.range.from == kLaid);
  CHECK(found->dampest.range.from == kLaid + micros_from_hours(24.0 * 20.0));
}

TEST_CASE("a day that is not over is not counted, nor missing") {
  ServiceLog log(kLaid);
  for (int hour = 0; hour < 24 * 3 + 20; ++hour) {
    log.add(kLaid + micros_from_hours(hour), RelativeHumidity{0.5});
  }
  const auto at = [&](double hours) {
    return service_report_from(log, {kLaid, kLaid + micros_from_hours(hours)}, {}, std::nullopt);
  };
  CHECK(at(92.0).days_elapsed == 3);
  CHECK(at(92.0).days.size() == 3);
  CHECK(at(96.0).days_elapsed == 4);
  CHECK(at(96.0).days.size() == 4);
  CHECK(at(5.0).days_elapsed == 0);
  CHECK(at(5.0).days.empty());
}

TEST_CASE("the gap that counts is the narrowest where the run ends, noted or planned") {
  const auto left = [](std::vector<LaidGap> gaps, std::vector<std::string> walls,
                       std::optional<Metres> planned = Metres{0.010}) {
    LaidFloor laid;
    laid.gaps = std::move(gaps);
    return gap_left_from(laid, planned, walls);
  };
  const std::vector<std::string> ends{"1-2", "3-4"};
  // One wall noted wider says nothing of the others.
  CHECK(left({{"1-2", Metres{0.020}}}, ends)->gap == Metres{0.010});
  CHECK_FALSE(left({{"1-2", Metres{0.020}}}, ends)->noted);
  CHECK(left({{"1-2", Metres{0.020}}}, {})->gap == Metres{0.010});
  // Narrower counts; a wall the run does not end at does not.
  CHECK(left({{"1-2", Metres{0.008}}}, ends)->gap == Metres{0.008});
  CHECK(left({{"2-3", Metres{0.003}}}, ends)->gap == Metres{0.010});
  CHECK(left({{"2-3", Metres{0.003}}}, {})->gap == Metres{0.003});
  // Noted for every wall, or both ends by name: the plan no longer counts.
  CHECK(left({{"", Metres{0.015}}}, ends)->gap == Metres{0.015});
  CHECK(left({{"1-2", Metres{0.012}}, {"3-4", Metres{0.014}}}, ends)->gap == Metres{0.012});
  CHECK(left({{"1-2", Metres{0.012}}, {"3-4", Metres{0.014}}, {"", Metres{0.005}}}, ends)->gap ==
        Metres{0.012});
  // Where a name in words lies is not known.
  CHECK(left({{"window side", Metres{0.009}}}, ends)->gap == Metres{0.009});
  CHECK(left({{"window side", Metres{0.012}}}, ends)->gap == Metres{0.010});
  CHECK_FALSE(left({}, {}, std::nullopt));
}

TEST_CASE("spells are those that trying every stretch finds, gaps and all") {
  std::mt19937 random(seed());
  for (int round = 0; round < 300; ++round) {
    std::vector<ServiceDay> days;
    std::map<std::size_t, double> known;
    const std::size_t last = 1 + random() % 90;
    for (std::size_t number = 0; number < last; ++number) {
      if (random() % 4 != 0) {
        const double rh = 0.30 + 0.001 * static_cast<double>(random() % 400);
        known[number] = rh;
        days.push_back(day_of(number, rh));
      }
    }
    double driest = 2.0;
    double dampest = -1.0;
    for (std::size_t begin = 0; !days.empty() && begin + 14 <= days.back().number + 1; ++begin) {
      double sum = 0.0;
      int count = 0;
      for (std::size_t n = begin; n < begin + 14; ++n) {
        if (known.contains(n)) {
          sum += known[n];
          ++count;
        }
      }
      if (count >= 10) {
        driest = std::min(driest, sum / count);
        dampest = std::max(dampest, sum / count);
      }
    }
    const auto found = spells_from(days, kLaid, kSpellDays, kLeastSpellDays);
    REQUIRE(found.has_value() == (dampest >= 0.0));
    if (found) {
      CHECK(found->driest.mean.value() == Approx(driest).epsilon(1e-12));
      CHECK(found->dampest.mean.value() == Approx(dampest).epsilon(1e-12));
      CHECK(found->dampest.range.to - found->dampest.range.from == micros_from_hours(14.0 * 24.0));
      CHECK(found->dampest.recorded >= kLeastSpellDays);
    }
  }
}

TEST_CASE("a year of readings every five minutes becomes its days, and a gap stays a gap") {
  ServiceLog log(kLaid);
  std::map<std::size_t, std::pair<double, int>> sums;
  for (int i = 0; i < 365 * 288; ++i) {
    const auto day = static_cast<std::size_t>(i / 288);
    // Days 100 to 109 are not recorded, of day 200 two fifths are.
    if ((day >= 100 && day < 110) || (day == 200 && i % 288 > 115)) {
      continue;
    }
    const double rh = 0.5 + 0.1 * std::sin(i / 5000.0) + 0.02 * std::sin(i / 20.0);
    const UtcMicros at = kLaid + micros_from_hours(i / 12.0);
    log.add(at, RelativeHumidity{rh});
    log.add(at, Celsius{20.0 + (day == 7 ? 5.0 : 0.0)});
    sums[day].first += rh;
    ++sums[day].second;
  }
  const auto days = log.days();
  REQUIRE(days.size() == 365 - 10 - 1);
  for (const ServiceDay& day : days) {
    const auto [sum, count] = sums.at(day.number);
    REQUIRE(day.mean.value() == Approx(sum / count).epsilon(1e-12));
    REQUIRE(day.low <= day.mean);
    REQUIRE(day.high >= day.mean);
    REQUIRE(day.number != 200);
  }
  const auto report = service_report_from(log, {kLaid, kLaid + micros_from_hours(365.0 * 24.0)}, {},
                                          floor_of(6.5, 0.45));
  CHECK(report.outside.too_warm == 1);
  CHECK(report.days_elapsed == 365);
  REQUIRE(report.moved);
  // By the spell's own mean, with the arithmetic of the first test.
  const double step = report.spells->dampest.mean.value() - 0.45;
  CHECK(report.moved->stated.growth_each_side.value() == Approx(6.5 * 0.010 * step / 2.0));
  CHECK(report.moved->typical.growth_each_side.value() == Approx(6.5 * 0.005 * step / 2.0));
  REQUIRE(report.moved_at_once);
  CHECK(report.moved_at_once->stated.growth_each_side > report.moved->stated.growth_each_side);
}

TEST_CASE("thirteen days make no spell, and what was not recorded is nothing") {
  std::vector<ServiceDay> days;
  for (std::size_t n = 0; n < 13; ++n) {
    days.push_back(day_of(n, 0.5));
  }
  CHECK_FALSE(spells_from(days, kLaid, kSpellDays, kLeastSpellDays));
  CHECK_FALSE(spells_from({}, kLaid, kSpellDays, kLeastSpellDays));
  const auto report = service_report_from(ServiceLog(kLaid), {kLaid, kLaid}, {}, std::nullopt);
  CHECK(report.days.empty());
  CHECK_FALSE(report.moved);
}

TEST_CASE("a record of a laying says where it differs from its plan") {
  LaidFloor laid;
  laid.gaps = {{"1-2", Metres{0.008}}, {"2-3", Metres{0.010}}, {"", Metres{0.00996}}};
  laid.rows = 31;
  laid.first_row = Metres{0.120};
  const PlannedFloor planned{Metres{0.010}, 1, 40, Metres{0.150}};
  const auto findings = findings_from(laid, planned, kMetric);
  REQUIRE(findings.size() == 4);
  CHECK(findings[3] == "the first row is 120.0 mm wide, the plan has 150.0 mm");
  const LengthWords apart{[](Metres) { return "told"; }, [](Metres) { return "least"; }};
  CHECK(findings_from(laid, planned, apart)[0] ==
        "the gap at wall 1-2 is told, the plan asks for least");
  CHECK(findings[0] == "the gap at wall 1-2 is 8.0 mm, the plan asks for 10.0 mm");
  CHECK(findings[1] == "the plan asks for 1 joint, none is noted");
  CHECK(findings[2] == "31 rows are laid, the plan has 40");
  laid.gaps[0].gap = Metres{0.012};
  laid.joints = {{"door", ""}};
  laid.rows = 40;
  laid.first_row = Metres{0.1505};
  CHECK(findings_from(laid, planned, kMetric).empty());
  CHECK(findings_from(LaidFloor{}, {Metres{0.010}, 0, 40, Metres{0.1}}, kMetric).empty());
  // The door's profile and the one between parts are two.
  CHECK(findings_from(laid, {Metres{0.010}, 2, 40, Metres{0.150}}, kMetric) ==
        std::vector<std::string>{"the plan asks for 2 joints, 1 joint noted"});
  laid.gaps[0] = {"window side", Metres{0.008}};
  CHECK(findings_from(laid, planned, kMetric)[0] ==
        "the gap at window side is 8.0 mm, the plan asks for 10.0 mm");
  CHECK(place_text(laid.gaps[1]) == "wall 2-3");
  laid.gaps = {{"", Metres{0.01}}, {"b", Metres{0.01}}, {"a", Metres{0.01}}};
  put_elsewhere_last(laid.gaps);
  CHECK(laid.gaps[0].wall == "b");
  CHECK(laid.gaps[1].wall == "a");
  CHECK(laid.gaps[2].wall.empty());
}
