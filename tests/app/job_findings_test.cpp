// What is refused and what is warned of, word for word: one changed place, all findings it gives.
#include <catch2/catch.hpp>

#include "tests/app/job_texts.hpp"

using namespace logger::app;
using namespace job_tests;
using Lines = std::vector<std::string>;

namespace {

struct Change {
  const char* from;
  const char* to;
  Lines findings;
};

void check_errors(const std::vector<Change>& changes) {
  for (const Change& change : changes) {
    INFO(change.from << "  ->  " << change.to);
    CHECK(errors_of(with(kShortest, change.from, change.to)) == change.findings);
  }
}

// In place of `"slab": null`, which stands on line 7.
Lines errors_with_requirements(const std::string& requirements) {
  return errors_of(with(kShortest, "\"slab\": null", requirements));
}
Lines warnings_with_requirements(const std::string& requirements) {
  return warnings_of(with(kShortest, "\"slab\": null", "\"slab\": null, " + requirements));
}

}  // namespace

TEST_CASE("Unknown keys are told with line and the nearest valid key") {
  check_errors({
      {"\"port\"",
       "\"prot\"",
       {"job.json:12: boxes[0].prot: unknown key \"prot\"; did you mean \"port\"?",
        "job.json:12: boxes[0].port: required key is missing: the serial device, such as "
        "/dev/serial/by-id/..."}},
      {"\"boxes\"",
       "\"colour\": 3,\n\"boxes\"",
       {"job.json:11: colour: unknown key \"colour\"; the nearest valid key is \"rooms\""}},
      {"\"floor_area_m2\"",
       "\"floor_area\"",
       {"job.json:5: rooms[0].floor_area: unknown key \"floor_area\"; did you mean "
        "\"floor_area_m2\"? the unit is part of the name",
        "job.json:5: rooms[0].floor_area_m2: required key is missing"}},
  });
}

TEST_CASE("A key without its unit or with a foreign one is told which it needs") {
  const auto meant = [](const std::string& key) {
    const Lines lines = errors_with_requirements("\"rh\": {\"" + key + "\": 45}");
    REQUIRE_FALSE(lines.empty());
    return lines.front();
  };
  for (const std::string key : {"low", "low_rh", "low_percent", "rh_low", "rh_low_pct"}) {
    CHECK(meant(key) == "job.json:7: rooms[0].requirements.rh." + key + ": unknown key \"" + key +
                            "\"; did you mean \"low_percent_rh\"? the unit is part of the name");
  }
  CHECK(errors_with_requirements(
            R"("temperature": {"low_fahrenheit": 62, "high_celsius": 23, "source": "s"})") ==
        Lines{"job.json:7: rooms[0].requirements.temperature.low_fahrenheit: unknown key "
              "\"low_fahrenheit\"; did you mean \"low_celsius\"? the unit is part of the name",
              "job.json:7: rooms[0].requirements.temperature.low_celsius: required key is "
              "missing"});
  CHECK(errors_of(with(kShortest, "\"role\": \"room_air_rh\"",
                       "\"role\": \"room_air_rh\", \"low\": 1")) ==
        Lines{"job.json:15: boxes[0].channels[1].low: unknown key \"low\"; did you mean "
              "\"low_celsius\" or \"low_percent_rh\" or \"low_volt\"? the unit is part of the "
              "name"});
}

TEST_CASE("Duplicate keys are told with both lines") {
  check_errors({
      {"\"boxes\"",
       "\"rooms\": [],\n\"boxes\"",
       {"job.json:11: rooms: duplicate key; the first one is on line 4"}},
      {"\"port\": \"/dev/ttyS0\",",
       "\"port\": \"/dev/ttyS0\",\n\"port\": {\"port\": 1, \"port\": 2},",
       {"job.json:13: boxes[0].port: duplicate key; the first one is on line 12",
        "job.json:13: boxes[0].port.port: duplicate key; the first one is on line 13"}},
  });
}

