// Follows the core of a stack of cartons from its delivery on, reading by reading, until it has
// warmed through, and takes it up again when the room moves away. Pure and deterministic: the same
// readings in the same order give the same answer however they are cut into calls. O(1) memory. One
// tracker is used by one thread. Does not judge: the gate that does must look at the hours of
// unknown air as well. Heat only: moisture hardly moves within cartons in days.
//
// The material is uncertain, so five sets of parameters from fast to slow are stepped side by side;
// every answer is a range. A probe in the core replaces the computed temperature and narrows the
// range. Air across a gap is estimated by the straight line and counted as unknown; nothing is
// found warm while the air is unknown.
//
// Warm = the core has come within `within` of the mean of the air over the last 3 h and has not
// been more than `away` from it since; never said in the first 3 h after arming. When every set has
// been warm for the slowest time constant of the stack (or has forgotten all air that was known)
// the fields are dropped and one number follows the air with that time constant. When that (or a
// fresh probe) is more than `away` from the air's mean, the tracker arms anew with a stack of that
// temperature throughout.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/physics/stack/stack_heat.hpp"
#include "analysis/readiness/stack/air_steps.hpp"
#include "analysis/readiness/stack/probe_misfit.hpp"

namespace analysis::readiness {

using base::KelvinDelta;

// Defaults are our assumptions; every one is set per job. within < away, so that a stack at the
// limit does not arm again at once.
struct StackTrackerPolicy {
  KelvinDelta within{1.0};
  KelvinDelta away{2.0};
  Micros longest_interval = base::micros_from_hours(0.75);  // longer between readings = unknown
  bool operator==(const StackTrackerPolicy&) const = default;
};

// nullopt = that channel gave nothing usable at that time. A value outside kColdestStack..
// kWarmestStack or not finite counts as none.
struct StackSample {
  UtcMicros at;
  std::optional<Celsius> air{};
  std::optional<Celsius> core{};
};

// The mean of the air over the last 12 steps.
struct AirMean {
  static constexpr std::size_t kSteps = 12;
  std::array<double, kSteps> celsius{};  // of each step, the oldest overwritten next
  std::size_t count = 0;                 // steps so far
  bool operator==(const AirMean&) const = default;
};

// The moment from which the fields run, with all that a replay from there needs.
struct StackArming {
  UtcMicros at;
  Celsius temperature;      // throughout the stack
  std::int64_t number = 1;  // 1 = the delivery
  std::optional<TemperatureReading> air_before{};
  std::optional<TemperatureReading> core_before{};
  double unknown_felt_s = 0.0;
  ProbeMisfit misfit{};
  bool operator==(const StackArming&) const = default;
};

// Small and copyable. The fields are not in it: see StackTracker::resume.
struct StackTrackerState {
  StackArming arming;
  AirPath air{};
  AirMean air_mean{};
  Micros unknown{0};                  // air estimated since the arming
  double unknown_felt_s = 0.0;        // the same since the delivery, forgotten as the stack does
  std::optional<Celsius> follower{};  // set once the fields are gone
  std::array<std::optional<UtcMicros>, kStackSets> warm_at{};
  std::optional<UtcMicros> measured_warm_at{};
  std::optional<TemperatureReading> core{};  // last of the probe
  std::optional<TemperatureReading> core_to_compare{};
  UtcMicros next_comparison{};
  ProbeMisfit misfit{};
  bool operator==(const StackTrackerState&) const = default;
};

// For one set of parameters, or for the probe where that is fresh.
struct StackCore {
  Celsius temperature;
  std::optional<UtcMicros> warm_at{};  // since when it is warm
  bool operator==(const StackCore&) const = default;
};

struct StackResult {
  UtcMicros at;               // end of the air read so far
  StackCore fast, mid, slow;  // all three the probe's where `measured`
  bool measured = false;      // the probe's last reading is within longest_interval of `at`
  bool following = false;     // the fields are gone: the core is one number for all sets
  UtcMicros armed_at;
  std::int64_t arming_number = 1;
  std::optional<Celsius> air_mean{};  // over the last 3 h; nullopt in the first 3 h after arming
  Micros unknown_air{0};              // estimated across gaps, since the arming
  // Estimated since the delivery, forgotten with the slowest time constant of the stack, as the
  // stack forgets it: what still makes the temperatures doubtful.
  Micros unknown_air_felt{0};
  bool operator==(const StackResult&) const = default;
};

// Until the core is within the limit if the air stays at its mean of the last 3 h; nullopt = beyond
// the horizon.
struct StackTimeToWarm {
  std::optional<Micros> fast, mid, slow;
};

class StackTracker {
 public:
  // `delivery`: when the stack came into the room and how warm it was throughout. Errors of
  // check_stack; temperature_out_of_domain (delivery, or not 0 < within < away);
  // duration_out_of_domain (longest_interval not positive).
  [[nodiscard]] static base::Result<StackTracker, physics::DomainError> start(
      const physics::StackGeometry& geometry, const TemperatureReading& delivery,
      const StackTrackerPolicy& policy);

  // Goes on from a saved state. While the fields run they have to be made again: the state goes
  // back to the arming and the caller adds every sample from needs_samples_from() on, about 3 ms a
  // day of them. Once the fields are gone only newer samples are needed. Either way the outcome is
  // bit for bit that of a tracker that never stopped.
  [[nodiscard]] static base::Result<StackTracker, physics::DomainError> resume(
      const physics::StackGeometry& geometry, const StackTrackerState& state,
      const StackTrackerPolicy& policy);
  [[nodiscard]] UtcMicros needs_samples_from() const;

  // Samples in the order of time; per channel a reading that is not later than the one before is
  // left out. Cost: five substeps of the field per 15 min, about 30 us (tests/benchmarks).
  void add(const StackSample& sample);

  [[nodiscard]] StackResult result() const;
  // nullopt when no air has been read yet. A fresh probe within the limit counts as warm; otherwise
  // the fields are taken as they are, not moved to the probe. Cost: one substep per 15 min and set.
  [[nodiscard]] std::optional<StackTimeToWarm> time_to_warm(
      Micros horizon = base::micros_from_hours(24.0 * 60.0)) const;

  [[nodiscard]] const StackTrackerState& state() const { return state_; }

 private:
  StackTracker(const physics::StackGeometry& geometry, const StackTrackerPolicy& policy,
               Micros slowest);
  [[nodiscard]] static base::Result<StackTracker, physics::DomainError> unarmed(
      const physics::StackGeometry& geometry, const StackTrackerPolicy& policy);
  void arm(const StackArming& arming);
  void add_core(const TemperatureReading& reading);
  void take(const AirStep& step);
  void warm(const AirStep& step);
  void follow(const AirStep& step);
  void compare(const AirStep& step, const std::array<Celsius, kStackSets>& before);
  void note_warm(UtcMicros at);
  void drop_fields_when_settled(UtcMicros at);
  [[nodiscard]] std::array<Celsius, kStackSets> cores() const;
  void note_one(std::optional<UtcMicros>& warm_at, KelvinDelta distance, UtcMicros at) const;
  [[nodiscard]] std::optional<Celsius> fresh_core(UtcMicros at) const;

  physics::StackGeometry geometry_;
  StackTrackerPolicy policy_;
  Micros slowest_;       // time constant of the slow set
  double follow_share_;  // of the distance that the follower covers in one step
  StackTrackerState state_;
  std::vector<physics::StackField> fields_;  // one a set; empty when following
};

}  // namespace analysis::readiness
