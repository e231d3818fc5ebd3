#include <algorithm>
#include <string>

#include "analysis/base/day_end.hpp"
#include "logger/app/job/reader/job_parts.hpp"

namespace logger::app {
namespace {

using analysis::base::Celsius;
using analysis::base::ChannelRole;
using analysis::base::KelvinDelta;
using analysis::base::Kilograms;
using analysis::base::Megapascals;
using analysis::base::Metres;
using analysis::base::RelativeHumidity;
using analysis::base::rh_from_percent;
using analysis::readiness::ChannelScale;
using analysis::readiness::FloorRequirements;
using analysis::readiness::Limit;
using analysis::readiness::SlabRequirements;

Micros micros_from_minutes(double minutes) {
  return analysis::base::micros_from_hours(minutes / 60.0);
}
Micros micros_from_days(double days) { return analysis::base::micros_from_hours(days * 24.0); }

// Sets `into` when the key is there; otherwise its default stays.
template <class T>
void put(std::optional<T> value, T& into) {
  if (value) {
    into = std::move(*value);
  }
}
void put_whole(std::optional<std::uint64_t> value, int& into) {
  if (value) {
    into = static_cast<int>(*value);
  }
}
// The same for a number of which the key's name says what it is.
template <class Make, class T>
void put_as(Make make, const ObjectView& view, std::string_view key, T& into) {
  if (const auto value = view.number(key)) {
    into = make(*value);
  }
}

// A group of limits with the one source it names. A limit that is not written keeps the default and
// the default's source.
class LimitGroup {
 public:
  explicit LimitGroup(ObjectView view) : view_(view), source_(view.text("source").value_or("")) {}

  template <class T, class Convert>
  void put(std::string_view key, Convert convert, Limit<T>& into) const {
    if (const auto value = view_.number(key)) {
      into = {convert(*value), source_};
    }
  }
  // A limit that there is only when it is written.
  template <class T, class Convert>
  void put(std::string_view key, Convert convert, std::optional<Limit<T>>& into) const {
    if (view_.number(key)) {
      put(key, convert, into.emplace());
    }
  }
  [[nodiscard]] const ObjectView& view() const { return view_; }