TEST_CASE("Values out of range are told with value, unit and range") {
  CHECK(errors_with_requirements(
            R"("temperature": {"low_celsius": 170, "high_celsius": 23, "source": "s"})") ==
        Lines{"job.json:7: rooms[0].requirements.temperature.low_celsius: 170 °C is outside "
              "-10..60 °C"});
  CHECK(errors_with_requirements(
            R"("rh": {"low_percent_rh": 0.45, "high_percent_rh": 60, "source": "s"})") ==
        Lines{"job.json:7: rooms[0].requirements.rh.low_percent_rh: 0.45 %RH is outside 5..95 "
              "%RH"});
  CHECK(errors_with_requirements(R"("dwell": {"hours": 0, "source": "s"})") ==
        Lines{"job.json:7: rooms[0].requirements.dwell.hours: 0 h is outside 1..2000 h"});
  check_errors({
      {"12.5", "-1", {"job.json:5: rooms[0].floor_area_m2: -1 m² is outside 0.1..100000 m²"}},
      {"77", "0", {"job.json:12: boxes[0].serial: 0 is outside 1..18446744073709551616"}},
      {"77", "1.5", {"job.json:12: boxes[0].serial: 1.5 is no whole number"}},
      {"\"index\": 0",
       "\"index\": 8",
       {"job.json:14: boxes[0].channels[0].index: 8 is outside 0..7"}},
      {"\"port\"",
       "\"unit\": 248, \"baud\": 12345, \"port\"",
       {"job.json:12: boxes[0].unit: 248 is outside 1..247",
        "job.json:12: boxes[0].baud: 12345 baud is no standard rate; expected one of 1200, 2400, "
        "4800, 9600, 19200, 38400, 57600, 115200, 230400"}},
  });
}

TEST_CASE("A value of another kind is told") {
  check_errors({
      {"12.5",
       "\"12.5\"",
       {"job.json:5: rooms[0].floor_area_m2: expected a number, found text in quotes"}},
      {"\"hall\", \"name\": \"Hall\"",
       "\"hall\", \"name\": null",
       {"job.json:5: rooms[0].name: expected text in quotes, found null"}},
      {"\"name\": \"Hall\"",
       "\"name\": \"\"",
       {"job.json:5: rooms[0].name: text of 0 characters; expected 1..200"}},
      {"\"name\": \"Hall\"",
       "\"name\": \"a\\u0000b\"",
       {"job.json:5: rooms[0].name: \"a?b\" holds control characters"}},
  });
  CHECK(errors_with_requirements(R"("slab": 75)") ==
        Lines{"job.json:7: rooms[0].requirements.slab: expected an object { }, found a number"});
  CHECK(errors_with_requirements(R"("dwell": {"hours": 48, "cumulative": "no", "source": "s"})") ==
        Lines{"job.json:7: rooms[0].requirements.dwell.cumulative: expected true or false, found "
              "text in quotes"});
  CHECK(errors_of("[]") == Lines{"job.json:1: expected an object { }, found a list [ ]"});
}

TEST_CASE("Every limit needs a source that says something") {
  CHECK(errors_with_requirements(R"("dwell": {"hours": 72})") ==
        Lines{"job.json:7: rooms[0].requirements.dwell.source: required key is missing; every "
              "limit names who says so"});
  CHECK(errors_with_requirements(R"("dwell": {"hours": 72, "source": ""})") ==
        Lines{"job.json:7: rooms[0].requirements.dwell.source: text of 0 characters; expected "
              "1..200"});
}

TEST_CASE("Limits that cross are told") {
  CHECK(errors_with_requirements(
            R"("temperature": {"low_celsius": 23, "high_celsius": 17, "source": "s"})") ==
        Lines{"job.json:7: rooms[0].requirements.temperature.low_celsius: 23 °C is not below "
              "high_celsius 17 °C"});
  CHECK(errors_with_requirements(
            R"("rh": {"low_percent_rh": 50, "high_percent_rh": 50, "source": "s"})") ==
        Lines{"job.json:7: rooms[0].requirements.rh.low_percent_rh: 50 %RH is not below "
              "high_percent_rh 50 %RH"});
  CHECK(errors_of(with(kShortest, "\"role\": \"room_air_rh\"",
                       "\"role\": \"room_air_rh\", \"high_percent_rh\": 0")) ==
        Lines{"job.json:15: boxes[0].channels[1].low_percent_rh: 0 %RH is not below "
              "high_percent_rh 0 %RH"});
}

