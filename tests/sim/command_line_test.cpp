#include "firmware-sim/sim/command_line.hpp"

#include <catch2/catch.hpp>
#include <fstream>
#include <sstream>

#include "tests/sim/line_end.hpp"

using namespace firmware::sim;

namespace {

std::string error_of(const std::vector<std::string>& arguments) {
  const auto options = options_from_arguments(arguments);
  return options ? "" : options.error();
}

}  // namespace

TEST_CASE("DefaultsAreOneBoxInLockStep") {
  const auto options = options_from_arguments({"--port", "/tmp/a", "--time-socket=/tmp/t"});
  REQUIRE(options.has_value());
  const RunSettings& run = options.value().run;
  CHECK(run.scenario.name == "heater-failure");
  CHECK(run.pace == Pace::lock_step);
  CHECK(run.clients == 1);
  REQUIRE(run.boxes.size() == 1);
  CHECK(run.boxes[0].port == "/tmp/a");
  CHECK(run.boxes[0].box.unit == 1);
  CHECK(run.boxes[0].box.serial == 1001);
  CHECK_FALSE(options.value().progress);
}

TEST_CASE("SeveralBoxesShareALineOrHaveOneEach") {
  const auto shared =
      options_from_arguments({"--port", "/tmp/a", "--real-time", "--boxes", "3", "--nv", "/tmp/n"});
  REQUIRE(shared.has_value());
  CHECK(shared.value().run.boxes[2].port == "/tmp/a");
  CHECK(shared.value().run.boxes[2].box.unit == 3);
  CHECK(shared.value().run.boxes[2].box.memory_file == "/tmp/n.1003");
  const auto apart = options_from_arguments(
      {"--port", "/tmp/a", "--real-time", "--boxes", "2", "--separate-lines"});
  REQUIRE(apart.has_value());
  CHECK(apart.value().run.boxes[1].port == "/tmp/a.2");
  CHECK(apart.value().run.boxes[1].box.unit == 1);
}

TEST_CASE("BoxesCanBeNamedOneByOne") {
  const auto options = options_from_arguments({"--real-time", "--port", "/tmp/a", "--box", "7:42",
                                               "--box", "8:43:/tmp/b", "--interval-s", "10",
                                               "--drift-ppm", "-25.5", "--seed", "9"});
  REQUIRE(options.has_value());
  const RunSettings& run = options.value().run;
  REQUIRE(run.boxes.size() == 2);
  CHECK(run.boxes[0].port == "/tmp/a");
  CHECK(run.boxes[0].box.serial == 42);
  CHECK(run.boxes[1].port == "/tmp/b");
  CHECK(run.boxes[1].box.unit == 8);
  CHECK(run.boxes[1].box.sample_interval_s == 10);
  CHECK(run.boxes[1].box.drift_ppm == -25.5);
  CHECK(run.scenario.seed == 9);
}

TEST_CASE("WrongArgumentsGiveOneClearLine") {
  CHECK(error_of({"--scenrio", "quick"}) ==
        "'--scenrio' is no option of probe-box-sim; --help lists them");
  CHECK(error_of({"--port", "/tmp/a"}) ==
        "--time-socket is missing: expected the path of the socket to make, or --real-time");
  CHECK(error_of({"--real-time"}) == "--port is missing: expected the path of the link to make");
  CHECK(error_of({"--seed"}) == "--seed needs a value");
  CHECK(error_of({"--seed", "-1"}) ==
        "--seed '-1': expected a whole number from 0 to 18446744073709551615");
  CHECK(error_of({"--boxes", "248"}) == "--boxes '248': expected a whole number from 1 to 247");
  CHECK(error_of({"--interval-s", "3601"}) ==
        "--interval-s '3601': expected a whole number from 1 to 3600");
  CHECK(error_of({"--drift-ppm", "nan"}) ==
        "--drift-ppm 'nan': expected a number from -1000 to 1000 ppm");
  CHECK(
      error_of({"--real-time", "--port", "/tmp/a", "--scenario", "calm"})
          .starts_with("--scenario: scenario 'calm': expected a file of scenario text or one of "));
  CHECK(error_of({"--real-time", "--box", "0:5:/tmp/a"}).find("unit 1 to 247") !=
        std::string::npos);
  CHECK(error_of({"--real-time", "--box", "1:5"}).find("a port here or with --port") !=
        std::string::npos);
  CHECK(error_of({"--real-time", "--time-socket", "/tmp/t", "--port", "/tmp/a"}) ==
        "--time-socket and --real-time exclude each other");
}

TEST_CASE("EveryBuiltInScenarioIsListedWithASentence") {
  REQUIRE(options_from_arguments({"--list"}).has_value());
  CHECK(options_from_arguments({"--list"}).value().list);
  std::istringstream lines(list_text());
  std::string line;
  for (const std::string& name : scenario_names()) {
    REQUIRE(std::getline(lines, line));
    CAPTURE(line);
    CHECK(line.starts_with(name + " "));
    CHECK(line.ends_with('.'));
    CHECK(line.find('#') == std::string::npos);
    CHECK(line.size() <= 110);
  }
  CHECK_FALSE(std::getline(lines, line));
}

TEST_CASE("BoxesThatCantBeToldApartAreRefused") {
  RunSettings settings;
  settings.pace = Pace::free;
  settings.boxes.resize(2);
  settings.boxes[1].box.unit = 2;
  const auto twice = SimulationRun::create(settings);
  REQUIRE_FALSE(twice.has_value());
  CHECK(twice.error() == "'serial 1001' of box 2: expected another than that of box 1");
  CHECK(error_of({"--real-time", "--port", "/tmp/a", "--box", "1:7", "--box", "1:8"}) ==
        "'unit 1' of box 2: expected a unit that is free on /tmp/a, box 1 has this one");
}

TEST_CASE("AScenarioWithBoxesOfItsOwnIsPutOnThePort") {
  const sim_test::TemporaryFolder folder;
  const std::string path = folder.file("own.scenario");
  std::ofstream(path)
      << "start 2026-03-02T07:00:00Z\nlength 3h\nbox 1\nbox 2 line 2 interval 10s\n";
  const auto options = options_from_arguments({"--scenario", path, "--real-time", "--port", "/t"});
  REQUIRE(options.has_value());
  const RunSettings& run = options.value().run;
  REQUIRE(run.boxes.size() == 2);
  CHECK(run.boxes[0].port == "/t");
  CHECK(run.boxes[1].port == "/t.2");
  CHECK(run.boxes[1].box.sample_interval_s == 10);
  CHECK(error_of({"--scenario", path, "--real-time", "--port", "/t", "--boxes", "3"}) ==
        path + " names its own boxes; expected no option about boxes but --port");
  CHECK(error_of({"--scenario", path, "--real-time"}).starts_with("--port is missing"));
  std::ofstream(path, std::ios::app) << "at 1h reboot box 3\n";
  CHECK(error_of({"--scenario", path, "--real-time", "--port", "/t"}) ==
        path + ":5: 'box 3': expected 1 to 2");
}
