// The commands as a user types them, on a job that a simulated site has filled: exit status, one
// clear line for what is wrong, and files that say the same as the store.
#include <algorithm>
#include <catch2/catch.hpp>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "tests/scenarios/site_rig.hpp"

using namespace scenarios;

namespace {

std::string text_of(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

void write(const std::filesystem::path& path, const std::string& text) {
  std::ofstream(path, std::ios::binary | std::ios::trunc) << text;
}

// Three invented hours with an unplugged cable and a box that restarts; run once for all cases.
struct FilledJob {
  ScratchFolder scratch;
  SiteRig rig;
  std::string dir;

  FilledJob() : rig(settings(scratch.path())), dir(rig.job_dir().string()) {
    const auto noted =
        dwellog({"note", dir, "delivery", "--by", "A. Sample", "--at", "2026-03-02T07:15:00Z"});
    REQUIRE(noted.status == 0);
    rig.start_daemon();
    const auto status = rig.run_to_end();
    INFO(rig.daemon_log());
    REQUIRE(status == 0);
  }

  static RigSettings settings(const std::filesystem::path& scratch) {
    RigSettings settings;
    settings.scenario = *firmware::sim::scenario_from_name("quick");
    settings.job_edit_from = R"("command": [])";
    // Refuses the first message twice, then takes everything.
    const std::string folder = scratch.string();
    settings.job_edit_to = R"("command": ["sh", "-c", "n=$(cat )" + folder +
                           R"(/tries 2>/dev/null || echo 0); echo $((n+1)) > )" + folder +
                           R"(/tries; [ $n -ge 2 ] || { echo busy >&2; exit 1; }; cat >> )" +
                           folder + R"(/received"])";
    return settings;
  }
};

FilledJob& filled_job() {
  static FilledJob job;
  return job;
}

std::size_t lines_of(const std::string& text) {
  return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
}

}  // namespace

TEST_CASE("EveryRecordTheBoxTookIsStoredAndExported") {
  auto opened = filled_job().rig.open();
  const std::size_t stored = stored_records(opened).size();
  CHECK(stored >= 179);  // three hours at one a minute, less at most one at the restart
  const auto exported = dwellog({"export", filled_job().dir});
  CHECK(exported.status == 0);
  CHECK(lines_of(exported.out) == stored + 1);
  CHECK(exported.out.rfind("time_utc,time_error_s,box_id,boot,sequence,ticks_ms,flags,"
                           "air-t_raw_counts,air-t_celsius,air-t_quality,air-rh_raw_counts,"
                           "air-rh_percent_rh,air-rh_quality,",
                           0) == 0);
  CHECK(exported.out.find("\r\n2026-03-02T07:00:02") != std::string::npos);
  const auto german = dwellog({"export", filled_job().dir, "--separator", ";", "--decimal", ",",
                               "--from", "2026-03-02T08:30:00Z"});
  CHECK(german.status == 0);
  CHECK(lines_of(german.out) < stored);
  CHECK(german.out.find(";good;") != std::string::npos);
  CHECK(dwellog({"export", filled_job().dir, "--separator", ",", "--decimal", ","}).status == 1);
}

TEST_CASE("TheKeptAccountAgreesWithAReplay") {
  const auto inspected = dwellog({"inspect", filled_job().dir});
  INFO(inspected.out);
  CHECK(inspected.status == 0);
  CHECK(inspected.out.find("dwell agrees with") != std::string::npos);
}

TEST_CASE("StatusSaysSimulatedAndCannotTellWithoutWhatAPersonMustNote") {
  const auto status = dwellog({"status", filled_job().dir});
  INFO(status.out);
  CHECK(status.status == 2);  // three hours are not 48
  CHECK(status.out.rfind("SIMULATED SITE", 0) == 0);
  CHECK(status.out.find("NOT READY") != std::string::npos);
  std::istringstream lines(status.out);
  for (std::string line; std::getline(lines, line);) {
    std::size_t columns = 0;
    for (const char c : line) {
      columns += (static_cast<unsigned char>(c) & 0xc0U) != 0x80U ? 1 : 0;
    }
    INFO(line);
    CHECK(columns <= 80);
  }
  const auto tree = nlohmann::json::parse(dwellog({"status", filled_job().dir, "--json"}).out);
  CHECK(tree["simulated"] == true);
  CHECK(tree["rooms"][0]["verdict"] == "not ready");
  CHECK(tree["rooms"][0]["channels"][0]["value_celsius"].is_number());
}

TEST_CASE("AMessageIsTriedUntilItIsDeliveredAndThenNeverAgain") {
  const std::string received = text_of(filled_job().scratch.path() / "received");
  INFO(received);
  CHECK(std::stoi(text_of(filled_job().scratch.path() / "tries")) ==
        2 + static_cast<int>(lines_of(received)));
  std::istringstream lines(received);
  std::string line;
  REQUIRE(std::getline(lines, line));
  const auto message = nlohmann::json::parse(line);
  CHECK(message["rule"] == "probe_silent");  // the cable is out for half an hour and more
  CHECK(message["simulated"] == true);
}