TEST_CASE("Names out of a list are told with the nearest one") {
  check_errors({
      {"\"room_air_rh\"",
       "\"room_air_humidity\"",
       {"job.json:15: boxes[0].channels[1].role: \"room_air_humidity\" is not one of "
        "\"room_air_temperature\", \"room_air_rh\", \"stack_core_temperature\", "
        "\"slab_surface_temperature\", \"slab_rh\", \"supply_voltage\", \"outdoor_temperature\", "
        "\"outdoor_rh\", \"slab_temperature\""}},
      {"\"format\": \"dwellog-job/1\"",
       "\"format\": \"dwellog-job/2\"",
       {"job.json:2: format: \"dwellog-job/2\" is not one of \"dwellog-job/1\"; did you mean "
        "\"dwellog-job/1\"?"}},
  });
  CHECK(errors_with_requirements(R"("site_gates": ["flatt", "clean", "clean"])") ==
        Lines{"job.json:7: rooms[0].requirements.site_gates[0]: \"flatt\" is not one of "
              "\"room_kind\", \"heating_kind\", \"flat\", \"clean\", \"solid\", "
              "\"old_glue_removed\", \"vapour_barrier\", \"conditioned\"; did you mean \"flat\"?",
              "job.json:7: rooms[0].requirements.site_gates[2]: site gate \"clean\" is used on "
              "line 7 already; it must be unique"});
}

TEST_CASE("Ids are plain, unique, and refer to something") {
  check_errors({
      {"\"id\": \"hall\"",
       "\"id\": \"Hall 1\"",
       {"job.json:5: rooms[0].id: \"Hall 1\" is no id; expected 1 to 32 lower-case letters, "
        "digits, - or _, the first one not -",
        "job.json:14: boxes[0].channels[0].room: no room has the id \"hall\"",
        "job.json:15: boxes[0].channels[1].room: no room has the id \"hall\"",
        "job.json:16: boxes[0].channels[2].room: no room has the id \"hall\""}},
      {"\"core\", \"room\": \"hall\"",
       "\"core\", \"room\": \"hal\"",
       {"job.json:16: boxes[0].channels[2].room: no room has the id \"hal\"; the nearest is "
        "\"hall\""}},
      {"\"core\", \"room\": \"hall\"",
       "\"t\"",
       {"job.json:16: boxes[0].channels[2].id: channel id \"t\" is used on line 14 already; it "
        "must be unique",
        "job.json:16: boxes[0].channels[2].room: required key is missing"}},
      {"\"index\": 2",
       "\"index\": 1",
       {"job.json:16: boxes[0].channels[2].index: index \"1\" is used on line 15 already; it must "
        "be unique"}},
  });
}

TEST_CASE("Two boxes share neither serial nor port and unit, and a line has one rate") {
  const std::string second = R"(,
    {"id": "box-2", "serial": 77, "port": "/dev/ttyS0", "baud": 9600,
     "channels": [{"index": 0, "id": "v", "role": "supply_voltage"}]})";
  const std::string text = with(kShortest, "     ]\n    }\n", "     ]\n    }" + second + "\n");
  CHECK(errors_of(text) ==
        Lines{"job.json:19: boxes[1].serial: serial \"77\" is used on line 12 already; it must be "
              "unique",
              "job.json:19: boxes[1].port: port and unit \"/dev/ttyS0 1\" is used on line 12 "
              "already; it must be unique",
              "job.json:19: boxes[1].baud: 9600 baud, but another box on \"/dev/ttyS0\" has 19200 "
              "baud; one line has one rate"});
  CHECK(errors_of(with(with(text, "\"serial\": 77, \"port\": \"/dev/ttyS0\", \"baud\": 9600",
                            "\"serial\": 78, \"port\": \"/dev/ttyS0\", \"unit\": 2"),
                       "box-2", "box-1")) ==
        Lines{"job.json:19: boxes[1].id: box id \"box-1\" is used on line 12 already; it must be "
              "unique"});
}

