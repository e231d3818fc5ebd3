#include "analysis/readiness/slab/slab_forecast.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "analysis/readiness/slab/forecast_evidence.hpp"
#include "analysis/readiness/slab/slab_posterior.hpp"
#include "tests/slab/slab_history.hpp"

using namespace slab_history;

namespace {

using Refusal = ForecastRefusal;
const double kNan = std::numeric_limits<double>::quiet_NaN();

base::Result<SlabForecast, RefusedForecast> forecast_of(const SlabHistory& history,
                                                        double limit = 0.85, double years = 10.0) {
  return slab_forecast_from(history, library_in_air_of_50_percent(),
                            {RelativeHumidity{limit}, history.readings.back().at, years});
}
SlabHistory good_history() { return history_of({}, 40.0, 55.0); }
Refusal refusal_of(const SlabHistory& history, double limit = 0.85) {
  const auto forecast = forecast_of(history, limit);
  REQUIRE_FALSE(forecast.has_value());
  return forecast.error().reason;
}
double width_days(const SlabForecast& forecast) {
  return day_of(forecast.late) - day_of(forecast.early);
}

}  // namespace

TEST_CASE("ForecastHoldsTheDayOfASlabThatFollowsTheModel") {
  const ExactSlab slab;
  for (const double limit : {0.85, 0.80}) {
    INFO("limit " << limit);
    const SlabForecast forecast = forecast_of(good_history(), limit).value();
    CHECK(day_of(forecast.early) < slab.crossing_day(limit));
    CHECK(day_of(forecast.late) > slab.crossing_day(limit));
    CHECK(day_of(forecast.median) == Approx(slab.crossing_day(limit)).epsilon(0.25));
    CHECK(forecast.readings_used == 31);
    CHECK(forecast.residual.value() < 0.004);
  }
}

TEST_CASE("LaterLimitsComeLater") {
  double last[3] = {0.0, 0.0, 0.0};
  for (double limit = 0.87; limit > 0.71; limit -= 0.02) {
    const SlabForecast forecast = forecast_of(good_history(), limit).value();
    const double days[3] = {day_of(forecast.early), day_of(forecast.median), day_of(forecast.late)};
    CHECK(days[0] < days[1]);
    CHECK(days[1] < days[2]);
    for (int i = 0; i < 3; ++i) {
      CHECK(days[i] > last[i]);
      last[i] = days[i];
    }
  }
}

TEST_CASE("DatesHoldTheShareOfTheWeightTheyClaim") {
  const SlabHistory history = good_history();
  const ForecastQuestion question{RelativeHumidity{0.85}, at_day(60.0)};
  const auto& library = library_in_air_of_50_percent();
  const SlabForecast forecast = slab_forecast_from(history, library, question).value();
  const auto evidence = forecast_evidence_from(history, library.air_rh(), question).value();
  const SlabPosterior posterior =
      slab_posterior_from(library, evidence, diffusivity_prior_from(base::Megapascals{30.0}),
                          history.probe, question.limit);
  const auto weight_up_to = [&](const CrossingDate& date) {
    double weight = 0.0;
    for (const CrossingNode& node : posterior.nodes) {
      const double day = node.crossing->count() / 86400.0;  // 20 deg C: drying days are days
      weight += day <= day_of(date) + 1e-6 ? node.weight : 0.0;
    }
    return weight;
  };
  CHECK(weight_up_to(forecast.early) == Approx(0.1).margin(0.005));
  CHECK(weight_up_to(forecast.median) == Approx(0.5).margin(0.005));
  CHECK(weight_up_to(forecast.late) == Approx(0.9).margin(0.005));
  CHECK(forecast.probability_already_below ==
        Approx(weight_up_to({CrossingDate::Kind::dated, question.now})).margin(1e-9));
}

TEST_CASE("MoreReadingsAndAKnownStrengthNarrowTheForecast") {
  const SlabForecast shorter = forecast_of(history_of({}, 20.0, 32.0)).value();
  const SlabForecast longer = forecast_of(history_of({}, 20.0, 85.0)).value();
  CHECK(width_days(longer) < 0.8 * width_days(shorter));
  SlabHistory unknown = good_history();
  unknown.characteristic_strength.reset();
  CHECK(width_days(forecast_of(unknown).value()) > width_days(forecast_of(good_history()).value()));
}

TEST_CASE("AWorseProbeWidensTheForecast") {
  SlabHistory worse = history_of({}, 40.0, 80.0);
  const double good = width_days(forecast_of(worse).value());
  worse.probe.bias = RelativeHumidity{0.03};
  CHECK(width_days(forecast_of(worse).value()) > 1.1 * good);
}

TEST_CASE("BothFacesAreOneFaceOfHalfTheThickness") {
  SlabHistory both = good_history();
  both.thickness = base::Metres{0.2};
  both.dries_from_both_faces = true;
  both.barrier_below_confirmed = false;  // nothing below to bar
  const SlabForecast one = forecast_of(good_history()).value();
  const SlabForecast other = forecast_of(both).value();
  CHECK(one.early == other.early);
  CHECK(one.median == other.median);
  CHECK(one.late == other.late);
}

