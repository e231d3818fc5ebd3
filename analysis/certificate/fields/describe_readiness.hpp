// The members of what readiness decides on and finds, as the certificate holds them. Templates over
// FieldWriter and FieldReader; for fact_fields.cpp.
#pragma once

#include <array>
#include <string>

#include "analysis/certificate/fields/field_io.hpp"
#include "analysis/readiness/room_replay.hpp"

namespace analysis::certificate {

inline constexpr std::array kVerdictNames = {
    EnumName{readiness::Verdict::ready, "ready"},
    EnumName{readiness::Verdict::not_ready, "not_ready"},
    EnumName{readiness::Verdict::cannot_tell, "cannot_tell"},
};
inline constexpr std::array kGateStateNames = {
    EnumName{readiness::GateState::met, "met"},
    EnumName{readiness::GateState::not_met, "not_met"},
    EnumName{readiness::GateState::unknown, "unknown"},
};

inline constexpr std::array kDecisionRuleNames = {
    EnumName{readiness::DecisionRule::simple, "simple"},
    EnumName{readiness::DecisionRule::guarded, "guarded"},
};

inline constexpr std::array kStackBottomNames = {
    EnumName{physics::StackBottom::on_floor, "on_floor"},
    EnumName{physics::StackBottom::on_battens, "on_battens"},
};

// Member functions as values, for FieldWriter::optional.
inline constexpr auto kTime = [](auto& io, const std::string& key, auto& value) {
  io.time(key, value);
};
inline constexpr auto kComputedTime = [](auto& io, const std::string& key, auto& value) {
  io.computed_time(key, value);
};
inline constexpr auto kSeconds = [](auto& io, const std::string& key, auto& value) {
  io.seconds(key, value);
};
inline constexpr auto kNumber = [](auto& io, const std::string& key, auto& value) {
  io.number(key, value);
};
inline constexpr auto kComputedBound = [](auto& io, const std::string& key, auto& value) {
  io.computed_bound(key, value);
};

// The same for a value that is an object of its own.
template <class Describe>
constexpr auto in_object(Describe describe) {
  return [describe](auto& outer, const std::string& key, auto& value) {
    outer.object(key, value, describe);
  };
}

template <class Io>
void describe_role(Io& io, base::ChannelRole& role) {
  std::string name(base::name_of(role));
  io.text("role", name);
  if (const auto read = base::role_from_name(name)) {
    role = *read;
  }
  io.derived_text("unit", base::file_unit_of(role));
}

template <class Io>
void describe_range(Io& io, base::TimeRange& range) {
  io.time("from", range.from);
  io.time("to", range.to);
}

template <class Io, class T>
void describe_limit(Io& io, const char* name, readiness::Limit<T>& limit, const char* unit_key) {
  io.object(name, limit, [unit_key](auto& inner, auto& l) {
    if constexpr (std::is_same_v<T, base::Micros>) {
      inner.seconds(unit_key, l.value);
    } else {
      inner.number(unit_key, l.value);
    }
    inner.text("source", l.source);
  });
}

template <class Io>
void describe_site_gate(Io& io, const std::string& key, readiness::SiteGate& gate) {
  std::string name(readiness::name_of(gate));
  io.text(key, name);
  if (const auto read = readiness::site_gate_from_name(name)) {
    gate = *read;
  }
}

template <class Io>
void describe_slab_requirements(Io& io, readiness::SlabRequirements& slab) {
  describe_limit(io, "rh_high", slab.rh_high, "rh_fraction");
  describe_limit(io, "settle", slab.settle, "s");
  describe_limit(io, "averaging", slab.averaging, "s");
  describe_limit(io, "minimum_age", slab.minimum_age, "s");
  const auto describe_test_limit = [](const char* unit_key) {
    return [unit_key](auto& outer, const std::string& key, auto& limit) {
      describe_limit(outer, key.c_str(), limit, unit_key);
    };
  };
  io.optional("probes_at_least", slab.probes_at_least, in_object([](auto& inner, auto& limit) {
                inner.integer("probes", limit.value);
                inner.text("source", limit.source);
              }));
  io.optional("service_conditions", slab.service_conditions, describe_test_limit("s"));
  io.optional("emission_high", slab.emission_high, describe_test_limit("kg_per_m2_day"));
  io.optional("carbide_high", slab.carbide_high, describe_test_limit("fraction"));
}

template <class Io>
void describe_requirements(Io& io, readiness::FloorRequirements& r) {
  describe_limit(io, "temperature_low", r.temperature_low, "celsius");
  describe_limit(io, "temperature_high", r.temperature_high, "celsius");
  describe_limit(io, "rh_low", r.rh_low, "rh_fraction");
  describe_limit(io, "rh_high", r.rh_high, "rh_fraction");
  describe_limit(io, "dwell", r.dwell, "s");
  describe_limit(io, "longest_interval", r.longest_interval, "s");
  describe_limit(io, "grace", r.grace, "s");
  describe_limit(io, "excursion_budget", r.excursion_budget, "s");
  describe_limit(io, "longest_unknown", r.longest_unknown, "s");
  io.flag("cumulative", r.cumulative);
  describe_limit(io, "core_within", r.core_within, "k");
  describe_limit(io, "condensation_margin", r.condensation_margin, "k");
  describe_limit(io, "unknown_share", r.unknown_share, "fraction");
  io.object("decision", r.decision, [](auto& inner, auto& d) {
    inner.named("rule", d.value,
                std::span<const EnumName<readiness::DecisionRule>>(kDecisionRuleNames));
    inner.text("source", d.source);
  });
  io.optional("wood_subfloor_high", r.wood_subfloor_high,
              [](auto& outer, const std::string& key, auto& limit) {
                describe_limit(outer, key.c_str(), limit, "kg_per_kg");
              });
  io.optional("slab", r.slab,
              in_object([](auto& inner, auto& s) { describe_slab_requirements(inner, s); }));
  io.flag("core_probe_required", r.core_probe_required);
  io.list("site_gates", r.site_gates,
          [](auto& inner, auto& gate) { describe_site_gate(inner, "gate", gate); });
  io.later_object("flatness", r.flatness, readiness::FlatnessLimit{}, [](auto& inner, auto& limit) {
    inner.number("within_mm", limit.within_mm);
    inner.number("straightedge_m", limit.straightedge_m);
    inner.text("source", limit.source);
  });
}

template <class Io>
void describe_temperature(Io& io, const std::string& name, std::optional<base::Celsius>& value) {
  io.optional(name + "_celsius", value, [](auto& inner, const std::string& key, auto& v) {
    double celsius = v.value();
    inner.computed(key, celsius);
    v = base::Celsius{celsius};
  });
}

template <class Io>
void describe_rh(Io& io, const std::string& name, std::optional<base::RelativeHumidity>& value) {
  io.optional(name + "_percent_rh", value, [](auto& inner, const std::string& key, auto& v) {
    double percent = base::percent_from_rh(v);
    inner.computed(key, percent);
    v = base::rh_from_percent(percent);
  });
}

template <class Io>
void describe_dwell(Io& io, readiness::DwellState& d) {
  io.computed("in_band_s", d.in_band_seconds);
  io.computed("excursion_s", d.excursion_seconds);
  io.computed("pending_unknown_s", d.pending_unknown_seconds);
  io.computed("excursion_sum_s", d.excursion_sum_seconds);
  io.computed("unknown_run_s", d.unknown_run_seconds);
  io.computed("total_in_s", d.total_in_seconds);
  io.computed("total_out_s", d.total_out_seconds);
  io.computed("total_unknown_s", d.total_unknown_seconds);
  io.optional("done_at", d.done_at, kComputedTime);
  io.optional("first_at", d.first_at, kTime);
  io.optional("run_started_at", d.run_started_at, kComputedTime);
  io.optional("last_reading", d.previous, [](auto& outer, const std::string& key, auto& sample) {
    outer.object(key, sample, [](auto& inner, auto& s) {
      inner.time("at", s.at);
      describe_temperature(inner, "temperature", s.temperature);
      describe_rh(inner, "rh", s.rh);
    });
  });
  io.flag("counting", d.counting);
  describe_temperature(io, "run_temperature_min", d.run_temperature_min);
  describe_temperature(io, "run_temperature_max", d.run_temperature_max);
  describe_rh(io, "run_rh_min", d.run_rh_min);
  describe_rh(io, "run_rh_max", d.run_rh_max);
  io.integer("rejected", d.rejected);
  io.integer("resets", d.resets);
}

template <class Io>
void describe_excursion(Io& io, readiness::Excursion& e) {
  io.computed_time("from", e.range.from);
  io.computed_time("to", e.range.to);
  describe_role(io, e.role);
  io.computed("worst", e.worst);
}

// The wording of the gates stands in fields of its own: it may name persons.
template <class Io>
void describe_assessment(Io& io, readiness::RoomAssessment& a) {
  io.time("at", a.at);
  io.named("verdict", a.verdict, std::span<const EnumName<readiness::Verdict>>(kVerdictNames));
  io.list("gates", a.gates, [](auto& inner, auto& gate) {
    inner.text("id", gate.id);
    inner.named("state", gate.state,
                std::span<const EnumName<readiness::GateState>>(kGateStateNames));
    inner.optional("wrong_probability", gate.wrong_probability, kComputedBound);
  });
  io.optional("wrong_ready_probability", a.wrong_ready_probability, kComputedBound);
  io.computed("dwell_done_h", a.dwell_done_hours);
  io.computed("dwell_left_h", a.dwell_left_hours);
  io.optional("dwell_done_at", a.dwell_done_at, kComputedTime);
  io.optional("dwell_expected_at", a.dwell_expected_at, kComputedTime);
  double unknown_share_percent = 100.0 * a.unknown_share;
  io.computed("unknown_share_percent", unknown_share_percent);
  a.unknown_share = unknown_share_percent / 100.0;
}

}  // namespace analysis::certificate