TEST_CASE("A room has both its air channels on one box") {
  check_errors({
      {"\"room_air_rh\"",
       "\"outdoor_rh\"",
       {"job.json:5: rooms[0]: room \"hall\" needs one room_air_temperature and one room_air_rh "
        "channel on the same box; found 1 and 0"}},
      {"\"stack_core_temperature\"",
       "\"room_air_temperature\"",
       {"job.json:5: rooms[0]: room \"hall\" needs one room_air_temperature and one room_air_rh "
        "channel on the same box; found 2 and 1"}},
  });
  const std::string moved =
      with(with(kShortest, "\"room_air_rh\"", "\"slab_rh\""), "     ]\n    }\n",
           "     ]\n    },\n{\"id\": \"b2\", \"serial\": 78, \"port\": \"/p\", \"channels\": "
           "[{\"index\": 0, \"id\": \"x\", \"room\": \"hall\", \"role\": \"room_air_rh\"}]}\n");
  CHECK(errors_of(moved) ==
        Lines{"job.json:5: rooms[0]: room \"hall\" needs one room_air_temperature and one "
              "room_air_rh channel on the same box; found 1 and 1, on two boxes"});
}

TEST_CASE("A range is in the unit of the channel's role") {
  CHECK(errors_of(with(kShortest, "\"role\": \"room_air_rh\"",
                       "\"role\": \"room_air_rh\", \"low_celsius\": 5")) ==
        Lines{"job.json:15: boxes[0].channels[1].low_celsius: a room_air_rh channel is in "
              "percent_rh; expected \"low_percent_rh\""});
}

TEST_CASE("Keys of imported boxes and of boxes on a line do not mix") {
  check_errors({
      {"\"role\": \"room_air_rh\"",
       "\"role\": \"room_air_rh\", \"csv_column\": \"RH\"",
       {"job.json:15: boxes[0].channels[1].csv_column: only a box with \"csv\" has columns; leave "
        "this out"}},
      {"\"port\"",
       "\"csv\": {\"time_column\": \"t\"}, \"port\"",
       {"job.json:12: boxes[0].serial: a box with \"csv\" is filled by import and has no line of "
        "its own; leave this out",
        "job.json:12: boxes[0].port: a box with \"csv\" is filled by import and has no line of its "
        "own; leave this out",
        "job.json:14: boxes[0].channels[0].csv_column: required key is missing: the column's "
        "heading",
        "job.json:14: boxes[0].channels[0].csv_unit: required key is missing: the column's unit",
        "job.json:15: boxes[0].channels[1].csv_column: required key is missing: the column's "
        "heading",
        "job.json:15: boxes[0].channels[1].csv_unit: required key is missing: the column's unit",
        "job.json:16: boxes[0].channels[2].csv_column: required key is missing: the column's "
        "heading",
        "job.json:16: boxes[0].channels[2].csv_unit: required key is missing: the column's unit"}},
  });
}