TEST_CASE("ReadingsAreThinnedToTwoADay") {
  const SlabForecast every_hour = forecast_of(history_of({}, 40.0, 55.0, 1.0 / 24.0)).value();
  CHECK(every_hour.readings_used == 31);
  CHECK(day_of(every_hour.median) ==
        Approx(day_of(forecast_of(good_history()).value().median)).epsilon(0.01));
  const SlabForecast years_long = forecast_of(history_of({}, 40.0, 500.0), 0.75).value();
  CHECK(years_long.readings_used <= 400);
  CHECK(years_long.readings_used > 390);
}

TEST_CASE("DryingTimeCountsTheReadingsTemperature") {
  SlabHistory history = good_history();
  history.slab_temperature = Celsius{10.0};
  for (auto& reading : history.readings) {
    reading.temperature = Celsius{30.0};
  }
  history.readings.erase(history.readings.begin() + 10, history.readings.begin() + 16);
  const base::UtcMicros now = history.readings.back().at + base::micros_from_hours(48);
  const auto evidence =
      forecast_evidence_from(history, RelativeHumidity{0.5}, {RelativeHumidity{0.85}, now}).value();
  // 10 deg C before the probe, across the gap of 3.5 d and after the last reading; 30 otherwise.
  const double cold = physics::diffusivity_factor_from_temperature(Celsius{10.0}).value();
  const double warm = physics::diffusivity_factor_from_temperature(Celsius{30.0}).value();
  const double at_last = 40.0 * cold + 3.5 * cold + 11.5 * warm;
  CHECK(evidence.observations.front().since_start.count() / 86400.0 == Approx(40.0 * cold));
  CHECK(evidence.observations.back().since_start.count() / 86400.0 == Approx(at_last));
  CHECK(evidence.drying_until_now.count() / 86400.0 == Approx(at_last + 2.0 * cold));
  CHECK(evidence.drying_rate == cold);
}

TEST_CASE("AColdSlabTakesLonger") {
  ExactSlab cold;
  cold.rate = physics::diffusivity_factor_from_temperature(Celsius{10.0}).value();
  SlabHistory history = history_of(cold, 73.0, 100.4);
  history.slab_temperature = Celsius{10.0};
  const SlabForecast forecast = forecast_of(history).value();
  CHECK(day_of(forecast.median) == Approx(cold.crossing_day(0.85)).epsilon(0.25));
  history.slab_temperature = Celsius{20.0};
  for (auto& reading : history.readings) {
    reading.temperature = Celsius{10.0};
  }
  CHECK(day_of(forecast_of(history).value().median) < day_of(forecast.median));
}

TEST_CASE("QuantilesBeyondTheHorizonAreSaidOneByOne") {
  const SlabForecast whole = forecast_of(good_history(), 0.75).value();
  const double median_years = (day_of(whole.median) - 55.0) / 365.25;
  const SlabForecast cut = forecast_of(good_history(), 0.75, 1.05 * median_years).value();
  CHECK(cut.early == whole.early);
  CHECK(cut.median == whole.median);
  CHECK(cut.late.kind == CrossingDate::Kind::beyond_horizon);
  CHECK(cut.late.at < whole.late.at);
  CHECK(cut.probability_beyond_horizon > 0.1);
  CHECK(cut.probability_beyond_horizon < 0.5);
  CHECK(whole.probability_beyond_horizon < 0.1);
}

TEST_CASE("ASlabNearItsLimitMayBeThereAlready") {
  // Within two standard deviations of the probe some weight lies in the past, and never a date.
  const ExactSlab slab;
  const double day = slab.crossing_day(0.858);
  const SlabForecast near = forecast_of(history_of({}, day - 15.0, day)).value();
  CHECK(near.probability_already_below > 0.1);
  CHECK(near.probability_already_below < 0.5);
  CHECK(near.early.kind == CrossingDate::Kind::already_below);
  CHECK(near.early.at == at_day(day - 15.0) + base::micros_from_hours(24.0 * 15.0));
  CHECK(near.median.kind == CrossingDate::Kind::dated);
  CHECK(forecast_of(history_of({}, 20.0, 32.0)).value().probability_already_below < 0.01);
}

TEST_CASE("WhatIsNotKnownAboutTheSlabRefusesTheForecast") {
  const auto without = [](auto change) {
    SlabHistory history = good_history();
    change(history);
    return refusal_of(history);
  };
  using H = SlabHistory;
  CHECK(without([](H& h) { h.drying_started_at.reset(); }) == Refusal::drying_start_unknown);
  CHECK(without([](H& h) { h.thickness.reset(); }) == Refusal::thickness_unknown);
  CHECK(without([](H& h) { h.probe_depth.reset(); }) == Refusal::probe_depth_unknown);
  CHECK(without([](H& h) { h.barrier_below_confirmed = false; }) == Refusal::no_barrier_confirmed);
  for (const double depth : {0.0339, 0.0461, kNan}) {
    CHECK(without([&](H& h) { h.probe_depth = base::Metres{depth}; }) ==
          Refusal::probe_depth_not_standard);
  }
  for (const double thickness : {0.029, 0.51, kNan}) {
    CHECK(without([&](H& h) { h.thickness = base::Metres{thickness}; }) ==
          Refusal::slab_outside_model);
  }
  CHECK(without([](H& h) { h.characteristic_strength = base::Megapascals{5.0}; }) ==
        Refusal::slab_outside_model);
  CHECK(without([](H& h) { h.drying_started_at = at_day(40.1); }) ==
        Refusal::reading_before_drying);
}

