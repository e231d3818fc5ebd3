// The members of the tests made on slab or wood, as the certificate holds them. Templates over
// FieldWriter and FieldReader; included by fact_fields.cpp only.
#pragma once

#include "analysis/certificate/fields/describe_readiness.hpp"

namespace analysis::certificate {

template <class Io>
void describe_dish_test(Io& io, readiness::DishTestNote& t) {
  io.time("at", t.at);
  io.number("floor_m2", t.survey.floor);
  io.seconds("service_conditions_s", t.survey.service_conditions_held);
  io.list("dishes", t.survey.dishes, [](auto& inner, auto& dish) {
    inner.number("mass_gain_kg", dish.mass_gain);
    inner.number("covered_area_m2", dish.covered_area);
    inner.seconds("exposure_s", dish.exposure);
  });
}

template <class Io>
void describe_rh_test(Io& io, readiness::RhTestNote& t) {
  io.time("at", t.at);
  io.number("thickness_m", t.test.thickness);
  io.flag("dries_from_both_faces", t.test.dries_from_both_faces);
  io.number("floor_m2", t.test.floor);
  io.seconds("service_conditions_s", t.test.service_conditions_held);
  io.list("places", t.test.places, [](auto& inner, auto& place) {
    inner.number("depth_m", place.depth);
    inner.number("rh_fraction", place.rh);
    inner.seconds("equilibrated_s", place.equilibrated_for);
    inner.optional("slab_celsius", place.slab, kNumber);
  });
}

template <class Io>
void describe_carbide_test(Io& io, readiness::CarbideTestNote& t) {
  io.time("at", t.at);
  io.number("floor_m2", t.survey.floor);
  io.flag("heated", t.survey.heated);
  io.list("samples", t.survey.samples,
          [](auto& inner, auto& sample) { inner.number("fraction", sample); });
}

template <class Io>
void describe_wood_test(Io& io, readiness::WoodTestNote& t) {
  io.time("at", t.at);
  bool compensates = t.compensation == physics::MeterCompensation::temperature;
  io.flag("meter_compensates", compensates);
  t.compensation =
      compensates ? physics::MeterCompensation::temperature : physics::MeterCompensation::none;
  io.number("species_slope", t.species.slope_kg_per_kg);
  io.number("species_offset_fraction", t.species.offset_mc_kg_per_kg);
  io.list("readings", t.readings, [](auto& inner, auto& reading) {
    inner.number("shown_fraction", reading.shown);
    inner.number("wood_celsius", reading.wood);
  });
}

}  // namespace analysis::certificate