TEST_CASE("The layout of a CSV file is checked") {
  const auto errors_with_csv = [](const std::string& csv, const std::string& unit = "celsius") {
    std::string text = with(kShortest, R"("serial": 77, "port": "/dev/ttyS0")",
                            "\"csv\": {\"time_column\": \"t\"" + csv + "}");
    text = with(text, "\"room_air_temperature\"",
                "\"room_air_temperature\", \"csv_column\": \"T\", "
                "\"csv_unit\": \"" +
                    unit + "\"");
    text = with(text, "\"room_air_rh\"",
                "\"room_air_rh\", \"csv_column\": \"RH\", \"csv_unit\": \"percent_rh\"");
    return errors_of(with(text, "\"stack_core_temperature\"",
                          "\"stack_core_temperature\", \"csv_column\": \"C\", \"csv_unit\": "
                          "\"celsius\""));
  };
  CHECK(errors_with_csv("") == Lines{});
  CHECK(errors_with_csv(", \"separator\": \"\\t\"") == Lines{});
  CHECK(errors_with_csv(", \"time_format\": \"%Y-%m-%d %H:%M:%S\", \"time_zone\": \"-05:30\"") ==
        Lines{});
  CHECK(errors_with_csv(", \"time_zone\": \"Z\"") ==
        Lines{"job.json:12: boxes[0].csv.time_zone: RFC 3339 times carry their own offset; leave "
              "this out"});
  CHECK(errors_with_csv(", \"time_format\": \"%Y-%m-%d %H:%M\"") ==
        Lines{"job.json:12: boxes[0].csv.time_zone: \"\" is no offset; these times need \"Z\" or "
              "one such as \"+02:00\""});
  CHECK(errors_with_csv(", \"time_format\": \"%Y-%m-%d\", \"time_zone\": \"CET\"") ==
        Lines{"job.json:12: boxes[0].csv.time_format: \"%Y-%m-%d\" lacks %H; expected \"rfc3339\" "
              "or one such as \"%Y-%m-%d %H:%M:%S\"",
              "job.json:12: boxes[0].csv.time_zone: \"CET\" is no offset; these times need \"Z\" "
              "or one such as \"+02:00\""});
  CHECK(errors_with_csv(", \"time_format\": \"%y-%m-%d %H:%M\", \"time_zone\": \"Z\"") ==
        Lines{"job.json:12: boxes[0].csv.time_format: in \"%y-%m-%d %H:%M\" only %Y %m %d %H %M "
              "%S may stand, each once"});
  CHECK(errors_with_csv(", \"decimal\": \",\"") ==
        Lines{"job.json:12: boxes[0].csv.decimal: separator and decimal are the same"});
  CHECK(errors_with_csv("", "percent_rh") ==
        Lines{"job.json:14: boxes[0].channels[0].csv_unit: \"percent_rh\" does not fit a "
              "room_air_temperature channel; expected \"celsius\" or \"fahrenheit\""});
}

TEST_CASE("Times that are none are told") {
  for (const std::string time : {"yesterday", "2026-02-30", "2026-13-01", "2026-03-01T10:00:00",
                                 "2026-03-01 10:00", "01.03.2026", ""}) {
    INFO(time);
    const Lines lines = errors_of(with(kShortest, "\"floor_product\"",
                                       "\"slab_poured_at\": \"" + time + "\", \"floor_product\""));
    CHECK(lines == Lines{"job.json:5: rooms[0].slab_poured_at: \"" + time +
                         "\" is no time; expected a date such as \"2026-03-01\" or RFC 3339 with "
                         "an offset such as \"2026-03-01T14:30:00+01:00\""});
  }
}

TEST_CASE("Intervals that would make everything unknown or silent are refused") {
  check_errors({
      {"\"port\"",
       "\"sample_interval_seconds\": 3600, \"port\"",
       {"job.json:12: boxes[0].sample_interval_seconds: 3600 s is longer than "
        "longest_interval_minutes of room \"hall\" (45 min), so all time would count as unknown"}},
      {"\"boxes\"",
       "\"collect_every_seconds\": 3600,\n\"boxes\"",
       {"job.json:11: collect_every_seconds: probe_silent fires after 30 min, which is shorter "
        "than two collections of 3600 s, so every pause would fire it"}},
      {"\"boxes\"",
       "\"alerts\": {\"command\": [\"\"], \"rules\": {\n\"probe_silent\": {\"fire_after_minutes\": "
       "9}}},\n\"boxes\"",
       {"job.json:11: alerts.command[0]: names no program",
        "job.json:12: alerts.rules.probe_silent.fire_after_minutes: probe_silent fires after 9 "
        "min, which is shorter than two collections of 300 s, so every pause would fire it"}},
  });
}