 private:
  ObjectView view_;
  std::string source_;
};

template <class Unit>
Unit quantity(double value) {
  return Unit{value};
}
analysis::readiness::EmissionRate emission_from_grams(double value) {
  return analysis::readiness::EmissionRate{value / 1000.0};
}
double fraction_from_percent(double value) { return value / 100.0; }
analysis::base::MoistureContent moisture_from_percent(double value) {
  return analysis::base::MoistureContent{fraction_from_percent(value)};
}
int whole_from_number(double value) { return static_cast<int>(value); }

std::optional<SlabRequirements> slab_from(const ObjectView& requirements) {
  if (requirements.is_null("slab")) {
    return std::nullopt;
  }
  SlabRequirements slab;
  const LimitGroup group(requirements.object("slab"));
  group.put("rh_high_percent_rh", rh_from_percent, slab.rh_high);
  group.put("settle_hours", analysis::base::micros_from_hours, slab.settle);
  group.put("averaging_hours", analysis::base::micros_from_hours, slab.averaging);
  group.put("minimum_age_days", micros_from_days, slab.minimum_age);
  group.put("probes_at_least", whole_from_number, slab.probes_at_least);
  group.put("service_hours", analysis::base::micros_from_hours, slab.service_conditions);
  group.put("emission_high_g_per_m2_day", emission_from_grams, slab.emission_high);
  group.put("carbide_high_percent", analysis::readiness::carbide_from_percent, slab.carbide_high);
  return slab;
}

FloorRequirements requirements_from(const ObjectView& view) {
  FloorRequirements floor;
  const LimitGroup temperature(view.object("temperature"));
  temperature.put("low_celsius", quantity<Celsius>, floor.temperature_low);
  temperature.put("high_celsius", quantity<Celsius>, floor.temperature_high);
  const LimitGroup rh(view.object("rh"));
  rh.put("low_percent_rh", rh_from_percent, floor.rh_low);
  rh.put("high_percent_rh", rh_from_percent, floor.rh_high);
  const LimitGroup dwell(view.object("dwell"));
  dwell.put("hours", analysis::base::micros_from_hours, floor.dwell);
  put(dwell.view().boolean("cumulative"), floor.cumulative);
  const LimitGroup interruptions(view.object("interruptions"));
  interruptions.put("longest_interval_minutes", micros_from_minutes, floor.longest_interval);
  interruptions.put("grace_minutes", micros_from_minutes, floor.grace);
  interruptions.put("excursion_budget_minutes", micros_from_minutes, floor.excursion_budget);
  interruptions.put("longest_unknown_hours", analysis::base::micros_from_hours,
                    floor.longest_unknown);
  const LimitGroup core(view.object("stack_core"));
  core.put("within_kelvin", quantity<KelvinDelta>, floor.core_within);
  put(core.view().boolean("probe_required"), floor.core_probe_required);
  floor.slab = slab_from(view);
  LimitGroup(view.object("wood_subfloor"))
      .put("moisture_high_percent", moisture_from_percent, floor.wood_subfloor_high);
  LimitGroup(view.object("condensation"))
      .put("margin_kelvin", quantity<KelvinDelta>, floor.condensation_margin);
  const ObjectView decision = view.object("decision");
  if (const auto rule =
          analysis::readiness::decision_rule_from_name(decision.text("rule").value_or(""))) {
    floor.decision = {*rule, decision.text("source").value_or("")};
  }
  LimitGroup(view.object("evidence"))
      .put("unknown_share_percent", fraction_from_percent, floor.unknown_share);
  if (view.has("site_gates")) {
    floor.site_gates.clear();
    for (const JsonNode& item : view.items("site_gates")) {
      if (const auto gate = analysis::readiness::site_gate_from_name(item.text)) {
        floor.site_gates.push_back(*gate);
      }
    }
  }
  return floor;
}

// A quantity of which the key holds `scale` times the SI value: metres_from(view, "gap_mm", 1000).
std::optional<Metres> metres_from(const ObjectView& view, std::string_view key, double scale) {
  const auto value = view.number(key);
  return value ? std::optional(Metres{*value / scale}) : std::nullopt;
}
constexpr double kMillimetres = 1000.0;

std::optional<JobStack> stack_from(const ObjectView& view) {
  if (!view.present()) {
    return std::nullopt;
  }
  JobStack stack;
  put(metres_from(view, "carton_length_m", 1.0), stack.carton_length);
  put(metres_from(view, "carton_width_m", 1.0), stack.carton_width);
  put(metres_from(view, "carton_height_m", 1.0), stack.carton_height);
  put_whole(view.whole_number("cartons_high"), stack.cartons_high);
  put_whole(view.whole_number("cartons_wide"), stack.cartons_wide);
  put_whole(view.whole_number("stacks"), stack.stacks);
  stack.on_battens = view.text("bottom") == "battens";
  put_as(quantity<Kilograms>, view, "carton_mass_kg", stack.carton_mass);
  if (const auto wrap = view.text("wrap")) {
    using analysis::physics::CartonWrap;
    stack.wrap = *wrap == "film_closed"      ? CartonWrap::film_closed
                 : *wrap == "film_open_ends" ? CartonWrap::film_open_ends
                                             : CartonWrap::cardboard_only;
  }
  put_as(fraction_from_percent, view, "board_low_share_percent", stack.board.low_share);
  put_as(fraction_from_percent, view, "board_high_share_percent", stack.board.high_share);
  stack.board.expected_share = std::clamp(stack.board.expected_share, stack.board.low_share,
                                          std::max(stack.board.low_share, stack.board.high_share));
  return stack;
}

std::optional<JobSlabBuild> slab_build_from(const ObjectView& view) {
  if (!view.present()) {
    return std::nullopt;
  }
  JobSlabBuild slab;
  put(metres_from(view, "thickness_mm", kMillimetres), slab.thickness);
  slab.two_sided = view.text("drying") == "two_sides";
  slab.barrier_below = view.boolean("barrier_below");
  slab.drying_from = view.moment("drying_from", DayReading::its_end);
  slab.probe_depth = metres_from(view, "probe_depth_mm", kMillimetres);
  put_as(quantity<Megapascals>, view, "strength_mpa", slab.strength);
  return slab;
}

std::optional<JobAir> air_from(const ObjectView& view) {
  if (!view.present()) {
    return std::nullopt;
  }
  JobAir air;
  air.volume = analysis::base::CubicMetres{view.number("volume_m3").value_or(0.0)};
  put_as(quantity<analysis::base::AirChangesPerHour>, view, "air_changes_per_hour",
         air.air_changes);
  return air;
}

std::optional<JobMovement> movement_from(const ObjectView& view) {
  if (!view.present()) {
    return std::nullopt;
  }
  JobMovement movement;
  put(metres_from(view, "width_m", 1.0), movement.width);
  put(metres_from(view, "gap_mm", kMillimetres), movement.gap);
  movement.service_low = rh_from_percent(view.number("service_low_percent_rh").value_or(0.0));
  movement.service_high = rh_from_percent(view.number("service_high_percent_rh").value_or(0.0));
  put_as(fraction_from_percent, view, "expansion_50_to_80_rh_percent",
         movement.expansion_50_to_80_fraction);
  put(view.boolean("pinned_one_side"), movement.pinned_one_side);
  put(view.text("source"), movement.source);
  return movement;
}

analysis::readiness::ServiceClimate service_from(const ObjectView& view) {
  analysis::readiness::ServiceClimate service;
  put_as(quantity<Celsius>, view, "temperature_low_celsius", service.temperature_low);
  put_as(quantity<Celsius>, view, "temperature_high_celsius", service.temperature_high);
  put_as(rh_from_percent, view, "rh_low_percent_rh", service.rh_low);
  put_as(rh_from_percent, view, "rh_high_percent_rh", service.rh_high);
  put(view.text("source"), service.source);
  return service;
}

JobRoom room_from(const JsonNode& node) {
  const ObjectView view(&node);
  JobRoom room;
  put(view.text("id"), room.id);
  put(view.text("name"), room.name);
  put(view.number("floor_area_m2"), room.floor_area_m2);
  put(view.text("floor_product"), room.floor_product);
  room.slab_poured_at = view.moment("slab_poured_at", DayReading::its_end);
  room.requirements = requirements_from(view.object("requirements"));
  if (const auto kind = view.text("subfloor_kind")) {
    room.subfloor_kind = analysis::readiness::subfloor_kind_from_name(*kind);
  }
  room.stack = stack_from(view.object("stack"));
  room.slab_build = slab_build_from(view.object("slab_build"));
  room.air = air_from(view.object("air"));
  room.movement = movement_from(view.object("movement"));
  room.service = service_from(view.object("service"));
  return room;
}

// Plausible for a building site; outside of it a sensor is not believed. Common practice, no
// source.
ChannelScale default_scale(ChannelRole role) {
  const std::string_view unit = analysis::base::file_unit_of(role);
  if (unit == "percent_rh") {
    return {role, 0.01, 0.0, 100.0};
  }
  return unit == "volt" ? ChannelScale{role, 0.001, 0.0, 60.0}
                        : ChannelScale{role, 0.01, -40.0, 80.0};
}

// Of the room air, which never rests; our assumption.
constexpr Micros kFrozenAfter = analysis::base::micros_from_hours(3);

std::optional<analysis::readiness::SensorSpecification> specification_from(const ObjectView& view,
                                                                           ChannelRole role) {
  if (!view.present()) {
    return std::nullopt;
  }
  const std::string unit = std::string("_") + accuracy_unit_of(role);
  return analysis::readiness::SensorSpecification{
      view.number("limits" + unit).value_or(0.0),
      view.number("drift_per_year" + unit).value_or(0.0),
      view.number("placement" + unit).value_or(0.0), view.text("source").value_or("")};
}

JobChannel channel_from(const JsonNode& node) {
  const ObjectView view(&node);
  JobChannel channel;
  put_whole(view.whole_number("index"), channel.index);
  put(view.text("id"), channel.id);
  put(view.text("room"), channel.room_id);
  const auto role = analysis::base::role_from_name(view.text("role").value_or(""));
  channel.scale = default_scale(role.value_or(ChannelRole::room_air_temperature));
  put(view.number("units_per_count"), channel.scale.units_per_count);
  channel.source = register_from(view, channel.scale);
  if (const auto hours = view.number("frozen_after_hours")) {
    channel.scale.frozen_after = analysis::base::micros_from_hours(*hours);
  }
  const std::string unit(analysis::base::file_unit_of(channel.scale.role));
  put(view.number("low_" + unit), channel.scale.low);
  put(view.number("high_" + unit), channel.scale.high);
  channel.specification = specification_from(view.object("accuracy"), channel.scale.role);
  put(view.text("sensor_serial"), channel.sensor_serial);
  put(view.text("placement"), channel.placement);
  channel.placed_at = view.moment("placed_at", DayReading::its_end);
  channel.calibration_due_at = view.moment("calibration_due_at", DayReading::its_begin);
  put(view.text("csv_column"), channel.csv_column);
  put(view.text("csv_unit"), channel.csv_unit);
  return channel;
}

CsvLayout csv_from(const ObjectView& view) {
  CsvLayout csv;
  put(view.text("time_column"), csv.time_column);
  put(view.text("time_format"), csv.time_format);
  put(view.text("time_zone"), csv.time_zone);
  csv.separator = view.text("separator").value_or(",").front();
  csv.decimal = view.text("decimal").value_or(".").front();
  return csv;
}

JobBox box_from(const JsonNode& node) {
  const ObjectView view(&node);
  JobBox box;
  put(view.text("id"), box.id);
  put(view.whole_number("serial"), box.serial);
  put(view.text("port"), box.port);
  put_whole(view.whole_number("unit"), box.unit);
  put_whole(view.whole_number("baud"), box.baud);
  const auto parity = view.text("parity");
  box.parity = parity == "even"  ? ingest::Parity::even
               : parity == "odd" ? ingest::Parity::odd
                                 : ingest::Parity::none;
  put_whole(view.whole_number("stop_bits"), box.stop_bits);
  put(view.text("host"), box.host);
  put_whole(view.whole_number("tcp_port"), box.tcp_port);
  put_whole(view.whole_number("sample_interval_seconds"), box.sample_interval_s);
  if (view.has("registers")) {
    box.registers = registers_from(view.object("registers"));
  }
  if (view.has("csv")) {
    box.csv = csv_from(view.object("csv"));
  }
  for (const JsonNode& item : view.items("channels")) {
    JobChannel& channel = box.channels.emplace_back(channel_from(item));
    // A probe box gives room air in hundredths; of other devices nobody knows how fine they are.
    if (!box.csv && !box.registers && is_room_air(channel.scale.role) &&
        !channel.scale.frozen_after) {
      channel.scale.frozen_after = kFrozenAfter;
    }
  }
  return box;
}

JobAlerts alerts_from(const ObjectView& view) {
  JobAlerts alerts;
  for (const JsonNode& item : view.items("command")) {
    alerts.command.push_back(item.text);
  }
  put_whole(view.whole_number("command_timeout_seconds"), alerts.command_timeout_s);
  put_rules(view.object("rules"), alerts.settings);
  return alerts;
}

}  // namespace

const char* accuracy_unit_of(ChannelRole role) {
  const std::string_view unit = analysis::base::file_unit_of(role);
  return unit == "celsius" ? "kelvin" : unit == "percent_rh" ? "percent_rh" : "";
}

std::optional<UtcMicros> moment_from_text(std::string_view text, DayReading day) {
  constexpr std::size_t kDateLength = 10;  // "2026-03-01"
  if (text.size() != kDateLength) {
    return analysis::base::utc_from_rfc3339(text);
  }
  const auto midnight = analysis::base::utc_from_rfc3339(std::string(text) + "T00:00:00Z");
  return midnight && day == DayReading::its_end ? analysis::base::day_end_from(*midnight)
                                                : midnight;
}

Job job_from_tree(const JsonNode& root) {
  const ObjectView view(&root);
  Job job;
  const ObjectView about = view.object("job");
  put(about.text("name"), job.name);
  put(about.text("site_address"), job.site_address);
  put(about.text("installer"), job.installer);
  put(about.text("client"), job.client);
  job.altitude = metres_from(about, "altitude_m", 1.0);
  put_whole(view.whole_number("collect_every_seconds"), job.collect_every_s);
  for (const JsonNode& item : view.items("rooms")) {
    job.rooms.push_back(room_from(item));
  }
  for (const JsonNode& item : view.items("boxes")) {
    job.boxes.push_back(box_from(item));
  }
  job.alerts = alerts_from(view.object("alerts"));
  put_telling(view.object("alerts"), job.alerts);
  job.page = page_from(view.object("page"));
  job.status_pushes = status_pushes_from(view.items("status_pushes"));
  job.checkpoints = checkpoints_from(view.object("checkpoints"));
  return job;
}

}  // namespace logger::app
