// What a job.json comes to: values, units, defaults, sources.
#include <catch2/catch.hpp>

#include "tests/app/job_texts.hpp"

using namespace logger::app;
using namespace job_tests;
using analysis::base::ChannelRole;
using analysis::readiness::FloorRequirements;
using analysis::readiness::SlabRequirements;
using Lines = std::vector<std::string>;

namespace {

Job job_of(const std::string& text) {
  const JobReading reading = job_from_text(text, "job.json");
  REQUIRE(lines_of(reading.errors) == Lines{});
  return *reading.job;
}

UtcMicros utc(const std::string& text) { return analysis::base::utc_from_rfc3339(text).value(); }

}  // namespace

TEST_CASE("The template reads without a finding") {
  const std::string text = commented_job_text({});
  const JobReading reading = job_from_text(text, "job.json");
  CHECK(lines_of(reading.errors) == Lines{});
  CHECK(lines_of(reading.warnings) == Lines{});
  REQUIRE(reading.job);
  CHECK(reading.job->rooms.size() == 1);
  REQUIRE(reading.job->boxes.size() == 1);
  CHECK(reading.job->boxes[0].channels.size() == 6);
}

TEST_CASE("The template holds common practice and what was filled in") {
  const Job job =
      job_of(commented_job_text({"Mill \"Lane\" \\ 4", "/dev/pts/7", 18446744073709551615U}));
  CHECK(job.name == "Mill \"Lane\" \\ 4");
  CHECK(job.boxes[0].port == "/dev/pts/7");
  CHECK(job.boxes[0].serial == 18446744073709551615U);
  CHECK(job.collect_every_s == 300);
  FloorRequirements common;
  common.slab = SlabRequirements{};
  CHECK(job.rooms[0].requirements == common);
  CHECK(job.alerts.settings == analysis::alerts::AlertSettings{});
  CHECK(job.alerts.command.empty());
}

TEST_CASE("The template names its slips when it is filled in badly") {
  CHECK(job_from_text(commented_job_text({"", "p", 1}), "job.json").errors.size() == 1);
  CHECK(job_from_text(commented_job_text({"a\nb", "p", 1}), "job.json").errors.size() == 1);
  CHECK(job_from_text(commented_job_text({"n", "", 0}), "job.json").errors.size() == 2);
}

TEST_CASE("Keys left out take the documented defaults") {
  const Job job = job_of(kShortest);
  CHECK(job.name == "Mill Lane 4");
  CHECK(job.client.empty());
  CHECK(job.collect_every_s == 300);
  REQUIRE(job.rooms.size() == 1);
  CHECK(job.rooms[0].floor_area_m2 == 12.5);
  CHECK_FALSE(job.rooms[0].slab_poured_at);
  CHECK(job.rooms[0].requirements == FloorRequirements{});
  CHECK(job.rooms[0].requirements.temperature_low.source == "common practice");
  REQUIRE(job.boxes.size() == 1);
  const JobBox& box = job.boxes[0];
  CHECK(box.serial == 77);
  CHECK(box.unit == 1);
  CHECK(box.baud == 19200);
  CHECK(box.sample_interval_s == 60);
  CHECK_FALSE(box.csv);
  REQUIRE(box.channels.size() == 3);
  CHECK(box.channels[0].scale.role == ChannelRole::room_air_temperature);
  CHECK(box.channels[0].scale.units_per_count == 0.01);
  CHECK(box.channels[0].scale.low == -40.0);
  CHECK(box.channels[0].scale.high == 80.0);
  CHECK(box.channels[1].scale.low == 0.0);
  CHECK(box.channels[1].scale.high == 100.0);
  CHECK_FALSE(box.channels[0].placed_at);
  CHECK(job.alerts.command_timeout_s == 30);
}

TEST_CASE("A slab that is not spoken of is a slab with common limits") {
  const Job job = job_of(with(kShortest, "\"slab\": null", ""));
  CHECK(job.rooms[0].requirements.slab == SlabRequirements{});
}