TEST_CASE("ASimulatedJobStaysSimulated") {
  const auto run = dwellog({"run", filled_job().dir});
  CHECK(run.status == 1);
  CHECK(lines_of(run.out) == 1);
}

TEST_CASE("ACertificateVerifiesAndATamperedOneDoesNot") {
  const std::filesystem::path dir = filled_job().dir;
  const auto certified = dwellog({"certify", dir.string()});
  INFO(certified.out);
  REQUIRE(certified.status == 0);
  CHECK(certified.out.find("not ready") != std::string::npos);
  const std::string certificate = (dir / "certificates/living-room-1.json").string();
  const std::string readings = (dir / "certificates/living-room-1.readings.csv").string();
  const std::string key = (dir / "certificate-key.pub").string();
  const auto proved = dwellog({"verify", certificate, "--key", key, "--readings", readings});
  INFO(proved.out);
  CHECK(proved.status == 0);
  CHECK(proved.out.find("SIMULATED SITE") != std::string::npos);
  CHECK(dwellog({"verify", certificate, "--readings", readings}).status == 3);

  const std::filesystem::path copy = filled_job().scratch.path() / "copy.json";
  std::string text = text_of(certificate);
  const std::size_t name = text.find("Scenario (invented)");
  REQUIRE(name != std::string::npos);
  text.replace(name, 19, "Real site, measured");
  write(copy, text);
  CHECK(dwellog({"verify", copy.string(), "--key", key}).status == 2);
  write(copy, text_of(certificate) + "\n");
  CHECK(dwellog({"verify", copy.string(), "--key", key}).status == 1);

  const std::filesystem::path edited = filled_job().scratch.path() / "edited.csv";
  std::string rows = text_of(readings);
  rows.erase(rows.rfind('\n', rows.size() - 2) + 1);  // the last reading is cut off
  write(edited, rows);
  CHECK(dwellog({"verify", certificate, "--key", key, "--readings", edited.string()}).status == 2);

  const std::filesystem::path other = filled_job().scratch.path() / "other";
  REQUIRE(dwellog({"new", other.string()}).status == 0);
  CHECK(
      dwellog({"verify", certificate, "--key", (other / "certificate-key.pub").string()}).status ==
      2);
  CHECK(dwellog({"certify", other.string()}).status == 1);  // no readings yet: said, not faked
}

TEST_CASE("WrongWordsGiveOneClearLineAndChangeNothing") {
  const std::string dir = filled_job().dir;
  const std::vector<std::vector<std::string>> wrong = {
      {"note", dir, "gate", "flat", "maybe", "--by", "me"},
      {"note", dir, "delivery", "--by", "me", "--at", "2026-03-02 08:00"},
      {"note", dir, "delivery", "--by", "me", "--room", "kitchen"},
      {"note", dir, "placement", "slab-x", "--by", "me"},
      {"note", dir, "calibration", "air-t", "--by", "me", "--due", "2020-01-01T00:00:00Z"},
      {"note", dir, "party", "--by", "me"},
      {"status", dir, "--at", "yesterday"},
      {"status", dir + "-gone"},
      {"certify", dir, "--room", "kitchen"},
      {"import", dir, "nothing.csv"},
      {"new", dir},
      {"export", dir, "-o", dir + "/job.json"},
      {"export", dir, "--separator", "5"},
      {"note", dir, "gate", "flat", "met", "--by", "M\xfcller"},
      {"note", dir, "gate", "flat", "met", "--by", ""},
      {"note", dir, "calibration", "air-t", "--by", "me", "--due", "2099-01-01T00:00:00Z",
       "--reference", "x", "--uncertainty", "nan"},
      {"note", dir, "gate", "flat", "met", "--bye", "me"},
      {"nonsense", dir}};
  const auto notes_before = dwellog({"status", dir, "--json"}).out;
  for (const auto& arguments : wrong) {
    const auto result = dwellog(arguments);
    INFO(arguments[0] + " " + arguments.back() + ": " + result.out);
    CHECK(result.status == 1);
    CHECK(lines_of(result.out) == 1);
    CHECK(result.out.rfind("dwellog: ", 0) == 0);
  }
  CHECK(dwellog({"status", dir, "--json"}).out == notes_before);
}

TEST_CASE("ASecretKeyThatOthersCanReadIsRefused") {
  const ScratchFolder scratch;
  const auto dir = scratch.path() / "job";
  REQUIRE(dwellog({"new", dir.string()}).status == 0);
  CHECK(dwellog({"check", dir.string()}).status == 0);
  std::filesystem::permissions(dir / "certificate-key.secret", std::filesystem::perms::group_read,
                               std::filesystem::perm_options::add);
  const auto checked = dwellog({"check", dir.string()});
  CHECK(checked.status == 1);
  CHECK(checked.out.find("chmod 600") != std::string::npos);
}
