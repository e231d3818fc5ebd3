#include "firmware-sim/sim/site/site_parameters.hpp"

#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <set>
#include <string>

#include "firmware-sim/sim/site/nearest_name.hpp"
#include "firmware-sim/sim/site/site_library.hpp"

using namespace firmware::sim::site;

namespace {

std::string fault(std::string_view key, double value) {
  SiteParameters site;
  const auto set = set_site_parameter(site, key, value);
  return set ? "" : set.error();
}

}  // namespace

TEST_CASE("EachKeySetsItsOwnParameterAndNoOther") {
  std::set<std::string_view> keys;
  for (const ParameterRange& range : site_parameter_ranges()) {
    CAPTURE(range.key);
    CHECK(keys.insert(range.key).second);
    REQUIRE(range.low < range.high);
    SiteParameters site;
    for (const ParameterRange& other : site_parameter_ranges()) {
      REQUIRE(set_site_parameter(site, other.key, other.low).has_value());
    }
    REQUIRE(set_site_parameter(site, range.key, range.high).has_value());
    for (const ParameterRange& other : site_parameter_ranges()) {
      CAPTURE(other.key);
      CHECK(site_parameter(site, other.key).value() ==
            Approx(other.key == range.key ? other.high : other.low));
    }
  }
}

TEST_CASE("HumidityIsWrittenInPerCentAndKeptAsAFraction") {
  SiteParameters site;
  REQUIRE(set_site_parameter(site, "slab_start_percent_rh", 82.5).has_value());
  CHECK(site.slab.start_rh_fraction == Approx(0.825));
  CHECK(site_parameter(site, "slab_start_percent_rh").value() == Approx(82.5));
  CHECK_FALSE(site_parameter(site, "slab_start").has_value());
}

TEST_CASE("WrongKeysAndValuesAreToldInOneLine") {
  CHECK(fault("air_changes", 0.5) ==
        "'air_changes': expected a parameter of a site, docs/site-truth.md lists them; nearest is "
        "air_changes_per_h");
  CHECK(fault("foo", 0.5) ==
        "'foo': expected a parameter of a site, docs/site-truth.md lists them");
  CHECK(fault("", 0.5).find("nearest is ") == std::string::npos);
  CHECK(fault("air_changes_per_h", 25.0) == "air_changes_per_h 25: expected 0.02 to 20");
  CHECK(fault("air_changes_per_h", -1.0) == "air_changes_per_h -1: expected 0.02 to 20");
  CHECK(fault("air_changes_per_h", std::numeric_limits<double>::quiet_NaN()) ==
        "air_changes_per_h nan: expected 0.02 to 20");
  CHECK(fault(std::string(10'000, 'x'), 1.0).size() < 200);
}

TEST_CASE("ValuesThatDoNotFitTogetherAreToldInOneLine") {
  SiteParameters site;
  CHECK(check_site(site).has_value());
  REQUIRE(set_site_parameter(site, "slab_dried_in_percent_rh", 80.0).has_value());
  REQUIRE_FALSE(check_site(site).has_value());
  CHECK(check_site(site).error() ==
        "slab_dried_in_percent_rh 80: expected below slab_start_percent_rh, 77.5");
  site = {};
  site.slab.probe_depth_m = 0.2;
  REQUIRE_FALSE(check_site(site).has_value());
  CHECK(check_site(site).error() == "slab_probe_depth_m 0.2: expected below slab_thickness_m, 0.1");
  site = {};
  site.gains.to_hour_utc = 6.0;
  CHECK_FALSE(check_site(site).has_value());
}

TEST_CASE("EverySiteOfTheLibraryIsWithinItsOwnRanges") {
  CHECK(site_names().size() == 5);
  for (const std::string_view name : site_names()) {
    CAPTURE(name);
    const auto site = site_from_name(name);
    REQUIRE(site.has_value());
    CHECK(check_site(*site).has_value());
    for (const ParameterRange& range : site_parameter_ranges()) {
      CAPTURE(range.key);
      SiteParameters copy = *site;
      CHECK(set_site_parameter(copy, range.key, site_parameter(*site, range.key).value())
                .has_value());
    }
  }
  CHECK_FALSE(site_from_name("late winter").has_value());
}

TEST_CASE("NearestNameIsTheOneWithTheFewestEditsAndNoneThatIsFar") {
  const std::array<std::string_view, 3> places{"room", "van", "outdoors"};
  CHECK(nearest_name("vann", places) == "van");
  CHECK(nearest_name("outdor", places) == "outdoors");
  CHECK(nearest_name("out", places) == "outdoors");
  CHECK(nearest_name("", places).empty());
  CHECK(nearest_name("xyz", places).empty());
  CHECK(nearest_name("xyz", {}).empty());
  CHECK(nearest_text("vann", places) == "; nearest is van");
  CHECK(nearest_text("xyz", places).empty());
}
