// What a job demands of a room before its floor is laid. Every limit carries the source it came
// from; the manufacturer's instructions win over the defaults, which are common practice.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"
#include "analysis/readiness/dwell.hpp"
#include "analysis/readiness/slab/slab_tests.hpp"

namespace analysis::readiness {

template <class T>
struct Limit {
  T value{};
  std::string source;  // who says so; never empty
  bool operator==(const Limit&) const = default;
};

inline constexpr const char* kCommonPractice = "common practice";

// How flat a subfloor must be: no more than `within_mm` of gap anywhere under a rigid straightedge
// of `straightedge_m`.
struct FlatnessLimit {
  double within_mm = 3.0;
  double straightedge_m = 1.0;
  std::string source = kCommonPractice;
  bool operator==(const FlatnessLimit&) const = default;
};

// Things only a person can see. Values are permanent (stored and signed).
enum class SiteGate : std::uint8_t {
  room_kind = 1,     // no bathroom, sauna, floor drain, flood risk
  heating_kind = 2,  // water: supplier's instructions asked; electric: not recommended
  flat = 3,          // within FlatnessLimit
  clean = 4,
  solid = 5,
  old_glue_removed = 6,
  vapour_barrier = 7,  // over concrete or crawl space
  conditioned = 8,     // building closed and permanently conditioned
};
[[nodiscard]] std::string_view name_of(SiteGate gate);  // "room_kind"
[[nodiscard]] std::optional<SiteGate> site_gate_from_name(std::string_view name);
// For people, one line.
[[nodiscard]] std::string question_of(SiteGate gate, const FlatnessLimit& flatness);
[[nodiscard]] const std::vector<SiteGate>& all_site_gates();

// How a measured value is compared with its limit. Values are permanent (stored and signed).
enum class DecisionRule : std::uint8_t {
  simple = 1,   // the value as measured
  guarded = 2,  // the limit drawn in by the expanded uncertainty of the value, k = 2
};
[[nodiscard]] std::string_view name_of(DecisionRule rule);  // "simple", "guarded"
[[nodiscard]] std::optional<DecisionRule> decision_rule_from_name(std::string_view name);

struct SlabRequirements {
  Limit<RelativeHumidity> rh_high{RelativeHumidity{0.75}, kCommonPractice};
  Limit<Micros> settle{base::micros_from_hours(24), kCommonPractice};  // probe in its sleeve
  Limit<Micros> averaging{base::micros_from_hours(24), kCommonPractice};
  Limit<Micros> minimum_age{base::micros_from_hours(60 * 24.0), kCommonPractice};
  // Only where the job sets them: probes that must measure, and hours in the band of the current
  // run before a reading counts.
  std::optional<Limit<int>> probes_at_least;
  std::optional<Limit<Micros>> service_conditions;
  // Tests a person makes; where there is a limit the test is asked for.
  std::optional<Limit<EmissionRate>> emission_high;
  std::optional<Limit<CarbideMoisture>> carbide_high;
  bool operator==(const SlabRequirements&) const = default;
};

struct FloorRequirements {
  Limit<Celsius> temperature_low{Celsius{17.0}, kCommonPractice};
  Limit<Celsius> temperature_high{Celsius{23.0}, kCommonPractice};
  Limit<RelativeHumidity> rh_low{RelativeHumidity{0.45}, kCommonPractice};
  Limit<RelativeHumidity> rh_high{RelativeHumidity{0.60}, kCommonPractice};
  Limit<Micros> dwell{base::micros_from_hours(48), kCommonPractice};
  Limit<Micros> longest_interval{base::micros_from_hours(0.75), kCommonPractice};
  Limit<Micros> grace{base::micros_from_hours(0.25), kCommonPractice};
  Limit<Micros> excursion_budget{base::micros_from_hours(1), kCommonPractice};
  Limit<Micros> longest_unknown{base::micros_from_hours(4), kCommonPractice};
  bool cumulative = false;
  Limit<base::KelvinDelta> core_within{base::KelvinDelta{1.0}, kCommonPractice};  // of 3-h mean air
  Limit<base::KelvinDelta> condensation_margin{base::KelvinDelta{3.0}, kCommonPractice};
  Limit<DecisionRule> decision{DecisionRule::simple, kCommonPractice};
  Limit<double> unknown_share{0.10, kCommonPractice};              // of the dwell run, fraction
  std::optional<Limit<base::MoistureContent>> wood_subfloor_high;  // nullopt = not asked for
  std::optional<SlabRequirements> slab;  // nullopt = no mineral slab under this floor
  bool core_probe_required = true;
  std::vector<SiteGate> site_gates = all_site_gates();
  FlatnessLimit flatness;
  bool operator==(const FloorRequirements&) const = default;
};

// Standard uncertainties of the room air; nullopt = nothing says how accurate that sensor is.
struct AirUncertainty {
  std::optional<base::KelvinDelta> temperature;
  std::optional<RelativeHumidity> rh;
};

// What became of the guard that the decision rule asks for.
enum class GuardState : std::uint8_t {
  none,              // simple decisions
  drawn_in,          // the band is narrower by it
  accuracy_unknown,  // it can't be computed
  nothing_left,      // the sensors are too uncertain for this band
};
[[nodiscard]] GuardState guard_state_from(const FloorRequirements& requirements,
                                          const AirUncertainty& air);

// The band is drawn in where the guard state says so; otherwise it is the plain one.
[[nodiscard]] DwellPolicy dwell_policy_from(const FloorRequirements& requirements,
                                            const AirUncertainty& air);

}  // namespace analysis::readiness
