// What people note with measured values: the gates they lead to, and one clear line for what is
// wrong. No site is simulated; the job is as `dwellog new` leaves it.
#include <catch2/catch.hpp>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "tests/scenarios/site_rig.hpp"

using namespace scenarios;
using nlohmann::json;

namespace {

struct NewJob {
  ScratchFolder scratch;
  std::string dir = (scratch.path() / "job").string();

  NewJob() {
    REQUIRE(dwellog({"new", dir, "--port", "/dev/null"}).status == 0);
    replace(R"("minimum_age_days": 60,)",
            R"("minimum_age_days": 60, "emission_high_g_per_m2_day": 55, )"
            R"("carbide_high_percent": 1.8,)");
  }
  void replace(const std::string& from, const std::string& to) const {
    const auto path = std::filesystem::path(dir) / "job.json";
    std::stringstream text;
    text << std::ifstream(path).rdbuf();
    std::string job = text.str();
    REQUIRE(job.find(from) != std::string::npos);
    job.replace(job.find(from), from.size(), to);
    std::ofstream(path) << job;
  }
  [[nodiscard]] json gate(const std::string& id) const {
    const auto status = dwellog({"status", dir, "--json"});
    INFO(status.out);
    const json tree = json::parse(status.out);
    for (const json& gate : tree["rooms"][0]["gates"]) {
      if (gate["id"] == id) {
        return gate;
      }
    }
    return {};
  }
  CommandResult note(std::vector<std::string> words) const {
    words.insert(words.begin(), {"note", dir});
    words.insert(words.end(), {"--by", "A. Tester"});
    return dwellog(words);
  }
};

}  // namespace

TEST_CASE("DishAndCarbideTestsDecideTheirGates") {
  const NewJob job;
  CHECK(job.gate("slab_emission")["state"] == "unknown");
  const auto noted = job.note({"dish-test", "--service-hours", "72", "--dish", "6.0,0.0427,66",
                               "--dish", "5.1,0.0427,66", "--dish", "4.4,0.0427,66.5"});
  CHECK(noted.out.rfind("noted: dish-test, ", 0) == 0);
  REQUIRE(noted.status == 0);
  const json met = job.gate("slab_emission");
  CHECK(met["state"] == "met");
  CHECK(met["reason"].get<std::string>().find("51.1 g/m² in 24 h") != std::string::npos);
  CHECK(met["wrong_probability_fraction"].is_number());

  REQUIRE(job.note({"dish-test", "--service-hours", "72", "--dish", "6.0,0.0427,66"}).status == 0);
  // Too few places do not count, and never take the place of a test that does; a wet one is enough
  // to refuse the floor.
  CHECK(job.gate("slab_emission")["state"] == "met");
  REQUIRE(job.note({"dish-test", "--service-hours", "72", "--dish", "20,0.0427,66"}).status == 0);
  CHECK(job.gate("slab_emission")["state"] == "not met");

  REQUIRE(job.note({"carbide-test", "--sample", "1.95"}).status == 0);
  CHECK(job.gate("slab_carbide")["state"] == "not met");
}

TEST_CASE("PinsInWoodAreCorrectedAndDecideTheirGate") {
  const NewJob job;
  job.replace(R"("evidence": {)",
              R"("wood_subfloor": {"moisture_high_percent": 13, "source": "x"}, "evidence": {)");
  REQUIRE(job.note({"wood-test", "--wood", "12,7", "--wood", "10,7"}).status == 0);
  CHECK(job.gate("wood_subfloor")["state"] == "not met");  // 13.2 % at 7 degC
  REQUIRE(job.note({"wood-test", "--wood", "12,20"}).status == 0);
  CHECK(job.gate("wood_subfloor")["state"] == "met");
}

TEST_CASE("TwoFixedPointsGiveGainOffsetAndUncertainty") {
  const NewJob job;
  const auto noted =
      job.note({"calibration", "air-rh", "--due", "2099-01-01T00:00:00Z", "--reference", "salts",
                "--fixed-point", "NaCl,77.3,20.0,0.3", "--fixed-point", "MgCl2,34.1,20.0,0.3"});
  INFO(noted.out);
  REQUIRE(noted.status == 0);
  // 75.48 and 33.07 %RH at 20 degC: gain 42.41 / 43.2.
  CHECK(noted.out.find("gain 0.981") != std::string::npos);
  CHECK(noted.out.find("offset -0.") != std::string::npos);
}

