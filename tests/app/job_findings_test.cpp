// What one key can get wrong, word for word: one changed place, all findings it gives.
#include <catch2/catch.hpp>

#include "tests/app/job_texts.hpp"

using namespace logger::app;
using namespace job_tests;

namespace {

// In place of `"slab": null`, which stands on line 7.
Lines errors_with_requirements(const std::string& requirements) {
  return errors_of(with(kShortest, "\"slab\": null", requirements));
}

}  // namespace

TEST_CASE("Unknown keys are told with line and the nearest valid key") {
  check_errors({
      {"\"port\"",
       "\"prot\"",
       {"job.json:12: boxes[0].prot: unknown key \"prot\"; did you mean \"port\"?",
        "job.json:12: boxes[0].port: required key is missing: the serial device, such as "
        "/dev/serial/by-id/..., or \"host\" of an adapter on the network"}},
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
