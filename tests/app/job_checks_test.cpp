// Checks across keys, and warnings, word for word: one changed place, all findings it gives.
#include <catch2/catch.hpp>

#include "tests/app/job_texts.hpp"

using namespace logger::app;
using namespace job_tests;

namespace {

// Beside `"slab": null`, which stands on line 7.
Lines warnings_with_requirements(const std::string& requirements) {
  return warnings_of(with(kShortest, "\"slab\": null", "\"slab\": null, " + requirements));
}

}  // namespace

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
      {"\"boxes\"",
       "\"alerts\": {\"rules\": {\"probe_silent\": {\"off\": true}}},\n\"boxes\"",
       {"job.json:11: alerts.rules.probe_silent.off: can't be switched off: without it nobody "
        "would "
        "know that nothing else is told"}},
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
  CHECK(
      warnings_of(with(kShortest, "\"slab\": null",
                       R"("slab": {"rh_high_percent_rh": 80, "source": "s"})")) ==
      Lines{"job.json:5: rooms[0]: no slab_rh channel, so the verdict stays \"cannot tell\" "
            "until probes are read by hand (dwellog note rh-test); add one, or say \"slab\": null "
            "when the floor lies on no mineral slab",
            "job.json:5: rooms[0]: no slab_surface_temperature channel, so nobody can tell whether "
            "water condenses there and the verdict stays \"cannot tell\"; add a probe on the slab "
            "or subfloor",
            "job.json:7: rooms[0].requirements.slab.rh_high_percent_rh: 80 %RH is looser than "
            "common practice (at most 75 %RH)"});
  CHECK(
      warnings_of(with(kShortest, "\"stack_core_temperature\"", "\"slab_surface_temperature\"")) ==
      Lines{"job.json:5: rooms[0]: no stack_core_temperature channel, so the verdict stays "
            "\"cannot tell\"; put a probe inside the stack"});
}