TEST_CASE("A limit looser than common practice is read with a warning that names the practice") {
  const auto warned = [](const std::string& requirements) {
    const Lines lines = warnings_with_requirements(requirements);
    REQUIRE(lines.size() == 1);
    return lines[0].substr(std::string("job.json:7: rooms[0].requirements.").size());
  };
  CHECK(warned(R"("temperature": {"low_celsius": 15, "high_celsius": 23, "source": "s"})") ==
        "temperature.low_celsius: 15 °C is looser than common practice (at least 17 °C)");
  CHECK(warned(R"("temperature": {"low_celsius": 17, "high_celsius": 25, "source": "s"})") ==
        "temperature.high_celsius: 25 °C is looser than common practice (at most 23 °C)");
  CHECK(warned(R"("rh": {"low_percent_rh": 35, "high_percent_rh": 60, "source": "s"})") ==
        "rh.low_percent_rh: 35 %RH is looser than common practice (at least 45 %RH)");
  CHECK(warned(R"("dwell": {"hours": 24, "source": "s"})") ==
        "dwell.hours: 24 h is looser than common practice (at least 48 h)");
  CHECK(warned(R"("dwell": {"hours": 48, "cumulative": true, "source": "s"})") ==
        "dwell.cumulative: true is looser than common practice (hours in one run)");
  CHECK(warned(R"("interruptions": {"grace_minutes": 20, "source": "s"})") ==
        "interruptions.grace_minutes: 20 min is looser than common practice (at most 15 min)");
  CHECK(warned(R"("condensation": {"margin_kelvin": 2, "source": "s"})") ==
        "condensation.margin_kelvin: 2 K is looser than common practice (at least 3 K)");
  CHECK(warned(R"("evidence": {"unknown_share_percent": 20, "source": "s"})") ==
        "evidence.unknown_share_percent: 20 % is looser than common practice (at most 10 %)");
  CHECK(warned(R"("stack_core": {"probe_required": false, "source": "s"})") ==
        "stack_core.probe_required: false is looser than common practice (a probe inside the "
        "stack)");
  const Lines gates = warnings_with_requirements(R"("site_gates": ["flat"])");
  CHECK(gates.size() == analysis::readiness::all_site_gates().size() - 1);
}