TEST_CASE("Every requirement reads in its unit and with its source") {
  const Job job = job_of(with(kShortest, "\"slab\": null", R"(
    "temperature": {"low_celsius": 18, "high_celsius": 22.5, "source": "T"},
    "rh": {"low_percent_rh": 46, "high_percent_rh": 59, "source": "R"},
    "dwell": {"hours": 72, "cumulative": true, "source": "D"},
    "interruptions": {"longest_interval_minutes": 30, "grace_minutes": 5,
                      "excursion_budget_minutes": 20, "longest_unknown_hours": 2, "source": "I"},
    "stack_core": {"probe_required": false, "within_kelvin": 0.5, "source": "C"},
    "slab": {"rh_high_percent_rh": 70, "settle_hours": 48, "averaging_hours": 36,
             "minimum_age_days": 90, "source": "S"},
    "condensation": {"margin_kelvin": 4, "source": "K"},
    "evidence": {"unknown_share_percent": 5, "source": "E"},
    "site_gates": ["flat", "clean"])"));
  const FloorRequirements& floor = job.rooms[0].requirements;
  using analysis::base::Celsius;
  using analysis::base::KelvinDelta;
  using analysis::base::micros_from_hours;
  using analysis::base::RelativeHumidity;
  using analysis::readiness::Limit;
  CHECK(floor.temperature_low == Limit<Celsius>{Celsius{18}, "T"});
  CHECK(floor.temperature_high == Limit<Celsius>{Celsius{22.5}, "T"});
  CHECK(floor.rh_low == Limit<RelativeHumidity>{RelativeHumidity{0.46}, "R"});
  CHECK(floor.rh_high == Limit<RelativeHumidity>{RelativeHumidity{0.59}, "R"});
  CHECK(floor.dwell == Limit<Micros>{micros_from_hours(72), "D"});
  CHECK(floor.cumulative);
  CHECK(floor.longest_interval == Limit<Micros>{std::chrono::minutes(30), "I"});
  CHECK(floor.grace == Limit<Micros>{std::chrono::minutes(5), "I"});
  CHECK(floor.excursion_budget == Limit<Micros>{std::chrono::minutes(20), "I"});
  CHECK(floor.longest_unknown == Limit<Micros>{micros_from_hours(2), "I"});
  CHECK_FALSE(floor.core_probe_required);
  CHECK(floor.core_within == Limit<KelvinDelta>{KelvinDelta{0.5}, "C"});
  REQUIRE(floor.slab);
  CHECK(floor.slab->rh_high == Limit<RelativeHumidity>{RelativeHumidity{0.70}, "S"});
  CHECK(floor.slab->settle == Limit<Micros>{micros_from_hours(48), "S"});
  CHECK(floor.slab->averaging == Limit<Micros>{micros_from_hours(36), "S"});
  CHECK(floor.slab->minimum_age == Limit<Micros>{micros_from_hours(90 * 24), "S"});
  CHECK(floor.condensation_margin == Limit<KelvinDelta>{KelvinDelta{4}, "K"});
  CHECK(floor.unknown_share == Limit<double>{0.05, "E"});
  using analysis::readiness::SiteGate;
  CHECK(floor.site_gates == std::vector<SiteGate>{SiteGate::flat, SiteGate::clean});
}

TEST_CASE("A limit left out of its group keeps the default with the default's source") {
  const Job job = job_of(
      with(kShortest, "\"slab\": null", R"("interruptions": {"grace_minutes": 5, "source": "I"})"));
  CHECK(job.rooms[0].requirements.grace.source == "I");
  CHECK(job.rooms[0].requirements.longest_interval == FloorRequirements{}.longest_interval);
}

TEST_CASE("A date alone stands for the careful end of its day") {
  Job job = job_of(with(
      with(kShortest, "\"floor_product\"", "\"slab_poured_at\": \"2026-01-15\", \"floor_product\""),
      "\"role\": \"room_air_rh\"",
      "\"role\": \"room_air_rh\", \"placed_at\": \"2026-02-01\", \"calibration_due_at\": "
      "\"2027-02-01\""));
  CHECK(job.rooms[0].slab_poured_at == utc("2026-01-15T23:59:59.999999Z"));
  CHECK(job.boxes[0].channels[1].placed_at == utc("2026-02-01T23:59:59.999999Z"));
  CHECK(job.boxes[0].channels[1].calibration_due_at == utc("2027-02-01T00:00:00Z"));
  job = job_of(with(kShortest, "\"floor_product\"",
                    "\"slab_poured_at\": \"2026-01-15T12:30:00+01:00\", \"floor_product\""));
  CHECK(job.rooms[0].slab_poured_at == utc("2026-01-15T11:30:00Z"));
}

TEST_CASE("A channel takes its own scale and range in its role's unit") {
  const Job job =
      job_of(with(kShortest, "\"role\": \"stack_core_temperature\"}",
                  R"("role": "supply_voltage", "sensor_serial": "S-9", "placement": "in the lid",
         "low_volt": 9, "high_volt": 15}, {"index": 3, "id": "core-2", "room": "hall",
         "role": "stack_core_temperature", "units_per_count": 0.1, "low_celsius": -20})"));
  const JobChannel& supply = job.boxes[0].channels[2];
  CHECK(supply.scale.units_per_count == 0.001);
  CHECK(supply.scale.low == 9.0);
  CHECK(supply.scale.high == 15.0);
  CHECK(supply.sensor_serial == "S-9");
  CHECK(supply.placement == "in the lid");
  CHECK(job.boxes[0].channels[3].scale.units_per_count == 0.1);
  CHECK(job.boxes[0].channels[3].scale.low == -20.0);
}

TEST_CASE("The supply and the outdoor air need no room") {
  const Job job = job_of(with(kShortest, "\"role\": \"stack_core_temperature\"}",
                              R"("role": "stack_core_temperature"},
                                 {"index": 7, "id": "v", "role": "supply_voltage"},
                                 {"index": 6, "id": "out", "role": "outdoor_temperature"})"));
  CHECK(job.boxes[0].channels[3].index == 6);  // in order of their index, not of the text
  CHECK(job.boxes[0].channels[4].room_id.empty());
}

TEST_CASE("An imported box has columns instead of a line") {
  const std::string text =
      with(with(with(kShortest, R"("serial": 77, "port": "/dev/ttyS0",)",
                     R"("csv": {"time_column": "Zeit", "time_format": "%d.%m.%Y %H:%M",
                         "time_zone": "+02:00", "separator": ";", "decimal": ","},)"),
                "\"role\": \"room_air_temperature\"",
                R"("role": "room_air_temperature", "csv_column": "T", "csv_unit": "fahrenheit")"),
           "\"role\": \"room_air_rh\"",
           R"("role": "room_air_rh", "csv_column": "RH", "csv_unit": "rh_fraction")");
  const Job job =
      job_of(with(text, "\"stack_core_temperature\"",
                  R"("stack_core_temperature", "csv_column": "C", "csv_unit": "celsius")"));
  const JobBox& box = job.boxes[0];
  CHECK(box.serial == 0);
  CHECK(box.port.empty());
  REQUIRE(box.csv);
  CHECK(box.csv->time_column == "Zeit");
  CHECK(box.csv->time_format == "%d.%m.%Y %H:%M");
  CHECK(box.csv->time_zone == "+02:00");
  CHECK(box.csv->separator == ';');
  CHECK(box.csv->decimal == ',');
  CHECK(box.channels[0].csv_column == "T");
  CHECK(box.channels[0].csv_unit == "fahrenheit");
}

TEST_CASE("Alerts take their command and times") {
  const Job job = job_of(with(kShortest, "\"boxes\"", R"("alerts": {
      "command": ["/bin/say", "--to", ""], "command_timeout_seconds": 5,
      "rules": {"out_of_band": {"fire_after_minutes": 1, "clear_after_minutes": 2},
                "dwell_reset": {"clear_after_minutes": 3}, "probe_silent": {"fire_after_minutes": 40},
                "ready": {"fire_after_minutes": 5}, "no_longer_ready": {"fire_after_minutes": 0}}},
      "boxes")"));
  CHECK(job.alerts.command == std::vector<std::string>{"/bin/say", "--to", ""});
  CHECK(job.alerts.command_timeout_s == 5);
  using std::chrono::minutes;
  CHECK(job.alerts.settings.out_of_band.fire_after == minutes(1));
  CHECK(job.alerts.settings.out_of_band.clear_after == minutes(2));
  CHECK(job.alerts.settings.dwell_reset_clear_after == minutes(3));
  CHECK(job.alerts.settings.probe_silent_fire_after == minutes(40));
  CHECK(job.alerts.settings.ready_fire_after == minutes(5));
  CHECK(job.alerts.settings.no_longer_ready_fire_after == minutes(0));
}

TEST_CASE("Alert rules take their limits and switches") {
  using analysis::alerts::RuleKind;
  const Job job = job_of(with(kShortest, "\"boxes\"", R"("alerts": {"rules": {
      "out_of_band_soon": {"within_hours": 5, "off": true}, "box_flags": {"urgent": false},
      "tilted": {"urgent": true}, "stack_lagging": {"late_after_hours": 24},
      "service_climate": {"mean_hours": 48, "fire_after_minutes": 90, "urgent": true},
      "condensation_risk": {"clear_margin_kelvin": 2, "urgent": false},
      "slab_rising": {"rise_per_day_percent_rh": 1}, "slab_done": {"clear_margin_percent_rh": 3},
      "calibration_expiring": {"ahead_days": 7}, "probe_silent": {"urgent": true},
      "disk_low": {"free_below_mb": 100, "free_below_percent": 5, "store_above_percent": 50},
      "clock_unsure": {"time_error_seconds": 10, "clear_after_minutes": 7}}},
      "boxes")"));
  const auto& settings = job.alerts.settings;
  CHECK(settings.soon_within == std::chrono::hours(5));
  CHECK(settings.stack_late_after == std::chrono::hours(24));
  CHECK(settings.condensation_clear_margin.value() == 2.0);
  CHECK(settings.slab_rise_per_day.value() == 0.01);
  CHECK(settings.slab_clear_margin.value() == 0.03);
  CHECK(settings.calibration_ahead == std::chrono::hours(7 * 24));
  CHECK(settings.disk_free_below_bytes == 100'000'000);
  CHECK(settings.disk_free_below_share == 0.05);
  CHECK(settings.store_above_share == 0.5);
  CHECK(settings.time_error_limit == std::chrono::seconds(10));
  CHECK(settings.clock_unsure.clear_after == std::chrono::minutes(7));
  CHECK(settings.service_mean_over == std::chrono::hours(48));
  CHECK(settings.service_climate.fire_after == std::chrono::minutes(90));
  CHECK(settings.service_climate.clear_after == std::chrono::hours(1));
  CHECK(settings.off == std::set{RuleKind::out_of_band_soon});
  CHECK(settings.urgent == std::set{RuleKind::no_longer_ready, RuleKind::tilted,
                                    RuleKind::probe_silent, RuleKind::service_climate});
}

TEST_CASE("Silence of a probe can't be switched off") {
  const std::string text = with(kShortest, "\"boxes\"", R"("alerts": {"rules": {"probe_silent":
      {"off": true}}}, "boxes")");
  CHECK_FALSE(job_from_text(text, "job.json").errors.empty());
}

TEST_CASE("The digest is that of the bytes read, good or bad") {
  // FIPS 180-4, example "abc".
  CHECK(job_from_text("abc", "job.json").sha256_hex ==
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}