TEST_CASE("WrongMeasuredNotesAreRefusedAndNothingIsStored") {
  const NewJob job;
  const std::vector<std::pair<std::vector<std::string>, std::string>> refused = {
      {{"dish-test"}, "--dish GAIN,AREA,HOURS"},
      {{"dish-test", "--service-hours", "72", "--dish", "6.0,0.0427"}, "expected GAIN,AREA,HOURS"},
      {{"dish-test", "--service-hours", "72", "--dish", "6.0,42.7,66"},
       "covered area 42.7 m²; expected 0.001 to 1 m²"},
      {{"dish-test", "--service-hours", "72", "--dish", "six,0.0427,66"}, "`six` is no number"},
      {{"dish-test", "--service-hours", "-1", "--dish", "6.0,0.0427,66"}, "--service-hours"},
      {{"carbide-test"}, "--sample"},
      {{"carbide-test", "--sample", "95"}, "expected 0 to 15 CM-%"},
      {{"carbide-test", "--sample", "2", "--dish", "1,0.04,72"},
       "--dish belongs to a note of dish-test, not of carbide-test"},
      {{"gate", "flat", "met", "--carton-celsius", "3"}, "--carton-celsius belongs to"},
      {{"wood-test"}, "--wood SHOWN,CELSIUS"},
      {{"wood-test", "--wood", "3,16"}, "moisture shown 3 %; expected 6 to 25 %"},
      {{"wood-test", "--wood", "11"}, "expected two numbers"},
      {{"wood-test", "--wood", "11,16", "--species", "0,0"}, "slope 0 %"},
      {{"delivery", "--carton-celsius", "200"}, "--carton-celsius: temperature 200 °C"},
      {{"calibration", "air-rh", "--due", "2099-01-01T00:00:00Z", "--reference", "s",
        "--fixed-point", "NaCl,77.3,20.0"},
       "given 1 times"},
      {{"calibration", "air-rh", "--due", "2099-01-01T00:00:00Z", "--reference", "s",
        "--fixed-point", "Salt,77.3,20.0", "--fixed-point", "MgCl2,34.1,20.0"},
       "no salt known here"},
      {{"calibration", "air-rh", "--due", "2099-01-01T00:00:00Z", "--reference", "s",
        "--fixed-point", "NaCl,77.3,20.0", "--fixed-point", "NaCl,77.1,20.0"},
       "less than 20 %RH apart"},
      {{"calibration", "air-rh", "--due", "2099-01-01T00:00:00Z", "--reference", "s",
        "--fixed-point", "NaCl,34.1,20.0", "--fixed-point", "MgCl2,77.3,20.0"},
       "swapped"},
      {{"calibration", "air-t", "--due", "2099-01-01T00:00:00Z", "--reference", "s",
        "--fixed-point", "NaCl,77.3,20.0", "--fixed-point", "MgCl2,34.1,20.0"},
       "measures no humidity"},
      {{"calibration", "air-rh", "--gain", "1.01", "--due", "2099-01-01T00:00:00Z", "--reference",
        "s", "--fixed-point", "NaCl,77.3,20.0", "--fixed-point", "MgCl2,34.1,20.0"},
       "leave out --gain"}};
  for (const auto& [words, expected] : refused) {
    const auto result = job.note(words);
    CAPTURE(words, result.out);
    CHECK(result.status == 1);
    CHECK(result.out.find(expected) != std::string::npos);
  }
  CHECK(job.gate("slab_emission")["reason"].get<std::string>().rfind("Nobody has noted", 0) == 0);
}

TEST_CASE("CheckNamesWrongKeysOfTheDeeperAnalysis") {
  const std::vector<std::array<std::string, 3>> edits = {
      {R"("floor_area_m2": 24.0,)", R"("floor_area_m2": 24.0, "stack": {"carton_length_cm": 129},)",
       R"(unknown key "carton_length_cm"; did you mean "carton_length_m")"},
      {R"("floor_area_m2": 24.0,)",
       R"("floor_area_m2": 24.0, "slab_build": {"thickness_mm": 100, "drying": "one_side", "probe_depth_mm": 120},)",
       "probe_depth_mm: 120 mm is not within the slab of 100 mm"},
      {R"("floor_area_m2": 24.0,)",
       R"("floor_area_m2": 24.0, "movement": {"width_m": 7, "gap_mm": 10, "service_low_percent_rh": 70, "service_high_percent_rh": 60, "source": "x"},)",
       "service_low_percent_rh"},
      {R"("role": "room_air_temperature" })",
       R"("role": "room_air_temperature", "accuracy": {"limits_percent_rh": 2, "source": "x"} })",
       R"(expected "limits_kelvin")"},
      {R"("floor_area_m2": 24.0,)",
       R"("floor_area_m2": 24.0, "slab_poured_at": "2026-01-15", "slab_build": {"thickness_mm": 100, "drying": "one_side", "drying_from": "2025-01-01"},)",
       "is before the slab was poured"},
      {R"("rule": "simple")", R"("rule": "cautious")", "simple"}};
  for (const auto& [from, to, expected] : edits) {
    const NewJob job;
    job.replace(from, to);
    const auto result = dwellog({"check", job.dir});
    CAPTURE(to, result.out);
    CHECK(result.status == 1);
    CHECK(result.out.find(expected) != std::string::npos);
  }
}
