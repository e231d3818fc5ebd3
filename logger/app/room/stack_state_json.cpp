#include "logger/app/room/stack_state_json.hpp"

#include "logger/app/room/json_values.hpp"

// visit() is found by the namespace of its argument, which an unnamed namespace would hide.
namespace analysis::readiness {

template <class Member>
static void visit(TemperatureReading& r, Member member) {
  member("at_utc_us", r.at);
  member("celsius", r.temperature);
}

template <class Member>
static void visit(AirPath& p, Member member) {
  member("step_from_utc_us", p.step_from);
  member("reached_utc_us", p.reached);
  member("integral_kelvin_s", p.integral_kelvin_s);
  member("moment_kelvin_s2", p.moment_kelvin_s2);
  member("unknown_us", p.unknown);
  member("before", p.before);
  member("latest", p.latest);
}

template <class Member>
static void visit(AirMean& m, Member member) {
  member("celsius", m.celsius);
  member("count", m.count);
}

template <class Member>
static void visit(ProbeMisfit& m, Member member) {
  member("comparisons", m.comparisons);
  member("sum_kelvin", m.sum_kelvin);
  member("sum_kelvin2", m.sum_kelvin2);
}

template <class Member>
static void visit(StackArming& a, Member member) {
  member("at_utc_us", a.at);
  member("celsius", a.temperature);
  member("number", a.number);
  member("air_before", a.air_before);
  member("core_before", a.core_before);
  member("unknown_felt_s", a.unknown_felt_s);
  member("misfit", a.misfit);
}

template <class Member>
static void visit(StackTrackerState& s, Member member) {
  member("arming", s.arming);
  member("air", s.air);
  member("air_mean", s.air_mean);
  member("unknown_us", s.unknown);
  member("unknown_felt_s", s.unknown_felt_s);
  member("follower_celsius", s.follower);
  member("warm_at_utc_us", s.warm_at);
  member("measured_warm_at_utc_us", s.measured_warm_at);
  member("core", s.core);
  member("core_to_compare", s.core_to_compare);
  member("next_comparison_utc_us", s.next_comparison);
  member("misfit", s.misfit);
}

}  // namespace analysis::readiness

namespace logger::app {

using analysis::readiness::StackTrackerState;

nlohmann::json json_from_stack_state(const StackTrackerState& state) {
  return json_values::json_from(state);
}

StackTrackerState stack_state_from_json(const nlohmann::json& tree) {
  StackTrackerState state;
  json_values::read(tree, state);
  return state;
}

}  // namespace logger::app