TEST_CASE("AProbeWithinSixMillimetresOfItsDepthIsTaken") {
  SlabHistory history = good_history();
  for (const double depth : {0.034, 0.046}) {
    history.probe_depth = base::Metres{depth};
    CHECK(forecast_of(history).has_value());
  }
}

TEST_CASE("TooFewReadingsSayHowManyDaysAreMissing") {
  SlabHistory history = good_history();
  const auto question = ForecastQuestion{RelativeHumidity{0.85}, history.readings.back().at};
  const auto& library = library_in_air_of_50_percent();
  history.readings.clear();
  const auto none = slab_forecast_from(history, library, question).error();
  CHECK(none.reason == Refusal::no_settled_readings);
  CHECK(none.days_needed == Approx(10.0));
  history = history_of({}, 40.0, 47.0);
  const auto few = slab_forecast_from(history, library, question).error();
  CHECK(few.reason == Refusal::too_few_readings);
  CHECK(few.days_needed == Approx(3.0));
  history = history_of({}, 40.0, 50.0, 2.5);  // long enough, but five readings
  const auto sparse = slab_forecast_from(history, library, question).error();
  CHECK(sparse.reason == Refusal::too_few_readings);
  CHECK(sparse.days_needed == Approx(2.5));
  CHECK(forecast_of(history_of({}, 40.0, 50.0)).has_value());
}

TEST_CASE("ValuesOutsideTheModelRefuseTheForecast") {
  SlabHistory history = good_history();
  for (const double rh : {0.599, 1.031, kNan}) {
    history.readings[3].rh = RelativeHumidity{rh};
    CHECK(refusal_of(history) == Refusal::rh_outside_model);
  }
  for (const double limit : {0.69, 0.951, kNan}) {
    CHECK(refusal_of(good_history(), limit) == Refusal::rh_outside_model);
  }
  for (const double celsius : {-1.0, 51.0, kNan}) {
    history = good_history();
    history.readings[3].temperature = Celsius{celsius};
    CHECK(refusal_of(history) == Refusal::temperature_outside_model);
    history = good_history();
    history.slab_temperature = Celsius{celsius};
    CHECK(refusal_of(history) == Refusal::temperature_outside_model);
  }
}

TEST_CASE("AirAsHumidAsTheLimitRefusesTheForecast") {
  const auto evidence = [](double air) {
    return forecast_evidence_from(good_history(), RelativeHumidity{air},
                                  {RelativeHumidity{0.75}, at_day(55.0)});
  };
  CHECK(evidence(0.75).error().reason == Refusal::air_not_below_limit);
  CHECK(evidence(0.74).has_value());
}

TEST_CASE("AtTheLimitATestDecidesAndNoForecast") {
  const ExactSlab slab;
  const double day = slab.crossing_day(0.85) + 2.0;
  CHECK(refusal_of(history_of(slab, day - 15.0, day)) == Refusal::already_at_limit);
}

TEST_CASE("RisingReadingsRefuseTheForecast") {
  SlabHistory history = good_history();
  for (std::size_t i = 0; i < history.readings.size(); ++i) {
    history.readings[i].rh = RelativeHumidity{0.88 + 0.001 * static_cast<double>(i)};
  }
  CHECK(refusal_of(history) == Refusal::readings_rising);
  // Wetted in the last days after a month of drying.
  history = history_of({}, 30.0, 60.0);
  for (std::size_t i = history.readings.size() - 8; i < history.readings.size(); ++i) {
    const double past = static_cast<double>(i + 8 - history.readings.size());
    history.readings[i].rh = RelativeHumidity{history.readings[i].rh.value() + 0.006 * past};
  }
  CHECK(refusal_of(history) == Refusal::readings_rising);
}

TEST_CASE("ReadingsOnNoDryingCurveRefuseTheForecast") {
  // Falls by 13 points in eight days and then stands still: no slab of this kind does.
  SlabHistory history = good_history();
  for (std::size_t i = 0; i < history.readings.size(); ++i) {
    history.readings[i].rh = RelativeHumidity{i < 16 ? 0.99 : 0.86};
  }
  CHECK(refusal_of(history) == Refusal::poor_fit);
  // The same shape within the probe's noise is taken.
  for (std::size_t i = 0; i < history.readings.size(); ++i) {
    history.readings[i].rh = RelativeHumidity{i < 16 ? 0.905 : 0.895};
  }
  CHECK(forecast_of(history).has_value());
}
