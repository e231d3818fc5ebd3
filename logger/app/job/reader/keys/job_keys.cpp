#include "logger/app/job/reader/keys/job_keys.hpp"

#include <array>
#include <vector>

#include "analysis/base/record.hpp"
#include "analysis/readiness/requirements.hpp"
#include "analysis/readiness/site/site_answers.hpp"
#include "logger/app/job/reader/keys/plan_keys.hpp"
#include "logger/app/job/reader/keys/rule_keys.hpp"
#include "logger/app/job/reader/keys/telling_keys.hpp"

namespace logger::app {

using namespace key_rules;

namespace {

constexpr double kLargestSerial = 18446744073709551616.0;  // 2^64 itself has no exact whole number
constexpr KeyRule kSource = text("source", kRequired);

constexpr KeyRule kTemperatureKeys[] = {number("low_celsius", kRequired, -10, 60),
                                        number("high_celsius", kRequired, -10, 60), kSource};
constexpr KeyRule kRhKeys[] = {number("low_percent_rh", kRequired, 5, 95),
                               number("high_percent_rh", kRequired, 5, 95), kSource};
constexpr KeyRule kDwellKeys[] = {number("hours", kRequired, 1, 2000), boolean("cumulative"),
                                  kSource};
constexpr KeyRule kInterruptionKeys[] = {number("longest_interval_minutes", kOptional, 1, 1440),
                                         number("grace_minutes", kOptional, 0, 1440),
                                         number("excursion_budget_minutes", kOptional, 0, 10080),
                                         number("longest_unknown_hours", kOptional, 0, 168),
                                         kSource};
constexpr KeyRule kStackCoreKeys[] = {boolean("probe_required"),
                                      number("within_kelvin", kOptional, 0.1, 20), kSource};
constexpr KeyRule kSlabKeys[] = {number("rh_high_percent_rh", kRequired, 30, 100),
                                 number("settle_hours", kOptional, 0, 1000),
                                 number("averaging_hours", kOptional, 1, 240),
                                 number("minimum_age_days", kOptional, 0, 3650),
                                 whole_number("probes_at_least", kOptional, 1, 1000),
                                 number("service_hours", kOptional, 0, 1000),
                                 number("emission_high_g_per_m2_day", kOptional, 1, 200),
                                 number("carbide_high_percent", kOptional, 0.1, 10),
                                 kSource};
constexpr KeyRule kWoodSubfloorKeys[] = {number("moisture_high_percent", kRequired, 4, 25),
                                         kSource};
constexpr KeyRule kCondensationKeys[] = {number("margin_kelvin", kRequired, 0, 20), kSource};
constexpr std::string_view kDecisionRules[] = {"simple", "guarded"};
constexpr KeyRule kDecisionKeys[] = {choice("rule", kRequired, kDecisionRules), kSource};
constexpr KeyRule kEvidenceKeys[] = {number("unknown_share_percent", kRequired, 0, 100), kSource};

constexpr ObjectKeys kTemperature{kTemperatureKeys};
constexpr ObjectKeys kRh{kRhKeys};
constexpr ObjectKeys kDwell{kDwellKeys};
constexpr ObjectKeys kInterruptions{kInterruptionKeys};
constexpr ObjectKeys kStackCore{kStackCoreKeys};
constexpr ObjectKeys kSlab{kSlabKeys};
constexpr ObjectKeys kWoodSubfloor{kWoodSubfloorKeys};
constexpr ObjectKeys kCondensation{kCondensationKeys};
constexpr ObjectKeys kEvidence{kEvidenceKeys};
constexpr ObjectKeys kDecision{kDecisionKeys};

constexpr std::string_view kWraps[] = {"film_closed", "film_open_ends", "cardboard_only"};
constexpr std::string_view kBottoms[] = {"floor", "battens"};
constexpr KeyRule kStackKeys[] = {number("carton_length_m", kRequired, 0.1, 3),
                                  number("carton_width_m", kRequired, 0.05, 1),
                                  number("carton_height_m", kRequired, 0.01, 0.5),
                                  whole_number("cartons_high", kRequired, 1, 40),
                                  whole_number("cartons_wide", kRequired, 1, 20),
                                  whole_number("stacks", kOptional, 1, 1000),
                                  choice("bottom", kOptional, kBottoms),
                                  number("carton_mass_kg", kOptional, 0.5, 100),
                                  choice("wrap", kOptional, kWraps),
                                  number("board_low_share_percent", kOptional, 10, 150),
                                  number("board_high_share_percent", kOptional, 10, 150)};
constexpr ObjectKeys kStack{kStackKeys};

constexpr std::string_view kDryingSides[] = {"one_side", "two_sides"};
constexpr KeyRule kSlabBuildKeys[] = {number("thickness_mm", kRequired, 20, 1000),
                                      choice("drying", kRequired, kDryingSides),
                                      boolean("barrier_below"),
                                      moment("drying_from"),
                                      number("strength_mpa", kOptional, 5, 100),
                                      number("probe_depth_mm", kOptional, 5, 1000)};
constexpr ObjectKeys kSlabBuild{kSlabBuildKeys};

constexpr KeyRule kAirKeys[] = {number("volume_m3", kRequired, 1, 1000000),
                                number("air_changes_per_hour", kOptional, 0.01, 30)};
constexpr ObjectKeys kAir{kAirKeys};

constexpr KeyRule kMovementKeys[] = {number("width_m", kRequired, 0.5, 100),
                                     number("gap_mm", kRequired, 0, 100),
                                     number("service_low_percent_rh", kRequired, 5, 95),
                                     number("service_high_percent_rh", kRequired, 5, 95),
                                     number("expansion_50_to_80_rh_percent", kOptional, 0.01, 2),
                                     boolean("pinned_one_side"),
                                     kSource};
constexpr ObjectKeys kMovement{kMovementKeys};

constexpr KeyRule kServiceKeys[] = {number("temperature_low_celsius", kOptional, -10, 60),
                                    number("temperature_high_celsius", kOptional, -10, 60),
                                    number("rh_low_percent_rh", kOptional, 5, 95),
                                    number("rh_high_percent_rh", kOptional, 5, 95), kSource};
constexpr ObjectKeys kService{kServiceKeys};

// Names that belong to another folder are asked for there, once.
std::span<const std::string_view> site_gate_names() {
  static const std::vector<std::string_view> names = [] {
    std::vector<std::string_view> all;
    for (const auto gate : analysis::readiness::all_site_gates()) {
      all.push_back(analysis::readiness::name_of(gate));
    }
    return all;
  }();
  return names;
}

std::span<const std::string_view> role_names() {
  static const std::vector<std::string_view> names = [] {
    std::vector<std::string_view> all;
    for (int value = 1; value < 256; ++value) {
      const auto role = static_cast<analysis::base::ChannelRole>(value);
      if (analysis::base::role_from_name(analysis::base::name_of(role)) == role) {
        all.push_back(analysis::base::name_of(role));
      }
    }
    return all;
  }();
  return names;
}

const ObjectKeys& requirement_keys() {
  static const std::array<KeyRule, 11> keys = {
      object("temperature", kOptional, kTemperature),
      object("rh", kOptional, kRh),
      object("dwell", kOptional, kDwell),
      object("interruptions", kOptional, kInterruptions),
      object("stack_core", kOptional, kStackCore),
      KeyRule{"slab", KeyKind::object_or_null, kOptional, 0, 0, {}, &kSlab},
      object("wood_subfloor", kOptional, kWoodSubfloor),
      object("condensation", kOptional, kCondensation),
      object("evidence", kOptional, kEvidence),
      object("decision", kOptional, kDecision),
      KeyRule{"site_gates", KeyKind::text_list, kOptional, 0, 20, site_gate_names(), nullptr}};
  static const ObjectKeys object_keys{keys};
  return object_keys;
}

constexpr KeyRule kFlatnessKeys[] = {
    number("within_mm", kOptional, 0.5, 20), text("within", kOptional),
    number("straightedge_m", kOptional, 0.5, 4), text("straightedge", kOptional), kSource};
constexpr ObjectKeys kFlatness{kFlatnessKeys};

const ObjectKeys& room_keys() {
  static const std::array<KeyRule, 14> keys = {
      identifier("id", kRequired),
      text("name", kRequired),
      number("floor_area_m2", kRequired, 0.1, 100000),
      text("floor_product", kRequired),
      moment("slab_poured_at"),
      choice("subfloor_kind", kOptional, analysis::readiness::subfloor_kind_names()),
      object("flatness", kOptional, kFlatness),
      object("stack", kOptional, kStack),
      object("slab_build", kOptional, kSlabBuild),
      object("air", kOptional, kAir),
      object("movement", kOptional, kMovement),
      object("service", kOptional, kService),
      object("plan", kOptional, kPlan),
      object("requirements", kOptional, requirement_keys())};
  static const ObjectKeys object_keys{keys};
  return object_keys;
}

constexpr std::string_view kCsvUnits[] = {"celsius", "fahrenheit", "percent_rh", "rh_fraction",
                                          "volt"};

constexpr KeyRule kAccuracyKeys[] = {number("limits_kelvin", kOptional, 0.001, 20),
                                     number("drift_per_year_kelvin", kOptional, 0, 20),
                                     number("placement_kelvin", kOptional, 0, 20),
                                     number("limits_percent_rh", kOptional, 0.01, 50),
                                     number("drift_per_year_percent_rh", kOptional, 0, 50),
                                     number("placement_percent_rh", kOptional, 0, 50),
                                     kSource};
constexpr ObjectKeys kAccuracy{kAccuracyKeys};

// How a transmitter's registers are to be read; its papers say it.
constexpr std::string_view kRegisterTypes[] = {"i16", "u16", "i32", "u32", "f32"};
constexpr std::string_view kWordOrders[] = {"high_first", "low_first"};
constexpr std::string_view kRegisterUnits[] = {"celsius",     "fahrenheit", "percent_rh",
                                               "rh_fraction", "volt",       "millivolt"};
constexpr std::string_view kSentinelStatuses[] = {"no_answer",    "open_circuit", "short_circuit",
                                                  "out_of_range", "warming_up",   "fault"};
constexpr double kLargestRaw = 4294967295.0;
constexpr KeyRule kSentinelKeys[] = {number("raw", kRequired, -kLargestRaw, kLargestRaw),
                                     choice("status", kRequired, kSentinelStatuses)};
constexpr ObjectKeys kSentinel{kSentinelKeys};
constexpr KeyRule kFunction = whole_number("function", kRequired, 3, 4);
constexpr KeyRule kAddress = whole_number("address", kRequired, 0, 65535);
constexpr KeyRule kRegisterType = choice("type", kRequired, kRegisterTypes);
constexpr KeyRule kWordOrder = choice("word_order", kOptional, kWordOrders);
constexpr KeyRule kRegisterKeys[] = {kFunction,
                                     kAddress,
                                     kRegisterType,
                                     kWordOrder,
                                     choice("unit", kRequired, kRegisterUnits),
                                     number("scale", kOptional, -1000, 1000),
                                     number("offset", kOptional, -100000, 100000),
                                     object_list("sentinels", kOptional, 20, kSentinel)};
constexpr ObjectKeys kRegister{kRegisterKeys};
constexpr KeyRule kIdentityKeys[] = {kFunction, kAddress, kRegisterType, kWordOrder,
                                     number("raw", kRequired, -kLargestRaw, kLargestRaw)};
constexpr ObjectKeys kIdentity{kIdentityKeys};
constexpr KeyRule kRegistersKeys[] = {
    whole_number("answer_within_milliseconds", kOptional, 20, 5000),
    object("identity", kOptional, kIdentity)};
constexpr ObjectKeys kRegisters{kRegistersKeys};

const ObjectKeys& channel_keys() {
  static const std::array<KeyRule, 20> keys = {whole_number("index", kRequired, 0, 7),
                                               identifier("id", kRequired),
                                               identifier("room", kOptional),
                                               choice("role", kRequired, role_names()),
                                               number("units_per_count", kOptional, 0.0001, 10),
                                               number("low_celsius", kOptional, -100, 200),
                                               number("high_celsius", kOptional, -100, 200),
                                               number("low_percent_rh", kOptional, 0, 100),
                                               number("high_percent_rh", kOptional, 0, 100),
                                               number("low_volt", kOptional, 0, 1000),
                                               number("high_volt", kOptional, 0, 1000),
                                               object("accuracy", kOptional, kAccuracy),
                                               text("sensor_serial", kOptional),
                                               text("placement", kOptional),
                                               moment("placed_at"),
                                               moment("calibration_due_at"),
                                               number("frozen_after_hours", kOptional, 0.25, 4),
                                               object("register", kOptional, kRegister),
                                               text("csv_column", kOptional),
                                               choice("csv_unit", kOptional, kCsvUnits)};
  static const ObjectKeys object_keys{keys};
  return object_keys;
}

constexpr std::string_view kSeparators[] = {",", ";", "\t", "|"};
constexpr std::string_view kDecimals[] = {".", ","};
constexpr KeyRule kCsvKeys[] = {
    text("time_column", kRequired), text("time_format", kOptional), text("time_zone", kOptional),
    choice("separator", kOptional, kSeparators), choice("decimal", kOptional, kDecimals)};
constexpr ObjectKeys kCsv{kCsvKeys};

constexpr std::string_view kParities[] = {"none", "even", "odd"};

const ObjectKeys& box_keys() {
  static const std::array<KeyRule, 13> keys = {
      identifier("id", kRequired),
      whole_number("serial", kOptional, 1, kLargestSerial),
      text("port", kOptional),
      whole_number("unit", kOptional, 1, 247),
      whole_number("baud", kOptional, 1200, 230400),
      choice("parity", kOptional, kParities),
      whole_number("stop_bits", kOptional, 1, 2),
      text("host", kOptional),
      whole_number("tcp_port", kOptional, 1, 65535),
      whole_number("sample_interval_seconds", kOptional, 1, 3600),
      object("registers", kOptional, kRegisters),
      object("csv", kOptional, kCsv),
      object_list("channels", kRequired, 8, channel_keys())};
  static const ObjectKeys object_keys{keys};
  return object_keys;
}

constexpr KeyRule kAlertKeys[] = {text_list("command", 50),
                                  whole_number("command_timeout_seconds", kOptional, 1, 600),
                                  optional_list("recipients", 20, kRecipient),
                                  object("mail_server", kOptional, kMailServer),
                                  object("mqtt_server", kOptional, kMqttServer),
                                  text("time_zone", kOptional),
                                  object("reminders", kOptional, kReminders),
                                  object("escalation", kOptional, kEscalation),
                                  object("digest", kOptional, kDigest),
                                  object("rules", kOptional, kRules)};
constexpr ObjectKeys kAlerts{kAlertKeys};

constexpr KeyRule kCheckpointKeys[] = {whole_number("every_hours", kOptional, 1, 168),
                                       text("time_stamp_url", kOptional),
                                       text("authority_certificates", kOptional)};
constexpr ObjectKeys kCheckpoints{kCheckpointKeys};

constexpr KeyRule kJobKeys[] = {text("name", kRequired), text("site_address", kRequired),
                                text("installer", kRequired), text("client", kOptional),
                                number("altitude_m", kOptional, -400, 5000)};
constexpr ObjectKeys kJob{kJobKeys};
constexpr std::string_view kFormats[] = {kJobFormat};

struct UnitEnd {
  std::string_view end;   // of a key
  std::string_view unit;  // for people; empty = a unit job.json does not use
};
// A longer end before one that it ends with.
constexpr UnitEnd kUnitEnds[] = {{"_percent_rh", "%RH"},
                                 {"_celsius", "°C"},
                                 {"_kelvin", "K"},
                                 {"_percent", "%"},
                                 {"_hours", "h"},
                                 {"_minutes", "min"},
                                 {"_milliseconds", "ms"},
                                 {"_seconds", "s"},
                                 {"_days", "d"},
                                 {"_kg_per_m2", "kg/m²"},
                                 {"_m2", "m²"},
                                 {"_m3", "m³"},
                                 {"_per_hour", "1/h"},
                                 {"_g_per_m2_day", "g/m² in 24 h"},
                                 {"_mm", "mm"},
                                 {"_m", "m"},
                                 {"_kg", "kg"},
                                 {"_mpa", "MPa"},
                                 {"_volt", "V"},
                                 {"_mb", "MB"},
                                 {"_fahrenheit", ""},
                                 {"_deg_c", ""},
                                 {"_degc", ""},
                                 {"_c", ""},
                                 {"_f", ""},
                                 {"_k", ""},
                                 {"_pct", ""},
                                 {"_rh", ""},
                                 {"_h", ""},
                                 {"_hrs", ""},
                                 {"_min", ""},
                                 {"_mins", ""},
                                 {"_s", ""},
                                 {"_sec", ""},
                                 {"_ms", ""},
                                 {"_weeks", ""},
                                 {"_sqm", ""},
                                 {"_cm", ""},
                                 {"_ft", ""},
                                 {"_inch", ""},
                                 {"_lb", ""},
                                 {"_psi", ""},
                                 {"_ft2", ""},
                                 {"_sqft", ""},
                                 {"_v", ""},
                                 {"_volts", ""}};

const UnitEnd* unit_end_of(std::string_view key) {
  for (const UnitEnd& entry : kUnitEnds) {
    if (key.ends_with(entry.end) || key == entry.end.substr(1)) {
      return &entry;
    }
  }
  return nullptr;
}

}  // namespace

const ObjectKeys& job_file_keys() {
  static const std::array<KeyRule, 9> keys = {
      choice("format", kRequired, kFormats),
      object("job", kRequired, kJob),
      whole_number("collect_every_seconds", kOptional, 5, 86400),
      object_list("rooms", kRequired, 100, room_keys()),
      object_list("boxes", kRequired, 100, box_keys()),
      object("alerts", kOptional, kAlerts),
      object("checkpoints", kOptional, kCheckpoints),
      object("page", kOptional, kPage),
      optional_list("status_pushes", 5, kStatusPush)};
  static const ObjectKeys object_keys{keys};
  return object_keys;
}

std::string_view unit_from_key(std::string_view key) {
  const UnitEnd* const entry = unit_end_of(key);
  return entry == nullptr ? std::string_view() : entry->unit;
}

std::string_view stem_from_key(std::string_view key) {
  const UnitEnd* const entry = unit_end_of(key);
  const bool all_unit = entry == nullptr || key.size() < entry->end.size();  // "hours"
  return all_unit ? key : key.substr(0, key.size() - entry->end.size());
}

}  // namespace logger::app
