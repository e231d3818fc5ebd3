// Cartons that come at 2 deg C into the half-heated house, on each Monday of its log.
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <optional>

#include "analysis/physics/stack/warm_up.hpp"
#include "analysis/readiness/stack/stack_tracker.hpp"
#include "tests/real_data/real_log.hpp"
#include "tests/stack/series_oracle.hpp"

using namespace analysis::readiness;
using namespace analysis::physics;
using namespace real_data;
using analysis::base::hours_from;
using analysis::base::micros_from_hours;

namespace {

constexpr Celsius kDelivered{2.0};
constexpr std::ptrdiff_t kRowsAnHour = 6;
constexpr std::size_t kSets[] = {0, kMidSet, kStackSets - 1};  // fast, mid, slow
constexpr StackGeometry kFourHigh{Metres{1.29}, Metres{0.195}, Metres{0.36}, StackBottom::on_floor};
constexpr StackGeometry kTenHighTwoWide{Metres{1.29}, Metres{0.39}, Metres{0.90},
                                        StackBottom::on_floor};

// Rows at 08:00 of a Monday.
std::vector<std::size_t> mondays() {
  std::vector<std::size_t> found;
  const std::vector<LogRow>& rows = half_heated_house().rows;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    constexpr Micros kToEight = micros_from_hours(8.0);
    const std::int64_t day = day_of(rows[i].at - kToEight);
    if ((day + 3) % 7 == 0 && day_of(rows[i - 1].at - kToEight) != day) {
      found.push_back(i);
    }
  }
  return found;
}

// Hours from the delivery until each set was first warm; nullopt where it was not within the log
// or within five weeks.
struct WarmHours {
  std::array<std::optional<double>, 3> of_set;
};
WarmHours warm_hours(const StackGeometry& geometry, std::size_t first) {
  const std::vector<LogRow>& rows = half_heated_house().rows;
  StackTracker tracker = StackTracker::start(geometry, {rows[first].at, kDelivered}, {}).value();
  WarmHours hours;
  const std::size_t end = std::min(rows.size(), first + 35 * 24 * kRowsAnHour);
  for (std::size_t i = first; i < end && !hours.of_set[2]; ++i) {
    tracker.add({rows[i].at, rows[i].temperature(), std::nullopt});
    for (std::size_t k = 0; k < 3; ++k) {
      const auto& warm_at = tracker.state().warm_at[kSets[k]];
      if (!hours.of_set[k] && warm_at) {
        hours.of_set[k] = hours_from(*warm_at - rows[first].at);
      }
    }
  }
  return hours;
}

double hours_in_steady_room(const StackGeometry& geometry, const StackMaterial& material) {
  const auto until =
      time_until_within(StackField::start(geometry, material, kDelivered).value(), Celsius{20.0},
                        KelvinDelta{1.0}, micros_from_hours(24.0 * 60.0));
  REQUIRE(until.has_value());
  return hours_from(*until);
}

void note_geometry(const std::string& name, const StackGeometry& geometry) {
  const char* const set_names[] = {"fast", "mid", "slow"};
  const StackMaterial materials[] = {kFastStack, kMidStack, kSlowStack};
  std::vector<double> hours[3];
  std::size_t asked = 0;
  const std::vector<std::size_t> all = mondays();
  const std::size_t every = figures_asked() ? 1 : 5;
  for (std::size_t i = 0; i < all.size(); i += every) {
    const WarmHours warm = warm_hours(geometry, all[i]);
    ++asked;
    for (std::size_t k = 0; k < 3; ++k) {
      if (warm.of_set[k]) {
        hours[k].push_back(*warm.of_set[k]);
        REQUIRE(*warm.of_set[k] >= 3.0);
      }
      // Faster material is never later.
      if (k > 0 && warm.of_set[k]) {
        REQUIRE(warm.of_set[k - 1].has_value());
        REQUIRE(*warm.of_set[k - 1] <= *warm.of_set[k]);
      }
    }
  }
  REQUIRE(asked >= 5);
  for (std::size_t k = 0; k < 3; ++k) {
    REQUIRE_FALSE(hours[k].empty());
    const auto within =
        std::count_if(hours[k].begin(), hours[k].end(), [](double h) { return h <= 48.0; });
    note_figure("stack " + name + ", " + set_names[k],
                "warm on " + std::to_string(hours[k].size()) + " of " + std::to_string(asked) +
                    " Mondays, hours " + text_of(quantile(hours[k], 0.0), 0) + " to " +
                    text_of(quantile(hours[k], 1.0), 0) + ", median " +
                    text_of(quantile(hours[k], 0.5), 0) + ", within 48 h on " +
                    std::to_string(within) + "; steady 20 deg C " +
                    text_of(hours_in_steady_room(geometry, materials[k]), 0));
  }
}

