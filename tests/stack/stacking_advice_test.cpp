#include "analysis/readiness/stack/stacking_advice.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <limits>
#include <random>

#include "analysis/physics/stack/warm_up.hpp"
#include "analysis/readiness/stack/stacking_sentences.hpp"

using namespace analysis::readiness;
using namespace analysis::physics;
using analysis::base::hours_from;
using analysis::base::Kilograms;
using analysis::base::micros_from_hours;

namespace {

StackingPlan plan_of(int cartons, int high, int wide, StackBottom bottom, double hours) {
  return {.cartons = cartons,
          .carton = {Metres{1.29}, Metres{0.195}, Metres{0.09}, Kilograms{14.0}},
          .planned = {(cartons + high * wide - 1) / (high * wide), high, wide, bottom},
          .delivery = Celsius{2.0},
          .room = Celsius{20.0},
          .available = micros_from_hours(hours)};
}

StackingAdvice advice_of(const StackingPlan& plan) { return stacking_advice_from(plan).value(); }

double hours_of(const std::optional<Micros>& time) { return hours_from(time.value()); }

bool any_contains(const std::vector<std::string>& sentences, const std::string& part) {
  return std::any_of(sentences.begin(), sentences.end(), [&](const std::string& sentence) {
    return sentence.find(part) != std::string::npos;
  });
}

}  // namespace

TEST_CASE("PlannedTimesAreThoseOfTheSeries") {
  // Source: product of plane-wall series evaluated independently (Python), whole hours; 2 into
  // 20 deg C within 1 K.
  const auto wide = advice_of(plan_of(40, 10, 2, StackBottom::on_battens, 48.0)).planned;
  CHECK(hours_of(wide.time.fast) == Approx(118.0).epsilon(0.01));
  CHECK(hours_of(wide.time.mid) == Approx(171.0).epsilon(0.01));
  CHECK(hours_of(wide.time.slow) == Approx(254.0).epsilon(0.01));
  const auto floor = advice_of(plan_of(40, 10, 2, StackBottom::on_floor, 48.0)).planned;
  CHECK(hours_of(floor.time.mid) == Approx(186.0).epsilon(0.01));
  CHECK(floor.grade == StackingGrade::not_in_time);
}

TEST_CASE("AStackThatIsInTimeOverTheWholeRangeNeedsNoOther") {
  const auto advice = advice_of(plan_of(40, 4, 1, StackBottom::on_battens, 72.0));
  CHECK(advice.planned.grade == StackingGrade::whole_range);
  CHECK(advice.better.empty());
  CHECK_FALSE(advice.planned.tall);
}

TEST_CASE("BetterStacksAreInTimeOverTheWholeRangeWhereThereAreSuch") {
  const StackingPlan plan = plan_of(40, 10, 2, StackBottom::on_floor, 48.0);
  const auto advice = advice_of(plan);
  REQUIRE_FALSE(advice.better.empty());
  for (const StackingOption& option : advice.better) {
    CHECK(option.grade == StackingGrade::whole_range);
    CHECK(*option.time.slow <= plan.available);
    const StackArrangement& a = option.arrangement;
    CHECK(a.stacks * a.cartons_high * a.cartons_wide >= plan.cartons);
    CHECK((a.stacks - 1) * a.cartons_high * a.cartons_wide < plan.cartons);
  }
  // Two high on battens: one more layer takes the slow material beyond 48 h.
  const StackArrangement& best = advice.better.front().arrangement;
  CHECK(best.bottom == StackBottom::on_battens);
  StackingPlan higher = plan;
  higher.planned = {plan.cartons, best.cartons_high + 1, best.cartons_wide, best.bottom};
  CHECK(hours_of(advice_of(higher).planned.time.slow) > 48.0);
}

TEST_CASE("WithOnlyTheUsualMaterialInTimeTheCautionIsGiven") {
  // One carton on battens takes 15 h (11 to 22): in 18 h only the usual material gets there.
  const StackingPlan plan = plan_of(40, 10, 1, StackBottom::on_floor, 18.0);
  const auto advice = advice_of(plan);
  REQUIRE(advice.better.size() == 1);
  CHECK(advice.better.front().grade == StackingGrade::usual_only);
  CHECK(advice.better.front().arrangement.cartons_high == 1);
  CHECK(any_contains(sentences_from_advice(plan, advice), "measure the core with a probe"));
  const StackingPlan usual = plan_of(40, 4, 1, StackBottom::on_battens, 60.0);
  CHECK(advice_of(usual).planned.grade == StackingGrade::usual_only);
  CHECK(any_contains(sentences_from_advice(usual, advice_of(usual)), "not for a slow one"));
}

TEST_CASE("WhereNoStackIsInTimeNoneIsNamed") {
  const StackingPlan plan = plan_of(40, 4, 1, StackBottom::on_floor, 8.0);
  const auto advice = advice_of(plan);
  CHECK(advice.better.empty());
  CHECK(hours_of(advice.quickest.time.fast) == Approx(10.45).margin(0.1));
  CHECK(any_contains(sentences_from_advice(plan, advice),
                     "No way of stacking these cartons warms them through in 8 h"));
}

TEST_CASE("BattensAreNamedOnlyWhereTheySaveRoom") {
  const auto advice = advice_of(plan_of(40, 10, 2, StackBottom::on_floor, 120.0));
  REQUIRE(advice.better.size() == 1);
  CHECK(advice.better.front().arrangement == StackArrangement{4, 10, 1, StackBottom::on_floor});
}