TEST_CASE("Limits at common practice or stricter give no warning") {
  CHECK(warnings_with_requirements(R"(
    "temperature": {"low_celsius": 17, "high_celsius": 23, "source": "s"},
    "rh": {"low_percent_rh": 45, "high_percent_rh": 60, "source": "s"},
    "dwell": {"hours": 48, "source": "s"},
    "interruptions": {"longest_interval_minutes": 45, "grace_minutes": 15,
                      "excursion_budget_minutes": 60, "longest_unknown_hours": 4, "source": "s"},
    "stack_core": {"within_kelvin": 1, "source": "s"},
    "condensation": {"margin_kelvin": 3, "source": "s"},
    "evidence": {"unknown_share_percent": 10, "source": "s"})") == Lines{});
}

TEST_CASE("A gate that nothing measures is warned of") {
  CHECK(warnings_of(with(kShortest, "\"slab\": null",
                         R"("slab": {"rh_high_percent_rh": 80, "source": "s"})")) ==
        Lines{"job.json:5: rooms[0]: no slab_rh channel, so the verdict stays \"cannot tell\"; add "
              "one, or say \"slab\": null when the floor lies on no mineral slab",
              "job.json:7: rooms[0].requirements.slab.rh_high_percent_rh: 80 %RH is looser than "
              "common practice (at most 75 %RH)"});
  CHECK(
      warnings_of(with(kShortest, "\"stack_core_temperature\"", "\"slab_surface_temperature\"")) ==
      Lines{"job.json:5: rooms[0]: no stack_core_temperature channel, so the verdict stays "
            "\"cannot tell\"; put a probe inside the stack"});
}

TEST_CASE("All findings come at once, in order of their lines") {
  std::string text = with(kShortest, "12.5", "0");
  text = with(text, "\"installer\"", "\"instaler\"");
  text = with(text, "\"room_air_rh\"", "\"room_air_hr\"");
  text = with(text, "77", "-7");
  const Lines lines = errors_of(text);
  REQUIRE(lines.size() == 5);
  CHECK(lines[0] ==
        "job.json:3: job.instaler: unknown key \"instaler\"; did you mean "
        "\"installer\"?");
  CHECK(lines[1] == "job.json:3: job.installer: required key is missing");
  CHECK(lines[2].substr(0, 34) == "job.json:5: rooms[0].floor_area_m2");
  CHECK(lines[3].substr(0, 28) == "job.json:12: boxes[0].serial");
  CHECK(lines[4].substr(0, 38) == "job.json:15: boxes[0].channels[1].role");
}

TEST_CASE("Text that is no JSON is told with its line and the likely slip") {
  const auto only = [](const std::string& text) {
    const Lines lines = errors_of(text);
    REQUIRE(lines.size() == 1);
    return lines[0];
  };
  CHECK(only("") ==
        "job.json:1: syntax error while parsing value - unexpected end of input; "
        "expected '[', '{', or a literal");
  CHECK(only("{\n\"format\": \"x\",\n}").find("job.json:3: ") == 0);
  CHECK(only("{\n\"format\": \"x\",\n}").find("; no comma may stand before a closing bracket") !=
        std::string::npos);
  CHECK(only("{\"rooms\": [\n1,\n]}").find("; no comma may stand before a closing bracket") !=
        std::string::npos);
  CHECK(only("{\n\"a\": 1\n\"b\": 2}").find("; a comma is missing before it") != std::string::npos);
  CHECK(only("{\n\"a\": 1\n\"b\": 2}").find("job.json:3: ") == 0);
  CHECK(only("{}\n{}").find("job.json:2: syntax error") == 0);
  CHECK(only("{} x").find("syntax error") != std::string::npos);
  CHECK(only("/* never closed").find("comment") != std::string::npos);
  CHECK(only("{\"a\": 1e999}").find("number overflow") != std::string::npos);
  CHECK(only("\xff\xfe").find("job.json:1: ") == 0);
  CHECK(only(std::string(100000, '[')) == "job.json:1: " + std::string() +
                                              "[0][0][0][0][0][0][0][0][0][0][0][0][0][0][0]: "
                                              "nested more than 16 deep");
  CHECK(only(std::string((1U << 20U) + 1, ' ')) ==
        "job.json:1: 1048577 bytes; expected at most 1 MiB");
}

TEST_CASE("Lines are counted through comments, numbers and both kinds of line end") {
  for (const std::string end : {"\n", "\r\n"}) {
    std::string text = "// one" + end + "/* two" + end + "three */ {\"format\":" + end + "4" + end +
                       ", /* */ \"collect_every_seconds\": 1" + end + "}";
    const JobReading reading = job_from_text(text, "f");
    std::vector<int> lines;
    for (const JobFinding& finding : reading.errors) {
      lines.push_back(finding.line);
    }
    CHECK(lines == std::vector<int>{3, 3, 3, 4, 5});  // job, rooms, boxes missing; format; seconds
  }
}

TEST_CASE("Endless text gives a bearable number of short findings") {
  std::string keys = "{";
  for (int i = 0; i < 900; ++i) {
    keys += "\"k" + std::to_string(i) + "\":0,";
  }
  const JobReading many = job_from_text(keys + "\"format\":0}", "job.json");
  REQUIRE(many.errors.size() == 100);
  CHECK(many.errors.back().text == "only the first of 904 findings are shown");
  const JobReading more = job_from_text(keys + keys.substr(1) + "\"x\":0}", "job.json");
  CHECK(more.errors.size() == 100);
  const JobReading deep = job_from_text(
      "{\"" + std::string(500000, 'k') + "\": \"" + std::string(500000, 'v') + "\"}", "job.json");
  for (const JobFinding& finding : deep.errors) {
    CHECK(text_of(finding).size() < 900);
  }
}