// Mean of the straight lines through the rows of the three hours up to `last`.
double mean_of_three_hours(std::size_t last) {
  const std::vector<LogRow>& rows = half_heated_house().rows;
  const std::size_t count = 3 * kRowsAnHour;
  double sum = 0.5 * (rows[last].celsius + rows[last - count].celsius);
  for (std::size_t i = last - count + 1; i < last; ++i) {
    sum += rows[i].celsius;
  }
  return sum / static_cast<double>(count);
}

}  // namespace

TEST_CASE("TrackerInRealAirAgreesWithTheExactSeries") {
  const std::vector<LogRow>& rows = half_heated_house().rows;
  const std::vector<std::size_t> all = mondays();
  double worst = 0.0;
  double worst_following = 0.0;
  for (const std::size_t first : {all[0], all[all.size() / 2]}) {
    StackTracker tracker = StackTracker::start(kFourHigh, {rows[first].at, kDelivered}, {}).value();
    stack_oracle::VaryingRoom exact(
        {0.5 * 1.29, 0.5 * 0.195, 0.36, kMidStack.conductivity_in_plane_w_per_m_k,
         kMidStack.conductivity_across_w_per_m_k, kMidStack.film_w_per_m2_k,
         kMidStack.density_kg_per_m3 * kMidStack.heat_capacity_j_per_kg_k},
        kDelivered.value());
    tracker.add({rows[first].at, rows[first].temperature(), std::nullopt});
    std::optional<UtcMicros> exact_warm_at;
    std::optional<UtcMicros> warm_at;
    for (std::size_t i = first + 1; i <= first + 96 * kRowsAnHour; ++i) {
      exact.advance(600.0, rows[i - 1].celsius, rows[i].celsius);
      tracker.add({rows[i].at, rows[i].temperature(), std::nullopt});
      warm_at = warm_at ? warm_at : tracker.state().warm_at[kMidSet];
      if (!exact_warm_at && i >= first + 3 * kRowsAnHour &&
          std::abs(exact.centre_celsius() - mean_of_three_hours(i)) <= 1.0) {
        exact_warm_at = rows[i].at;
      }
      if ((i - first) % (12 * kRowsAnHour) == 0) {
        const StackResult result = tracker.result();
        double& kind = result.following || result.arming_number > 1 ? worst_following : worst;
        kind = std::max(kind, std::abs(result.mid.temperature.value() - exact.centre_celsius()));
      }
    }
    REQUIRE((warm_at && exact_warm_at));
    // Judged every 15 min here, every 10 min there.
    CHECK(std::abs(hours_from(*warm_at - *exact_warm_at)) < 0.5);
  }
  CAPTURE(worst, worst_following);
  CHECK(worst < 0.05);
  CHECK(worst > 0.0);
  CHECK(worst_following < 0.7);
  note_figure("stack core against the exact series",
              text_of(worst, 3) + " K, once one number follows " + text_of(worst_following, 3));
}

TEST_CASE("ColdCartonsInAHalfHeatedHouseWarmInTheOrderOfTheirMaterials") {
  note_geometry("4 high, 1 wide", kFourHigh);
  note_geometry("10 high, 2 wide", kTenHighTwoWide);
}
