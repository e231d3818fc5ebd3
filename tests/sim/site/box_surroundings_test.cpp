#include "firmware-sim/sim/site/place/box_surroundings.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "firmware-sim/sim/physics/moist_air.hpp"
#include "firmware-sim/sim/site/place/place_air.hpp"
#include "firmware-sim/sim/site/site_library.hpp"

using namespace firmware::sim;
using namespace firmware::sim::site;
using analysis::base::Celsius;
using analysis::base::Micros;
using analysis::base::micros_from_hours;
using analysis::base::RelativeHumidity;
using analysis::base::UtcMicros;

namespace {

constexpr UtcMicros kStart{1'772'434'800'000'000};  // 2026-03-02T07:00:00Z
constexpr Micros kMinute{60'000'000};

UtcMicros after(double hours) { return kStart + micros_from_hours(hours); }

}  // namespace

TEST_CASE("PlacesAreFoundByName") {
  for (const std::string_view name : place_names()) {
    CHECK(text_of(place_from_name(name).value()) == name);
  }
  CHECK(place_names().size() == kBoxPlaces);
  CHECK_FALSE(place_from_name("attic").has_value());
}

TEST_CASE("ProbesElsewhereHangInTheAirOfThatPlace") {
  SiteTruth site{SiteParameters{}, kStart, 1};
  const UtcMicros night = after(20.0);
  site.advance_to(night);
  const SiteState outdoors = site.state_at(night, BoxPlace::outdoors);
  CHECK(outdoors.air_temperature == outdoors.outdoor_temperature);
  CHECK(outdoors.air_rh == outdoors.outdoor_rh);
  CHECK(outdoors.core_temperature == outdoors.air_temperature);
  CHECK(outdoors.slab_rh == outdoors.air_rh);
  const SiteState van = site.state_at(night, BoxPlace::van);
  CHECK(std::abs(van.air_temperature.value() - outdoors.air_temperature.value()) < 2.0);
  const SiteState other = site.state_at(night, BoxPlace::other_room);
  CHECK(other.air_temperature.value() == Approx(22.5).margin(1.5));
  CHECK(other.air_rh.value() < 0.45);
}

TEST_CASE("ParkedVanHeatsUpInTheSunAndDriesOut") {
  SiteTruth site{site_from_name("summer-cooled").value(), kStart, 1};
  site.advance_to(after(6.0));
  const SiteState van = site.state_at(after(6.0), BoxPlace::van);
  CHECK(van.air_temperature.value() > van.outdoor_temperature.value() + 8.0);
  CHECK(van.air_rh.value() < van.outdoor_rh.value());
}

// A lump that relaxes: what is left of a step is exp(-t / time constant).
TEST_CASE("UnheatedPlaceRelaxesWithItsTimeConstant") {
  PlaceParameters parameters;
  parameters.time_constant_h = 2.0;
  PlaceAir place{parameters, {Celsius{20.0}, RelativeHumidity{0.5}, 0.0}};
  const PlaceForcing cold{Celsius{0.0}, RelativeHumidity{0.5}, 0.0};
  for (int step = 0; step < 240; ++step) {
    place.advance(30.0, cold);
  }
  CHECK(place.temperature().value() == Approx(20.0 * std::exp(-1.0)).epsilon(3e-3));
  CHECK(place.rh().value() <= 1.0);
}

TEST_CASE("ColdBoxBroughtIntoAWarmRoomReadsDampUntilItIsWarm") {
  SiteTruth site{SiteParameters{}, kStart, 1};
  BoxSurroundings box;
  site.advance_to(after(1.0));
  box.move_to(BoxPlace::van, site, after(1.0));
  site.advance_to(after(20.0));
  const SiteState cold = box.seen(site, after(20.0));
  REQUIRE(cold.air_temperature.value() < 5.0);
  box.move_to(BoxPlace::room, site, after(20.0));
  CHECK(box.place() == BoxPlace::room);
  const SiteState at_once = box.seen(site, after(20.0));
  CHECK(at_once.air_temperature.value() == Approx(cold.air_temperature.value()).margin(1e-9));
  CHECK(at_once.air_rh.value() == 1.0);
  site.advance_to(after(20.0) + kMinute * 5);
  const SiteState room = site.state_at(after(20.0) + kMinute * 5);
  const SiteState later = box.seen(site, after(20.0) + kMinute * 5);
  // One time constant.
  const double first_off = at_once.air_temperature.value() - room.air_temperature.value();
  CHECK(later.air_temperature.value() - room.air_temperature.value() ==
        Approx(first_off * std::exp(-1.0)).epsilon(0.02));
  site.advance_to(after(22.0));
  CHECK(box.seen(site, after(22.0)).air_rh.value() ==
        Approx(site.state_at(after(22.0)).air_rh.value()).margin(1e-6));
}

TEST_CASE("BreathIsWarmAndWetAndGoneAfterThreeMinutes") {
  SiteTruth site{SiteParameters{}, kStart, 1};
  BoxSurroundings box;
  const UtcMicros at = after(2.0);
  site.advance_to(at);
  const SiteState calm = site.state_at(at);
  box.breathe_on(at);
  const SiteState breath = box.seen(site, at);
  CHECK(breath.air_temperature.value() > 26.0);
  CHECK(breath.air_temperature.value() < 34.0);
  CHECK(breath.air_rh.value() > 0.85);
  CHECK(breath.air_rh.value() <= 1.0);
  CHECK(breath.slab_rh == calm.slab_rh);
  CHECK(breath.core_temperature == calm.core_temperature);
  double before = breath.air_rh.value();
  for (int second = 10; second <= 180; second += 10) {
    const SiteState seen = with_breath(calm, Micros{second * 1'000'000LL});
    CHECK(seen.air_rh.value() < before);
    before = seen.air_rh.value();
  }
  CHECK(before == Approx(calm.air_rh.value()).margin(2e-3));
  CHECK(with_breath(calm, kMinute * 4).air_rh == calm.air_rh);
  CHECK(with_breath(calm, -kMinute).air_rh == calm.air_rh);
}