TEST_CASE("HalvingFindsWhatTryingEveryArrangementFinds") {
  const unsigned seed = 20240616;
  CAPTURE(seed);
  std::mt19937 random{seed};
  for (int run = 0; run < 3; ++run) {
    StackingPlan plan = plan_of(10 + static_cast<int>(random() % 60), 4, 2, StackBottom::on_floor,
                                24.0 + static_cast<double>(random() % 60));
    plan.carton.width = Metres{0.10};  // so that two wide can be in time
    plan.planned.stacks = plan.cartons;
    CAPTURE(run, plan.cartons, hours_from(plan.available));
    double least = std::numeric_limits<double>::infinity();
    for (const StackBottom bottom : {StackBottom::on_floor, StackBottom::on_battens}) {
      for (int high = 1; high <= 4; ++high) {
        for (int wide = 1; wide <= 2; ++wide) {
          const StackGeometry g{plan.carton.length, Metres{wide * 0.10}, Metres{high * 0.09},
                                bottom};
          if (time_until_within(StackField::start(g, kSlowStack, plan.delivery).value(), plan.room,
                                plan.within, plan.available)) {
            least = std::min(least, ((plan.cartons + high * wide - 1) / (high * wide)) * 1.34 *
                                        (wide * 0.10 + 0.05));
          }
        }
      }
    }
    const auto advice = advice_of(plan);
    REQUIRE_FALSE(advice.better.empty());
    CHECK(advice.better.front().floor_area.value() == Approx(least));
  }
}

TEST_CASE("FloorLoadAndTallStacksAreTold") {
  StackingPlan plan = plan_of(40, 10, 1, StackBottom::on_floor, 300.0);
  const auto advice = advice_of(plan);
  CHECK(advice.planned.tall);  // 0.90 m on 0.195 m
  CHECK(advice.planned.floor_load_kg_per_m2.value() == Approx(140.0 / (1.29 * 0.195)));
  const auto sentences = sentences_from_advice(plan, advice);
  CHECK(any_contains(sentences, "557 kg/m2"));
  CHECK(any_contains(sentences, "can tip"));
  plan.carton.mass.reset();
  CHECK_FALSE(advice_of(plan).planned.floor_load_kg_per_m2.has_value());
  CHECK_FALSE(any_contains(sentences_from_advice(plan, advice_of(plan)), "kg/m2"));
}

TEST_CASE("SentencesForTheUsualMistakeReadAsWritten") {
  const StackingPlan plan = plan_of(40, 10, 2, StackBottom::on_floor, 48.0);
  const auto sentences = sentences_from_advice(plan, advice_of(plan));
  REQUIRE(sentences.size() >= 5);
  // The series gives 186.4 h, fast 128.4, slow 279.1 (Python); hours are rounded up.
  CHECK(sentences[0] ==
        "Ten high and two wide on the floor takes 187 h (129 to 280 h) to come within 1 K of the "
        "room; in 48 h it can't warm through.");
  CHECK(sentences[1] ==
        "Two high and one wide on battens takes 31 h (22 to 46 h) and needs 20 stacks on 6.6 m2 of "
        "floor.");
  CHECK(any_contains(sentences, "Leave at least 5 cm of air between stacks"));
  CHECK(any_contains(sentences, "moisture hardly moves"));
  for (const std::string& sentence : sentences) {
    CAPTURE(sentence);
    CHECK(sentence.find("safe") == std::string::npos);
    CHECK(sentence.find("guarantee") == std::string::npos);
    CHECK(sentence.find("equilibr") == std::string::npos);
  }
}

TEST_CASE("CartonsAsWarmAsTheRoomNeedNoTime") {
  StackingPlan plan = plan_of(40, 10, 2, StackBottom::on_floor, 0.0);
  plan.delivery = Celsius{19.5};
  const auto advice = advice_of(plan);
  CHECK(advice.planned.time.slow == Micros{0});
  CHECK(advice.planned.grade == StackingGrade::whole_range);
}

TEST_CASE("ImpossiblePlansAreErrors") {
  const StackingPlan good = plan_of(40, 10, 2, StackBottom::on_floor, 48.0);
  const auto error_of = [](const StackingPlan& plan) { return stacking_advice_from(plan).error(); };
  for (int StackArrangement::*count : {&StackArrangement::stacks, &StackArrangement::cartons_high,
                                       &StackArrangement::cartons_wide}) {
    for (const int value : {0, -1, 100'001}) {
      StackingPlan plan = good;
      plan.planned.*count = value;
      CHECK(error_of(plan) == DomainError::count_out_of_domain);
    }
  }
  StackingPlan plan = good;
  plan.planned.stacks = 1;  // holds 20 of 40
  CHECK(error_of(plan) == DomainError::count_out_of_domain);
  plan = good;
  plan.cartons = 0;
  CHECK(error_of(plan) == DomainError::count_out_of_domain);
  plan = good;
  plan.planned.cartons_high = 40;  // 3.6 m
  CHECK(error_of(plan) == DomainError::length_out_of_domain);
  plan = good;
  plan.carton.height = Metres{0.01};
  CHECK(error_of(plan) == DomainError::length_out_of_domain);
  plan = good;
  plan.room = Celsius{std::numeric_limits<double>::quiet_NaN()};
  CHECK(error_of(plan) == DomainError::temperature_out_of_domain);
  plan = good;
  plan.within = KelvinDelta{0.0};
  CHECK(error_of(plan) == DomainError::temperature_out_of_domain);
  plan = good;
  plan.available = micros_from_hours(-1);
  CHECK(error_of(plan) == DomainError::duration_out_of_domain);
  plan.available = micros_from_hours(24 * 61);
  CHECK(error_of(plan) == DomainError::duration_out_of_domain);
}
