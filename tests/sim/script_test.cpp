// The language of docs/scenarios.md: what it says, and one clear line for what it does not.
#include <unistd.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>

#include "firmware-sim/sim/scenario.hpp"
#include "firmware-sim/sim/script/library.hpp"
#include "firmware-sim/sim/script/scenario_text.hpp"
#include "firmware-sim/sim/script/word_cursor.hpp"
#include "firmware-sim/sim/simulation_run.hpp"
#include "tests/sim/line_end.hpp"

using namespace firmware::sim;
using analysis::base::Micros;
using script::duration_from_text;

namespace {

constexpr std::int64_t kSecond = 1'000'000;
const std::string kHead = "start 2026-03-02T07:00:00Z\nlength 2d\n";

Scenario scenario_of(const std::string& text) {
  auto scenario = script::scenario_from_text(kHead + text, "t");
  INFO((scenario ? "" : scenario.error()));
  REQUIRE(scenario);
  return std::move(scenario).value();
}

std::string error_of(const std::string& text) {
  const auto scenario = script::scenario_from_text(kHead + text, "t");
  return scenario ? "" : scenario.error();
}

}  // namespace

TEST_CASE("DurationsAreSumsOfTheirParts") {
  CHECK(duration_from_text("38h") == Micros{38 * 3600 * kSecond});
  CHECK(duration_from_text("1d12h30min5s250ms") ==
        Micros{(36 * 3600 + 30 * 60 + 5) * kSecond + 250'000});
  CHECK(duration_from_text("0.5s") == Micros{kSecond / 2});
  CHECK(duration_from_text("0") == Micros{0});
  for (const char* text : {"", "5", "h", "-1h", "1 h", "1h ", "1hour", "nans", "infs", "1e300d"}) {
    INFO(text);
    CHECK_FALSE(duration_from_text(text));
  }
}

TEST_CASE("ASpanUndoesAtItsEndWhatItBegan") {
  const Scenario scenario = scenario_of(
      "box 1\nfrom 2h to 3h unplug line 1\nfrom 4h to 5h hold core-t of box 1 at 85.00\n"
      "from 6h to 7h heater off\nfrom 8h to 9h place box 1 in van\n");
  REQUIRE(scenario.actions.size() == 8);
  CHECK(scenario.actions[0].kind == ActionKind::line_unplug);
  CHECK(scenario.actions[1].kind == ActionKind::line_plug);
  CHECK(scenario.actions[1].after_start == Micros{3 * 3600 * kSecond});
  CHECK(scenario.actions[2].kind == ActionKind::sensor_hold);
  CHECK(scenario.actions[2].channel == 2);
  CHECK(scenario.actions[2].value == 85.0);
  CHECK(scenario.actions[3].kind == ActionKind::sensor_free);
  CHECK(scenario.actions[5].value == 1.0);  // the heater is on again
  CHECK(scenario.actions[6].value == static_cast<double>(site::BoxPlace::van));
  CHECK(scenario.actions[7].value == static_cast<double>(site::BoxPlace::room));
}

TEST_CASE("MomentsRepeatWithinTheirSpan") {
  const Scenario scenario =
      scenario_of("box 1\nfrom 1h to 3h every 30min first 3 spike air-t of box 1 by -15\n");
  REQUIRE(scenario.actions.size() == 3);
  CHECK(scenario.actions[2].after_start == Micros{2 * 3600 * kSecond});
  CHECK(scenario.actions[2].value == -15.0);
}

TEST_CASE("ExchangeFaultsKeepWhatTheySelect") {
  const Scenario scenario = scenario_of(
      "box 1\nfrom 2h to 5h every 7 first 9 corrupt reply to window of box 1 by 3 bits\n"
      "at 3h delay reply of box 1 by 650ms\n"
      "from 1h to 2h break line in reply of all boxes after each byte for 20s\n");
  REQUIRE(scenario.exchange_faults.size() == 3);
  const auto& corrupt = scenario.exchange_faults[0];
  CHECK(corrupt.kind == line::ExchangeFaultKind::corrupt_reply);
  CHECK(corrupt.every == 7);
  CHECK(corrupt.most == 9);
  CHECK(corrupt.about == line::RequestAbout::window);
  CHECK(corrupt.amount == 3);
  CHECK(corrupt.index == 0);
  CHECK(scenario.exchange_faults[1].most == 1);  // `at` strikes once
  CHECK(scenario.exchange_faults[1].span == Micros{650'000});
  CHECK(scenario.exchange_faults[2].each_amount);
  CHECK_FALSE(scenario.exchange_faults[2].index);
}

TEST_CASE("BoxesAndTransmittersAreDeclared") {
  const Scenario scenario = scenario_of(
      "box 1\nbox 2 serial 77 unit 9 line 2 interval 10s drift -40ppm memory 32KiB power-on 2h\n"
      "transmitter 1 unit 33 line 2 supply 12V\n"
      "register rh of transmitter 1 measures air-rh function 4 at 7 type f32 words low-first unit "
      "rh_fraction\n"
      "from 1h to 2h hold rh of transmitter 1 at 1.5\n");
  REQUIRE(scenario.boxes.size() == 2);
  CHECK(scenario.boxes[0].box.serial == 1001);
  CHECK(scenario.boxes[1].box.serial == 77);
  CHECK(scenario.boxes[1].line == 1);
  CHECK(scenario.boxes[1].box.sample_interval_s == 10);
  CHECK(scenario.boxes[1].box.drift_ppm == -40.0);
  CHECK(scenario.boxes[1].box.memory_bytes == 32 * 1024);
  CHECK(line_count_of(scenario) == 2);
  const auto& reg = scenario.transmitters.at(0).transmitter.registers.at(0);
  CHECK(reg.quantity == box::Quantity::air_rh);
  CHECK(reg.function == 4);
  CHECK(reg.low_word_first);
  CHECK(reg.fraction);
  CHECK(scenario.actions[0].kind == ActionKind::register_hold);
}

TEST_CASE("WhatIsForTheHarnessIsKeptForIt") {
  const Scenario scenario = scenario_of(
      "job /collect_every_seconds 60\nat 3h daemon kill\nexpect log \"two words\" = 1\n");
  REQUIRE(scenario.harness.size() == 3);
  CHECK_FALSE(scenario.harness[0].after_start);
  CHECK(scenario.harness[1].after_start == Micros{3 * 3600 * kSecond});
  CHECK(scenario.harness[2].words ==
        std::vector<std::string>{"expect", "log", "two words", "=", "1"});
  CHECK(scenario.harness[2].script_line == 5);
}

TEST_CASE("WhatDoesNotFitIsOneClearLine") {
  const std::vector<std::pair<std::string, std::string>> wrong = {
      {"bx 1", "'bx': expected start, length, seed,"},
      {"bx 1", "nearest is box"},
      {"at 3h heeter off", "nearest is heater"},
      {"at 3 heater off", "'3': expected a duration such as 38h"},
      {"at 3h heater of", "'of': expected off or on; nearest is off"},
      {"at 3h heater", "it ends too early: expected off or on"},
      {"at 3h heater off now", "'now': expected the end of the line"},
      {"from 5h to 2h heater off", "'2h': expected a time after the one it begins at"},
      {"from 1h to 2h every 5 heater off", "expected no 'every' or 'first'"},
      {"from 1h to 2h reboot box 1", "expected 'at' one moment, or 'every' with a duration"},
      {"from 1h to 2h every 5min lose reply of box 1", "'every' with a count of exchanges"},
      {"at 1h hold air-x of box 1 at 3", "'air-x': expected a channel: air-t, air-rh,"},
      {"at 1h hold air-x of box 1 at 3", "nearest is air-t"},
      {"at 1h refuse request of box 1 with 99", "'99': expected 1, 2, 3, 4, 5, 6, 8, 10 or 11"},
      {"at 1h refuse request of box 1 with 7", "'7': expected 1, 2, 3, 4, 5, 6, 8, 10 or 11"},
      {"at 1h hold x of transmitter 1 at 3", "'1': expected a transmitter that was declared above"},
      {"at 1h status broken at air-t of box 1", "'broken': expected ok, not_fitted,"},
      {"at 1h swap line 1 and line 1", "expected another line than the first"},
      {"at 1h step host clock by 1h", "expected a duration with its sign, such as +90s or -1h"},
      {"at 1h place box 1 in cellar", "'cellar': expected room, other-room, van or outdoors"},
      {"box 2", "'2': expected box 1, since they are numbered in order"},
      {"box 1 interval 90min", "'90min': expected 1s to 3600s in whole seconds"},
      {"box 1 drift 100", "'100': expected a number from -1000 to 1000 with ppm right behind it"},
      {"site lte-winter", "nearest is late-winter"},
      {"set floor_m3 20", "'floor_m3': expected a parameter of a site"},
      {"set floor_m3 20", "nearest is floor_m2"},
      {"set air_changes 1", "nearest is air_changes_per_h"},
      {"set floor_m2", "'floor_m2': expected its value behind it"},
      {"set floor", "'floor': expected a parameter of a site"},
      {"set floor_m2 x", "'x': expected a number"},
      {"start 2026-03-03T07:00:00Z", "'start': expected once, and line 1 has it"},
      {"length 9d", "'length': expected once, and line 2 has it"},
      {"length 99999d", "'length': expected once"},
      {"at 99999d heater off", "'99999d': expected at most 3650d, it is too long"},
      {"at 3d heater off", "'3d': expected a time within the length that line 2 says"},
      {"from 1h to 50h heater off", "'50h': expected a time within the length that line 2 says"},
      {"at 49h lose reply of box 1", "'49h': expected a time within the length that line 2 says"},
      {"transmitter 1", "'transmitter 1': expected at least one 'register ... of transmitter 1'"},
      {"expect log \"open", "expected a closing \" on the same line"},
      {"seed -1", "'-1': expected a whole number from 0 to"},
  };
  for (const auto& [text, expected] : wrong) {
    const std::string error = error_of("# a comment\n" + text + "\n");
    INFO(text + " gave " + error);
    CHECK(error.starts_with("t:4: "));
    CHECK(error.find(expected) != std::string::npos);
    CHECK(error.find('\n') == std::string::npos);
  }
  CHECK(script::scenario_from_text("length 3h\n", "t").error() ==
        "t:1: it ends without 'start'; expected one line 'start TIME' and one 'length DURATION'");
  CHECK(script::scenario_from_text("start 2026-03-02T07:00:00Z\nlength 99999d\n", "t").error() ==
        "t:2: '99999d': expected at most 3650d, it is too long");
  CHECK(error_of("set foo 3\n").find("nearest") == std::string::npos);
}

TEST_CASE("WhatIsSaidOnceIsNotSilentlySaidAgain") {
  CHECK(error_of("seed 3\nseed 4\n") == "t:4: 'seed': expected once, and line 3 has it");
  CHECK(error_of("site spring-damp\nsite wet-slab\n") ==
        "t:4: 'site': expected once, and line 3 has it");
  CHECK(error_of("weather a.csv\nweather b.csv\n") ==
        "t:4: 'weather': expected once, and line 3 has it");
  CHECK(error_of("set floor_m2 20\nset floor_m2 30\n") ==
        "t:4: 'set floor_m2': expected once, and line 3 has it");
  CHECK(error_of("set floor_m2 20\nsite wet-slab\n") ==
        "t:4: 'site': expected it before the first 'set', which it would undo");
  CHECK(error_of("site wet-slab\nset floor_m2 20\nset height_m 3\n").empty());
}

TEST_CASE("RegistersOfATransmitterDoNotOverlap") {
  const std::string begin = "transmitter 1\nregister a of transmitter 1 measures air-rh at 5 ";
  const std::string other = "\nregister b of transmitter 1 measures slab-rh ";
  CHECK(error_of(begin + "type u32" + other + "at 6\n") ==
        "t:5: 'at 6': expected an address that is free; register 'a' has 5 to 6 of function 3");
  CHECK(error_of(begin + other + "type f32 at 4\n").starts_with("t:5: 'at 4': expected an "));
  CHECK(error_of(begin + "type u32" + other + "at 7\n").empty());
  CHECK(error_of(begin + other + "at 5 function 4\n").empty());
  CHECK(error_of(begin + "\nregister a of transmitter 1 measures slab-rh at 9\n") ==
        "t:5: 'a': expected a name that no other register of the transmitter has");
  CHECK(
      error_of("transmitter 1\nregister a of transmitter 1 measures air-rh at 65535 type f32\n") ==
      "t:4: 'at 65535': expected all of its words at 0 to 65535");
  CHECK(error_of(begin + "\nat 1h hold b of transmitter 1 at 3\n") ==
        "t:5: 'b': expected a register of transmitter 1 that was declared above");
}

TEST_CASE("WhatARegisterLeavesOutIsFilledIn") {
  const Scenario scenario = scenario_of(
      "transmitter 1\nregister a of transmitter 1 measures air-temperature type f32\n"
      "register b of transmitter 1 measures air-rh type u16\n"
      "register c of transmitter 1 measures slab-rh function 4 unit rh_fraction\n"
      "register d of transmitter 1 measures supply at 10 type u16 unit millivolt\n"
      "register e of transmitter 1 measures supply\n");
  const auto& registers = scenario.transmitters[0].transmitter.registers;
  REQUIRE(registers.size() == 5);
  const std::vector<unsigned> addresses{registers[0].address, registers[1].address,
                                        registers[2].address, registers[3].address,
                                        registers[4].address};
  CHECK(addresses == std::vector<unsigned>{0, 2, 0, 10, 11});
  const std::vector<double> scales{registers[0].scale, registers[1].scale, registers[2].scale,
                                   registers[3].scale, registers[4].scale};
  CHECK(scales == std::vector<double>{1.0, 0.01, 0.0001, 1.0, 0.01});
}

TEST_CASE("AUnitFitsWhatARegisterMeasures") {
  const auto fault = [](const std::string& what) {
    return error_of("transmitter 1\nregister a of transmitter 1 measures " + what + "\n");
  };
  CHECK(fault("air-rh unit fahrenheit") ==
        "t:4: 'unit fahrenheit': expected percent_rh or rh_fraction for air-rh");
  CHECK(error_of("transmitter 1\nregister a of transmitter 1 unit volt\n") ==
        "t:4: 'volt': expected 'measures' and what it measures");
  CHECK(fault("outdoor-temperature unit rh_fraction") ==
        "t:4: 'unit rh_fraction': expected celsius or fahrenheit for outdoor-temperature");
  CHECK(fault("supply unit celsius") ==
        "t:4: 'unit celsius': expected volt or millivolt for supply");
  for (const char* fitting : {"core-temperature unit celsius", "slab-rh unit percent_rh",
                              "outdoor-rh unit rh_fraction", "supply unit volt"}) {
    CHECK(fault(fitting).empty());
  }
}

TEST_CASE("WhatIsNamedByNumberMustBeThere") {
  const auto fault = [](const std::string& text) {
    RunSettings settings;
    settings.scenario = scenario_of(text);
    place_on_ports(settings, "/nowhere/tty");
    return fault_of(settings);
  };
  CHECK(fault("box 1\nat 1h reboot box 2\n") == "t:4: 'box 2': expected box 1, the only one");
  CHECK(fault("box 1\nbox 2 line 2\nat 1h unplug line 3\n") == "t:5: 'line 3': expected 1 to 2");
  CHECK(fault("box 1\nat 1h lose reply of transmitter 1\n") ==
        "t:4: 'transmitter 1': expected none, there is no transmitter");
  CHECK(fault("box 1\nbox 2 unit 1\n") ==
        "t:4: 'unit 1' of box 2: expected a unit that is free on /nowhere/tty, box 1 has this one");
  CHECK(fault("box 1\nbox 2 serial 1001\n") ==
        "t:4: 'serial 1001' of box 2: expected another than that of box 1");
  CHECK(fault("box 1\nbox 2 line 2\nat 1h swap line 1 and line 2\n").empty());
}

TEST_CASE("EveryBuiltInScenarioCanBePlayed") {
  REQUIRE(script::library_texts().size() >= 9);
  for (const auto& text : script::library_texts()) {
    const auto scenario = script::scenario_from_text(text.text, std::string(text.name));
    INFO((scenario ? std::string(text.name) : scenario.error()));
    REQUIRE(scenario);
    RunSettings settings;
    settings.scenario = scenario.value();
    settings.pace = Pace::free;
    for (const ScenarioBox& placed : scenario.value().boxes) {
      settings.boxes.push_back({placed.box, ""});
    }
    if (settings.boxes.empty()) {
      // On a line, since a scenario may have its cable pulled.
      settings.boxes.push_back(
          {{},
           (std::filesystem::temp_directory_path() / ("dwellog-line-" + std::to_string(getpid())))
               .string()});
    }
    settings.scenario.length = std::min(settings.scenario.length, Micros{3600 * kSecond});
    const auto run = SimulationRun::create(settings);
    INFO((run ? "" : run.error()));
    REQUIRE(run);
    run.value()->run();
    CHECK(run.value()->box(0).taken().size() >= 59);
  }
}

TEST_CASE("AFileIsReadAndItsFaultsNameIt") {
  const sim_test::TemporaryFolder folder;
  const std::string path = folder.file("own.scenario");
  std::ofstream(path) << kHead << "weather weather.csv\n";
  CHECK(scenario_from_name_or_file(path).error().starts_with(path + ": "));
  std::ofstream(folder.file("weather.csv"))
      << "time_utc,temperature_celsius,rh_percent\n2026-03-02T00:00:00Z,1,80\n"
         "2026-03-05T00:00:00Z,4,70\n";
  const auto scenario = scenario_from_name_or_file(path);
  INFO((scenario ? "" : scenario.error()));
  REQUIRE(scenario);
  CHECK(scenario.value().site.weather.record.size() == 2);
  std::ofstream(path) << kHead << "at 1h fly\n";
  CHECK(scenario_from_name_or_file(path).error().starts_with(path + ":3: 'fly': expected "));
  std::ofstream(path, std::ios::trunc).flush();
  CHECK(scenario_from_name_or_file(path).error() ==
        path + ":1: it is empty; expected scenario text, docs/scenarios.md");
  CHECK(scenario_from_name_or_file(folder.file(""))
            .error()
            .find("expected a file of scenario text") != std::string::npos);
  CHECK(scenario_from_name_or_file("quik").error().find("nearest is quick") != std::string::npos);
}
