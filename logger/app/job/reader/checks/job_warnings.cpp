#include <algorithm>
#include <cmath>

#include "analysis/readiness/slab/slab_tests.hpp"
#include "logger/app/job/reader/job_parts.hpp"
#include "logger/app/job/reader/keys/key_check.hpp"

namespace logger::app {
namespace {

using analysis::base::ChannelRole;
using analysis::base::hours_from;

// A limit that the job sets, beside the common-practice one.
struct Practice {
  std::string_view group;  // in requirements
  std::string_view key;
  double limit;
  bool at_least;  // common practice is at least that much; else at most
};

std::vector<Practice> practices_from(const analysis::readiness::FloorRequirements& common) {
  const analysis::readiness::SlabRequirements slab;
  const auto percent = [](const auto& rh) { return analysis::base::percent_from_rh(rh.value); };
  const auto hours = [](const auto& limit) { return hours_from(limit.value); };
  return {{"temperature", "low_celsius", common.temperature_low.value.value(), true},
          {"temperature", "high_celsius", common.temperature_high.value.value(), false},
          {"rh", "low_percent_rh", percent(common.rh_low), true},
          {"rh", "high_percent_rh", percent(common.rh_high), false},
          {"dwell", "hours", hours(common.dwell), true},
          {"interruptions", "longest_interval_minutes", hours(common.longest_interval) * 60, false},
          {"interruptions", "grace_minutes", hours(common.grace) * 60, false},
          {"interruptions", "excursion_budget_minutes", hours(common.excursion_budget) * 60, false},
          {"interruptions", "longest_unknown_hours", hours(common.longest_unknown), false},
          {"stack_core", "within_kelvin", common.core_within.value.value(), false},
          {"slab", "rh_high_percent_rh", percent(slab.rh_high), false},
          {"slab", "settle_hours", hours(slab.settle), true},
          {"slab", "averaging_hours", hours(slab.averaging), true},
          {"slab", "minimum_age_days", hours(slab.minimum_age) / 24, true},
          {"condensation", "margin_kelvin", common.condensation_margin.value.value(), true},
          {"evidence", "unknown_share_percent", common.unknown_share.value * 100, false}};
}

void warn_of_loose_limits(const ObjectView& requirements, const std::string& path,
                          Findings& findings) {
  for (const Practice& practice : practices_from({})) {
    const ObjectView group = requirements.object(practice.group);
    const auto value = group.number(practice.key);
    if (value && (practice.at_least ? *value < practice.limit : *value > practice.limit)) {
      findings.add_warning(
          group.line_of(practice.key), key_path(key_path(path, practice.group), practice.key),
          value_text(*value, practice.key) + " is looser than common practice (at " +
              (practice.at_least ? "least " : "most ") + value_text(practice.limit, practice.key) +
              ")");
    }
  }
  const ObjectView dwell = requirements.object("dwell");
  if (dwell.boolean("cumulative") == true) {
    findings.add_warning(dwell.line_of("cumulative"), key_path(path, "dwell.cumulative"),
                         "true is looser than common practice (hours in one run)");
  }
  const ObjectView core = requirements.object("stack_core");
  if (core.boolean("probe_required") == false) {
    findings.add_warning(core.line_of("probe_required"),
                         key_path(path, "stack_core.probe_required"),
                         "false is looser than common practice (a probe inside the stack)");
  }
}

void warn_of_missing_gates(const JobRoom& room, const ObjectView& requirements,
                           const std::string& path, Findings& findings) {
  if (!requirements.has("site_gates")) {
    return;  // then all of them
  }
  const std::vector<JsonNode>& chosen = requirements.items("site_gates");
  for (const auto gate : analysis::readiness::all_site_gates()) {
    const std::string_view name = analysis::readiness::name_of(gate);
    if (std::none_of(chosen.begin(), chosen.end(),
                     [name](const JsonNode& item) { return item.text == name; })) {
      findings.add_warning(requirements.line_of("site_gates"), key_path(path, "site_gates"),
                           std::string(name) + " is left out; common practice asks for it (" +
                               question_of(gate, room.requirements.flatness) + ")");
    }
  }
}

bool has_channel(const Job& job, const std::string& room_id, ChannelRole role) {
  return std::any_of(job.boxes.begin(), job.boxes.end(), [&](const JobBox& box) {
    return std::any_of(box.channels.begin(), box.channels.end(), [&](const JobChannel& channel) {
      return channel.room_id == room_id && channel.scale.role == role;
    });
  });
}

void warn_of_missing_channels(const Job& job, std::size_t index, int line, Findings& findings) {
  const JobRoom& room = job.rooms[index];
  const std::string path = item_path("rooms", index);
  if (room.requirements.slab && !has_channel(job, room.id, ChannelRole::slab_rh)) {
    findings.add_warning(
        line, path,
        "no slab_rh channel, so the verdict stays \"cannot tell\" until probes are "
        "read by hand (dwellog note rh-test); add one, or say \"slab\": null when "
        "the floor lies on no mineral slab");
  }
  if (room.requirements.slab && !has_channel(job, room.id, ChannelRole::slab_surface_temperature)) {
    findings.add_warning(
        line, path,
        "no slab_surface_temperature channel, so nobody can tell whether water "
        "condenses there and the verdict stays \"cannot tell\"; add a probe on the "
        "slab or subfloor");
  }
  if (room.requirements.core_probe_required &&
      !has_channel(job, room.id, ChannelRole::stack_core_temperature)) {
    findings.add_warning(line, path,
                         "no stack_core_temperature channel, so the verdict stays \"cannot "
                         "tell\"; put a probe inside the stack");
  }
}

void warn_of_probe_depth(const Job& job, std::size_t index, const ObjectView& view,
                         Findings& findings) {
  const JobRoom& room = job.rooms[index];
  if (!room.requirements.slab || !room.slab_build || !room.slab_build->probe_depth) {
    return;
  }
  const auto depth = analysis::readiness::rh_test_depth_from(room.slab_build->thickness,
                                                             room.slab_build->two_sided);
  const double away_mm =
      depth ? 1000.0 * (room.slab_build->probe_depth->value() - depth.value().value()) : 0.0;
  const double tolerance_mm = 1000.0 * analysis::readiness::RhTestRules{}.depth_tolerance.value();
  if (std::abs(away_mm) > tolerance_mm) {
    const ObjectView build = view.object("slab_build");
    findings.add_warning(
        build.line_of("probe_depth_mm"), key_path(item_path("rooms", index), "slab_build"),
        "probe_depth_mm: common practice is " +
            value_text(1000.0 * depth.value().value(), "probe_depth_mm") +
            " here (40 % of the thickness drying to one face, 20 % to two); readings at another "
            "depth are not comparable with the limit and give no forecast");
  }
}

// Guarded decisions need the accuracy of every sensor they decide by.
void warn_of_guarded_decisions(const Job& job, std::size_t index, int line, Findings& findings) {
  const JobRoom& room = job.rooms[index];
  if (room.requirements.decision.value != analysis::readiness::DecisionRule::guarded) {
    return;
  }
  std::string without;
  for (const JobBox& box : job.boxes) {
    for (const JobChannel& channel : box.channels) {
      if (channel.room_id == room.id && *accuracy_unit_of(channel.scale.role) != '\0' &&
          !channel.specification) {
        without += (without.empty() ? "" : ", ") + channel.id;
      }
    }
  }
  if (!without.empty()) {
    findings.add_warning(line, key_path(item_path("rooms", index), "requirements.decision"),
                         "guarded decisions need \"accuracy\" of " + without +
                             ", or a calibration noted before the delivery; else they stay "
                             "\"cannot tell\"");
  }
}

// Two transmitters that only their ports tell apart can be swapped without anyone noticing.
void warn_of_unidentified_transmitters(const Job& job, const ObjectView& root, Findings& findings) {
  for (std::size_t i = 0; i < job.boxes.size(); ++i) {
    const JobBox& box = job.boxes[i];
    const bool has_twin = std::any_of(job.boxes.begin(), job.boxes.end(), [&](const JobBox& other) {
      return &other != &box && other.registers && other.unit == box.unit;
    });
    if (box.registers && !box.registers->identity && has_twin) {
      const ObjectView view(&root.items("boxes")[i]);
      findings.add_warning(view.line_of("registers"), key_path(item_path("boxes", i), "registers"),
                           "another transmitter has unit " + std::to_string(box.unit) +
                               " too, so that swapped ports would go unnoticed; name an "
                               "\"identity\" register, or give each a unit of its own");
    }
  }
}

}  // namespace

void warn_about_job(const Job& job, const ObjectView& root, Findings& findings) {
  warn_of_unidentified_transmitters(job, root, findings);
  for (std::size_t i = 0; i < job.rooms.size(); ++i) {
    const ObjectView view(&root.items("rooms")[i]);
    const ObjectView requirements = view.object("requirements");
    const std::string path = key_path(item_path("rooms", i), "requirements");
    warn_of_loose_limits(requirements, path, findings);
    warn_of_missing_gates(job.rooms[i], requirements, path, findings);
    if (!findings.has_errors()) {  // else a channel may only be misspelt
      warn_of_missing_channels(job, i, view.line_of("id"), findings);
      warn_of_probe_depth(job, i, view, findings);
      warn_of_guarded_decisions(job, i, requirements.line_of("decision"), findings);
    }
  }
}

}  // namespace logger::app
