// `dwellog outlook` over small stores: what it says, what it says is missing, its exit statuses.
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <functional>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/outlook/outlook_report.hpp"
#include "logger/app/outlook/texts/section_texts.hpp"
#include "logger/app/text/terminal_text.hpp"
#include "logger/ingest/csv_import.hpp"
#include "tests/app/scratch_folder.hpp"

using namespace logger::app;
using analysis::base::micros_from_hours;
using nlohmann::json;

namespace {

const UtcMicros kNow{1'772'434'800'000'000};  // 2026-03-02T07:00:00Z
const UtcMicros kDelivery = kNow - micros_from_hours(50);

const json kLog = {{"time_column", "time"}};

json channel(int index, const std::string& id, const std::string& role, const std::string& unit) {
  json tree = {
      {"index", index}, {"id", id}, {"role", role}, {"csv_column", id}, {"csv_unit", unit}};
  if (!role.starts_with("outdoor")) {
    tree["room"] = "hall";
  }
  return tree;
}

// Nothing that may be left out.
json bare_job() {
  return {{"format", "dwellog-job/1"},
          {"job", {{"name", "Job"}, {"site_address", "Lane 4"}, {"installer", "A. Fitter"}}},
          {"rooms",
           {{{"id", "hall"},
             {"name", "Hall"},
             {"floor_area_m2", 120},
             {"floor_product", "Laminate 8 mm"}}}},
          {"boxes",
           {{{"id", "log"},
             {"csv", kLog},
             {"channels",
              {channel(0, "t", "room_air_temperature", "celsius"),
               channel(1, "rh", "room_air_rh", "percent_rh"),
               channel(2, "slab", "slab_rh", "percent_rh"),
               channel(3, "out-t", "outdoor_temperature", "celsius"),
               channel(4, "out-rh", "outdoor_rh", "percent_rh")}}}}}};
}

json full_job() {
  json job = bare_job();
  json& room = job["rooms"][0];
  room["stack"] = {{"carton_length_m", 1.29}, {"carton_width_m", 0.195}, {"carton_height_m", 0.09},
                   {"cartons_high", 10},      {"cartons_wide", 3},       {"carton_mass_kg", 14}};
  room["slab_build"] = {{"thickness_mm", 120},
                        {"drying", "one_side"},
                        {"barrier_below", true},
                        {"drying_from", "2025-12-20"},
                        {"strength_mpa", 30}};
  room["air"] = {{"volume_m3", 300}};
  room["movement"] = {{"width_m", 9},
                      {"gap_mm", 8},
                      {"service_low_percent_rh", 30},
                      {"service_high_percent_rh", 65},
                      {"source", "paper"}};
  room["requirements"] = {
      {"slab", {{"rh_high_percent_rh", 75}, {"source", "paper"}}},
      {"stack_core", {{"probe_required", false}, {"within_kelvin", 1}, {"source", "paper"}}}};
  json& channels = job["boxes"][0]["channels"];
  channels[0]["accuracy"] = {{"limits_kelvin", 0.3}, {"source", "paper"}};
  channels[1]["accuracy"] = {{"limits_percent_rh", 2}, {"source", "paper"}};
  channels[2]["accuracy"] = {{"limits_percent_rh", 1.5}, {"source", "paper"}};
  channels[2]["placed_at"] = "2026-02-02T07:00:00Z";  // settled a day later
  return job;
}

// A probe in the core of the stack and one on the slab, beside what full_job has.
json job_with_probes() {
  json job = full_job();
  json& channels = job["boxes"][0]["channels"];
  channels.push_back(channel(5, "core", "stack_core_temperature", "celsius"));
  channels.push_back(channel(6, "surface", "slab_surface_temperature", "celsius"));
  for (const int index : {5, 6}) {
    channels[index]["accuracy"] = {{"limits_kelvin", 0.3}, {"source", "paper"}};
    channels[index]["placed_at"] = "2026-02-28T06:00:00Z";
  }
  return job;
}

struct Site {
  double days = 30.0;
  double air_celsius = 20.0;
  double air_percent_rh = 38.0;
  bool simulated = true;
  bool delivered = true;
  std::optional<double> carton_celsius = 4.0;
  std::function<double(double)> air_course{};   // celsius by hours before kNow, instead of a wave
  std::function<double(double)> core_course{};  // likewise; 20 where there is none
};

// Half-hourly readings up to kNow; the slab dries by the root of time.
std::vector<logger::store::Record> records_of(const Site& site) {
  std::vector<logger::store::Record> records;
  const auto hours = static_cast<int>(site.days * 24.0) * 2;
  for (int k = 0; k <= hours; ++k) {
    const std::int64_t ticks = (kNow.value / 1000) - (hours - k) * 1'800'000LL;
    const double day = k / 48.0;
    const double before = (hours - k) / 2.0;
    const std::array<double, 7> values{
        site.air_course ? site.air_course(before) : site.air_celsius + 0.1 * std::sin(k),
        site.air_percent_rh + 0.5 * std::sin(0.7 * k),
        95.0 - 1.2 * std::sqrt(day + 10.0) + 0.2 * std::sin(1.3 * k),
        0.0,
        85.0,
        site.core_course ? site.core_course(before) : 20.0,
        18.0};
    logger::store::Record record;
    record.id = {0, ticks};
    record.ticks_ms = ticks;
    record.statuses.fill(analysis::base::ChannelStatus::not_fitted);
    for (std::size_t i = 0; i < values.size(); ++i) {
      record.statuses[i] = analysis::base::ChannelStatus::ok;
      record.raw_counts[i] = static_cast<std::int32_t>(std::lround(100.0 * values[i]));
    }
    records.push_back(record);
  }
  return records;
}

template <class T>
T must(logger::store::Result<T> result) {
  INFO((result ? std::string{} : result.error().context));
  REQUIRE(result.has_value());
  return std::move(result).value();
}

class JobOnDisk {
 public:
  JobOnDisk(const json& job, const Site& site) {
    std::ostringstream out, err;
    NewOptions options;
    options.job_dir = dir();
    REQUIRE(new_job(options, {out, err}) == kExitDone);
    std::ofstream(dir() / "job.json", std::ios::trunc) << job.dump(1);
    OpenedJob opened = must(open_job(dir(), true));
    REQUIRE(opened.store->mark_simulated(site.simulated));
    logger::store::BoxBatch box;
    box.box_id = "log";
    box.records = records_of(site);
    for (const auto& exchange :
         logger::ingest::exchanges_for_import(box.records, analysis::base::Micros{1'000'000})) {
      box.exchanges.emplace_back(0, exchange);
    }
    logger::store::CommitBatch batch;
    batch.boxes.push_back(std::move(box));
    batch.seen_at = kNow;
    must(opened.store->commit(batch));
    if (site.delivered) {
      logger::store::Note note{0, kDelivery, kDelivery, "delivery", "hall", "me", "{}"};
      if (site.carton_celsius) {
        note.content_json = json{{"carton_celsius", *site.carton_celsius}}.dump();
      }
      must(opened.store->append_note(note));
    }
  }
  [[nodiscard]] std::filesystem::path dir() const { return scratch_.path() / "job"; }
  [[nodiscard]] const std::filesystem::path& scratch() const { return scratch_.path(); }

 private:
  ScratchFolder scratch_;
};

struct Said {
  int status = -1;
  std::string out;
  std::string err;
  // With line ends and the indent behind them as one blank, so that sentences can be looked for.
  [[nodiscard]] std::string flat() const {
    std::istringstream words(out);
    std::string word, text;
    while (words >> word) {
      text += (text.empty() ? "" : " ") + word;
    }
    return text;
  }
};

Said outlook_of(const std::filesystem::path& dir,
                const std::function<void(OutlookOptions&)>& change = {}) {
  OutlookOptions options;
  options.job_dir = dir;
  if (change) {
    change(options);
  }
  std::ostringstream out, err;
  const int status = outlook(options, {out, err});
  return {status, out.str(), err.str()};
}

bool holds(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

void check_words(const std::string& flat) {
  CHECK_FALSE(holds(flat, "safe"));
  CHECK_FALSE(holds(flat, "guarantee"));
  std::size_t at = 0;
  while ((at = flat.find("equilibrated", at)) != std::string::npos) {
    CHECK(flat.substr(at - 8, 8) == "has not ");
    ++at;
  }
}

void check_width(const std::string& text) {
  std::istringstream lines(text);
  std::string line;
  while (std::getline(lines, line)) {
    INFO(line);
    CHECK(columns_of(line) <= kTerminalWidth);
  }
}

}  // namespace

TEST_CASE("A fully described room gets every section, within 80 columns and honest words") {
  const JobOnDisk job(full_job(), {.air_celsius = 15.0});
  for (const bool imperial : {false, true}) {
    const Said said = outlook_of(job.dir(), [&](OutlookOptions& o) { o.imperial = imperial; });
    CHECK(said.status == kExitDone);
    CHECK(said.err.empty());
    CHECK(said.out.starts_with("SIMULATED SITE"));
    check_width(said.out);
    const std::string flat = said.flat();
    check_words(flat);
    for (const char* part : {"\nWhen\n", "\nCartons: heat\n", "\nCartons: moisture\n", "\nSlab\n",
                             "\nRoom air\n", "\nMovement and gaps\n", "\nUncertainty\n",
                             "\nCautions\n", "● core, usual material", "─ limit 75.0 %RH"}) {
      INFO(part);
      CHECK(holds(said.out, part));
    }
    for (const char* part :
         {"not a promise", "does not replace the test", "film closed all round, which is assumed",
          "the panels' own may differ", "has not equilibrated", "it can't warm through",
          "4 for this floor, 1 channel is declared: too few for the practice",
          "at sea level (job.altitude_m is not given)", "airing dries the room",
          "0.3 to 1.0 air changes an hour assumed", "humidify to", "carbon monoxide",
          "licensed electrician", "tensioned tendons", "can tip", "kg/m2"}) {
      INFO(part);
      CHECK(holds(flat, part));
    }
    CHECK(holds(flat, imperial ? "39.2 °F, as noted" : "4.0 °C, as noted"));
    CHECK(holds(flat,
                imperial ? "the planned 0.31 in is short by" : "the planned 8.0 mm is short by"));
  }
}

TEST_CASE("The forecast's three dates rise, and rest on the half-day means after settling") {
  const JobOnDisk job(full_job(), {});
  OpenedJob opened = must(open_job(job.dir(), false));
  const OutlookReport report = must(outlook_report_from(opened, "hall", std::nullopt));
  const SlabProbeOutlook& probe = report.rooms.at(0).slab->probes.at(0);
  REQUIRE(probe.forecast);
  INFO((probe.forecast->has_value() ? std::string{} : text_of(probe.forecast->error())));
  REQUIRE(probe.forecast->has_value());
  const auto& forecast = probe.forecast->value();
  CHECK(forecast.early.at > kNow);
  CHECK(forecast.early.at < forecast.median.at);
  CHECK(forecast.median.at < forecast.late.at);
  CHECK(probe.course.size() == 2 * 27 + 1);  // 3 February 07:00 to 2 March 07:00, by half days
  CHECK(probe.course.front().at > *probe.settled_at);
  CHECK_FALSE(probe.default_uncertainty);
  CHECK(report.rooms.at(0).slab->standard_depth->value() == Approx(0.048));
  CHECK(report.rooms.at(0).slab->air_days == Approx(13.0 + 8.0 / 24.0));
  CHECK(percent_from_rh(*report.rooms.at(0).slab->air_rh) == Approx(38.0).margin(0.05));
}

TEST_CASE(
    "Readings of a probe count from when it has settled, also where it came after the cartons") {
  json tree = full_job();
  tree["boxes"][0]["channels"][2]["placed_at"] = "2026-02-28T19:00:00Z";
  const JobOnDisk job(tree, {});
  OpenedJob opened = must(open_job(job.dir(), false));
  const OutlookReport report = must(outlook_report_from(opened, "", std::nullopt));
  const SlabProbeOutlook& probe = report.rooms.at(0).slab->probes.at(0);
  REQUIRE(probe.course.size() == 2);  // from 1 March 19:00 to 2 March 07:00
  CHECK(probe.course.front().at > *probe.settled_at);
}

TEST_CASE("What a bare job lacks is named, each with the key or note that gives it") {
  Site site;
  site.delivered = false;
  const JobOnDisk job(bare_job(), site);
  const Said said = outlook_of(job.dir());
  CHECK(said.status == kExitDone);
  const std::string flat = said.flat();
  check_words(flat);
  check_width(said.out);
  for (const char* part :
       {"nobody noted the delivery (dwellog note JOBDIR delivery)",
        "does not tell how the cartons lie (rooms[].stack)",
        "does not tell the slab's thickness (rooms[].slab_build.thickness_mm)",
        "(dwellog note JOBDIR placement slab)",
        "does not tell the room's volume "
        "(rooms[].air.volume_m3)",
        "(rooms[].movement)", "How accurate these are: t, rh, slab (boxes[].channels[].accuracy"}) {
    INFO(part);
    CHECK(holds(flat, part));
  }
}

TEST_CASE("Cartons that came at a temperature nobody noted are asked for") {
  Site site;
  site.carton_celsius = std::nullopt;
  const JobOnDisk job(full_job(), site);
  const std::string flat = outlook_of(job.dir()).flat();
  CHECK(holds(flat, "(dwellog note JOBDIR delivery --carton-celsius T)"));
  CHECK_FALSE(holds(flat, "can't warm through"));
}

TEST_CASE("Each reason for no forecast has its own sentence with what would mend it") {
  const auto said_of = [](const std::function<void(json&)>& change, const Site& site) {
    json job = full_job();
    change(job["rooms"][0]);
    const JobOnDisk on_disk(job, site);
    return outlook_of(on_disk.dir()).flat();
  };
  const auto unchanged = [](json&) {};
  CHECK(holds(said_of([](json& room) { room["slab_build"].erase("drying_from"); }, {}),
              "No drying forecast: the job does not tell since when the slab could dry"));
  CHECK(holds(said_of([](json& room) { room["slab_build"].erase("barrier_below"); }, {}),
              "No drying forecast: water may come from below"));
  CHECK(holds(said_of([](json& room) { room["slab_build"]["probe_depth_mm"] = 20; }, {}),
              "No drying forecast: the probe is not at the depth the practice asks"));
  CHECK(holds(said_of(unchanged, {.days = 4.0}), "No drying forecast: there are too few readings"));
  CHECK(holds(said_of(unchanged, {.air_percent_rh = 78.0}),
              "No drying forecast: in air as damp as that"));
  std::set<std::string> sentences;
  for (int reason = 1; reason <= 15; ++reason) {
    const auto text = text_of({static_cast<analysis::readiness::ForecastRefusal>(reason), 3.0});
    INFO(reason);
    CHECK(text.ends_with("."));
    sentences.insert(text);
  }
  CHECK(sentences.size() == 15);
}

namespace {

// Every key of a number ends in its unit, or is a plain count.
void check_units(const json& tree, const std::string& key) {
  static const std::vector<std::string> kUnits{
      "_celsius",    "_percent_rh", "_hours", "_fraction", "_mm",   "_m",       "_kg",
      "_kg_per_day", "_kg_per_kg",  "_pa",    "_years",    "_days", "_fraction"};
  static const std::set<std::string> kPlain{
      "places_required", "half_day_means", "coverage_factor",
      "refusal_number",  "days",           "coefficient_per_rh_fraction"};
  if (tree.is_structured()) {
    for (const auto& [name, value] : tree.items()) {
      check_units(value, tree.is_array() ? key : name);
    }
  } else if (tree.is_number()) {
    INFO(key);
    CHECK((kPlain.count(key) == 1 ||
           std::any_of(kUnits.begin(), kUnits.end(),
                       [&](const std::string& unit) { return key.ends_with(unit); })));
  }
}

}  // namespace

TEST_CASE("The JSON is one object, marked as simulated first, with units in its keys") {
  const JobOnDisk job(full_job(), {});
  const Said said = outlook_of(job.dir(), [](OutlookOptions& o) { o.json = true; });
  CHECK(said.status == kExitDone);
  CHECK(said.out.ends_with("}\n"));
  CHECK(said.out.starts_with("{\n  \"simulated\": true"));
  check_words(said.out);
  const json tree = json::parse(said.out);
  CHECK(tree["format"] == "dwellog-outlook/1");
  check_units(tree, "");
  const json& room = tree["rooms"][0];
  CHECK(room["movement"]["stated"]["fits"] == false);
  // Delivered on 28 February at 05:00; of 2 March only seven hours are recorded.
  CHECK(room["movement"]["logged"]["days"] == 1);
  CHECK(
      room["movement"]["stated"]["gap_needed_mm"].get<double>() ==
      Approx(0.5 * 90.0 * 0.011 * (65.0 - room["movement"]["at_laying_percent_rh"].get<double>())));
  CHECK(room["slab"]["probes"][0]["forecast"]["replaces_the_test"] == false);
  CHECK(room["room_air"]["steps"].size() >= 1);
}

TEST_CASE("Guarded decisions draw the forecast's limit in") {
  json job = full_job();
  job["rooms"][0]["requirements"]["decision"] = {{"rule", "guarded"}, {"source", "firm"}};
  const JobOnDisk on_disk(job, {});
  const std::string flat = outlook_of(on_disk.dir()).flat();
  // Limits of 1.5 %RH are 0.866 %RH standard, 1.7 %RH expanded; resolution does not show.
  CHECK(holds(flat, "down to 73.3 %RH (the limit less the guard)"));
  CHECK(holds(flat, "1.73 %RH is taken off the slab's RH limit (slab)"));
}

TEST_CASE("Charts are written once and never over a file") {
  const JobOnDisk job(full_job(), {});
  for (const bool svg : {true, false}) {
    const auto folder = job.scratch() / "charts";
    const auto with_charts = [&](OutlookOptions& o) {
      o.charts = folder;
      o.svg = svg;
    };
    const std::string ending = svg ? ".svg" : ".png";
    CHECK(outlook_of(job.dir(), with_charts).status == kExitDone);
    for (const char* name : {"stack-hall", "slab-hall", "air-hall"}) {
      CHECK(std::filesystem::file_size(folder / (name + ending)) > 1000);
    }
    std::filesystem::remove(folder / ("stack-hall" + ending));
    const Said again = outlook_of(job.dir(), with_charts);
    CHECK(again.status == kExitInput);
    CHECK(again.out.empty());
    CHECK(holds(again.err, "slab-hall" + ending + " is there already"));
    CHECK_FALSE(std::filesystem::exists(folder / ("stack-hall" + ending)));
  }
  const auto blocked = job.scratch() / "blocked";
  std::ofstream(blocked) << "someone's";
  CHECK(outlook_of(job.dir(), [&](OutlookOptions& o) { o.charts = blocked; }).status ==
        kExitCouldNotDo);
}

TEST_CASE("Wrong input is status 1 with one line") {
  const JobOnDisk job(full_job(), {});
  const std::vector<Said> wrong{
      outlook_of(job.dir(), [](OutlookOptions& o) { o.room = "cellar"; }),
      outlook_of(job.dir(), [](OutlookOptions& o) { o.at = "yesterday"; }),
      outlook_of(job.scratch() / "nothing")};
  for (const Said& said : wrong) {
    INFO(said.err);
    CHECK(said.status == kExitInput);
    CHECK(said.out.empty());
    CHECK(std::count(said.err.begin(), said.err.end(), '\n') == 1);
  }
  CHECK(holds(wrong[0].err, "it has hall"));
}

TEST_CASE("A real job is not marked, and an earlier moment sees the log up to it") {
  Site site;
  site.simulated = false;
  const JobOnDisk job(full_job(), site);
  const Said said = outlook_of(job.dir(), [](OutlookOptions& o) { o.at = "2026-03-01T07:00:00Z"; });
  CHECK(said.status == kExitDone);
  CHECK_FALSE(holds(said.out, "SIMULATED"));
  CHECK(holds(said.out, "outlook at 2026-03-01 07:00 UTC"));
  CHECK(holds(said.flat(), "in 26 h, wrapped in film closed"));
}

TEST_CASE("A room that is brought into its band has times only under that condition") {
  // Dry air at 20 deg C is out of the band and stays so.
  const JobOnDisk job(full_job(), {});
  CHECK(holds(outlook_of(job.dir()).flat(), "out of its band and does not move towards it"));
  const JobOnDisk in_band(full_job(), {.air_percent_rh = 52.0});
  const std::string flat = outlook_of(in_band.dir()).flat();
  CHECK(holds(flat, "Dwell the hours are complete"));
  CHECK(holds(flat, "Core not before"));
  CHECK(holds(flat, "only if the room stays as it is; the core decides"));
}

namespace {

// A room that was warm, lost its heat over 16 h and is cold since four hours; the core is warmer.
Site cooled_to(double celsius, double core_above) {
  Site site;
  site.air_percent_rh = 50.0;
  site.air_course = [=](double before) {
    return std::clamp(celsius + (20.0 - celsius) * (before - 4.0) / 16.0, celsius, 20.0);
  };
  site.core_course = [=, air = site.air_course](double before) {
    return before > 20.0 ? 19.9 : std::min(19.9, air(before) + core_above);
  };
  return site;
}

analysis::readiness::GateState core_gate_of(const JobOnDisk& job) {
  OpenedJob opened = must(open_job(job.dir(), false));
  const OutlookReport report = must(outlook_report_from(opened, "", std::nullopt));
  for (const auto& gate : report.rooms.at(0).assessment.gates) {
    if (gate.id == "stack_core") {
      return gate.state;
    }
  }
  return analysis::readiness::GateState::unknown;
}

Said json_of(const std::filesystem::path& dir,
             const std::function<void(OutlookOptions&)>& change = {}) {
  return outlook_of(dir, [&](OutlookOptions& options) {
    options.json = true;
    if (change) {
      change(options);
    }
  });
}

}  // namespace

TEST_CASE("A core that the gate does not have as met is not said to be warm") {
  {
    // 15.0 deg C of air is below 17 - 1 deg C, which the core must have.
    const JobOnDisk cold(job_with_probes(), cooled_to(15.0, 1.3));
    CHECK(core_gate_of(cold) == analysis::readiness::GateState::not_met);
    const std::string flat = outlook_of(cold.dir()).flat();
    CHECK_FALSE(holds(flat, "warmed through since"));
    CHECK_FALSE(holds(flat, "has come to the room"));
    CHECK(holds(flat, "Core no time: the room is too cold for the cartons"));
    const json room = json::parse(json_of(cold.dir()).out)["rooms"][0];
    CHECK(room["when"]["core"]["no_time"] == "room_too_cold");
    CHECK(room["carton_heat"]["core"]["fast_warm_since_utc"].is_null());
    CHECK(room["carton_heat"]["core"]["slow_warm_since_utc"].is_null());
  }
  // The same in a room that is warm enough: whatever time there is lies ahead.
  const JobOnDisk mild(job_with_probes(), cooled_to(17.2, 1.3));
  CHECK(core_gate_of(mild) == analysis::readiness::GateState::not_met);
  const std::string flat = outlook_of(mild.dir()).flat();
  CHECK_FALSE(holds(flat, "warmed through since"));
  CHECK_FALSE(holds(flat, "has come to the room"));
  const json core = json::parse(json_of(mild.dir()).out)["rooms"][0]["when"]["core"];
  CHECK((core.contains("no_time") || core["likely_utc"] > "2026-03-02T07:00:00Z"));
}

TEST_CASE("A stack that cools to the room has its hours as a range, shortest first") {
  Site site;
  site.carton_celsius = 30.0;
  site.air_celsius = 8.0;
  const JobOnDisk job(full_job(), site);
  const std::string flat = outlook_of(job.dir()).flat();
  CHECK_FALSE(holds(flat, "(fast material)"));
  const auto at = flat.find("comes within 1.0 K of the room in ");
  REQUIRE(at != std::string::npos);
  int shortest = 0, longest = 0;
  REQUIRE(std::sscanf(flat.c_str() + at, "comes within 1.0 K of the room in %d to %d h from now",
                      &shortest, &longest) == 2);
  CHECK(shortest < longest);
}

TEST_CASE("The forecast of the status is whole sentences") {
  logger::app::WhenOutlook when;
  const auto at = analysis::base::utc_from_rfc3339("2026-03-07T07:00:00Z").value();
  when.ready.decided_by = analysis::readiness::room::DecidingPart::core;
  CHECK(logger::app::ready_sentence(when, at) ==
        "When the cartons are warmed through can't be said yet.");
  when.not_before = at;
  CHECK(logger::app::ready_sentence(when, at) ==
        "When the cartons are warmed through can't be said yet; not before " +
            analysis::base::minute_text_from_utc(at) + ".");
  when.ready.decided_by = analysis::readiness::room::DecidingPart::dwell;
  CHECK(logger::app::ready_sentence(when, at).starts_with("When the hours are complete can't"));
  when.ready.at = analysis::readiness::room::ExpectedTime{at, at, at};
  CHECK(logger::app::ready_sentence(when, at) == "The hours are complete.");
  const auto before = at - analysis::base::micros_from_hours(1);
  CHECK(logger::app::ready_sentence(when, before) ==
        "The hours are complete not before " + analysis::base::minute_text_from_utc(at) + ".");
  when.in_doubt = true;
  CHECK(logger::app::ready_sentence(when, at) ==
        "The hours are complete by what was recorded, but that is in doubt now.");
}

TEST_CASE("Without a time it is in any case not before the hours that are missing") {
  // The core alone would be quick; of the dwell nothing is there.
  const JobOnDisk job(job_with_probes(), {});
  CHECK(holds(outlook_of(job.dir()).flat(), "in any case not before 2026-03-04 07:00 UTC"));
  const json when = json::parse(json_of(job.dir()).out)["rooms"][0]["when"];
  CHECK(when["in_any_case_not_before_utc"] == "2026-03-04T07:00:00Z");
}

TEST_CASE("The risk of a wrong ready is rounded up and never nothing") {
  Site site;
  site.air_percent_rh = 52.0;
  const JobOnDisk job(full_job(), site);
  OpenedJob opened = must(open_job(job.dir(), false));
  OutlookReport report = must(outlook_report_from(opened, "", std::nullopt));
  report.rooms.at(0).uncertainty.wrong_ready_probability = 0.00001;
  const std::string text = text_from_outlook(report, false);
  CHECK(holds(text, "at most 0.1 %"));
  CHECK_FALSE(holds(text, " 0.0 % "));
}

TEST_CASE("A test of the wood below is shown, also where nothing judges it") {
  const auto said_of = [](bool judged, bool noted) {
    json tree = bare_job();
    if (judged) {
      tree["rooms"][0]["requirements"] = {
          {"wood_subfloor", {{"moisture_high_percent", 12}, {"source", "paper"}}}};
    }
    const JobOnDisk job(tree, {});
    if (noted) {
      NoteOptions wood;
      wood.job_dir = job.dir();
      wood.kind = "wood-test";
      wood.room = "hall";
      wood.by = "me";
      wood.at = "2026-03-01T07:00:00Z";
      wood.wood_readings = {"10,20", "10.5,20"};
      std::ostringstream out, err;
      const int status = note(wood, {out, err});
      INFO(err.str());
      REQUIRE(status == kExitDone);
    }
    return std::pair(outlook_of(job.dir()).flat(), json::parse(json_of(job.dir()).out));
  };
  const auto [judged, tree] = said_of(true, true);
  CHECK(holds(judged, "Wood subfloor Test The pin test of the wood"));
  CHECK(tree["rooms"][0]["wood_subfloor"]["tests"].size() == 1);
  const auto [unjudged, unjudged_tree] = said_of(false, true);
  CHECK(holds(unjudged, "A pin test of the wood is noted but not judged"));
  CHECK(holds(unjudged, "(rooms[].requirements.wood_subfloor.moisture_high_percent)"));
  CHECK(unjudged_tree["rooms"][0]["wood_subfloor"]["missing"].size() == 1);
  CHECK(holds(said_of(true, false).first, "Wood subfloor Test"));
  CHECK(said_of(false, false).second["rooms"][0]["wood_subfloor"].is_null());
}

TEST_CASE("Advice for the cartons' band is told apart from what the slab needs") {
  Site site;
  site.air_percent_rh = 52.0;
  const JobOnDisk job(full_job(), site);
  const std::string flat = outlook_of(job.dir()).flat();
  CHECK(holds(flat, "keep it as it is; this is for the cartons' band"));
  CHECK(holds(flat, "For slab the slab's gate is not met: "));
  // Hours and warmth done, the slab not.
  const JobOnDisk done(job_with_probes(), site);
  const std::string when = outlook_of(done.dir()).flat();
  CHECK(holds(when,
              "Together no hours and no warmth to wait for any more Besides still open: slab (not "
              "met)"));
}

TEST_CASE("A window too narrow to be held is not offered") {
  // 38.0 %RH at 20 deg C is 45 %RH at 17.3 deg C: the window is 17.0 to 17.3 deg C.
  const JobOnDisk job(full_job(), {});
  const std::string flat = outlook_of(job.dir()).flat();
  CHECK(holds(flat, "Heat alone will not do: only from 17.0 to 17."));
  CHECK(holds(flat, "narrower than the 1.0 K within which a room can be held"));
  CHECK_FALSE(holds(flat, "with the water in the air now,"));
}

TEST_CASE("Before the noted delivery it is noted for later, and nothing is said of the cartons") {
  json tree = job_with_probes();
  tree["boxes"][0]["channels"][2]["placed_at"] = "2026-03-01T07:00:00Z";
  const JobOnDisk job(tree, {});
  const auto early = [](OutlookOptions& o) { o.at = "2026-02-27T00:00:00Z"; };
  const Said said = outlook_of(job.dir(), early);
  const std::string flat = said.flat();
  CHECK(holds(flat, "the delivery is noted for 2026-02-28 05:00 UTC"));
  CHECK_FALSE(holds(flat, "nobody noted the delivery"));
  CHECK_FALSE(holds(said.out, "Cartons: heat"));
  CHECK_FALSE(holds(said.out, "Cartons: moisture"));
  CHECK_FALSE(holds(flat, "Came with"));
  CHECK(holds(flat, "slab not placed yet; its placement is noted for 2026-03-01 07:00 UTC"));
  const json room = json::parse(json_of(job.dir(), early).out)["rooms"][0];
  CHECK(room["when"]["delivery_noted_for_utc"] == "2026-02-28T05:00:00Z");
  CHECK(room["when"]["in_any_case_not_before_utc"] == "2026-03-02T05:00:00Z");
  CHECK(room["when"]["core"].is_null());
  CHECK(room["carton_heat"].is_null());
  CHECK(room["carton_moisture"].is_null());
}

TEST_CASE("Hours of stacking count from the delivery, hours to go from now") {
  const JobOnDisk job(full_job(), {.air_celsius = 15.0});
  const std::string flat = outlook_of(job.dir()).flat();
  CHECK(holds(flat, "Stacking Hours here count from the delivery."));
  CHECK(holds(flat, "days from now"));
}

TEST_CASE("Every limit that is drawn in has its guard, with a unit") {
  json tree = job_with_probes();
  const auto flat_of = [](const json& of) {
    const JobOnDisk job(of, {});
    return outlook_of(job.dir()).flat();
  };
  const std::string flat = flat_of(tree);
  // Limits of 0.3 K are 0.173 K standard; the core against the air 2 * 0.245 K. Resolution is
  // 0.01 K and does not show.
  CHECK(holds(flat, "0.49 K would be taken off the distance of the core from the room air (core)"));
  // Dew point of 20 deg C and 38 %RH: 0.891 K/K and 0.379 K for 1 %RH by Magnus (17.62 and
  // 243.12 deg C). 2 * sqrt(0.173^2 + (0.891 * 0.173)^2 + (0.379 * 1.155)^2) = 0.99 K.
  CHECK(holds(flat, "0.99 K would be added to the margin above the dew point (surface)"));
  CHECK(holds(flat, "of it accuracy 0.35 K, resolution 0.01 K"));
  CHECK(holds(flat, "of it accuracy 2.31 %RH, resolution 0.01 %RH"));
  tree["rooms"][0]["requirements"]["slab"] = nullptr;
  tree["rooms"][0].erase("slab_build");
  CHECK_FALSE(holds(flat_of(tree), "the slab's RH limit"));
}

TEST_CASE("Channels are declared, not measured; charts need a folder") {
  const JobOnDisk job(full_job(), {});
  CHECK(holds(outlook_of(job.dir()).flat(), "4 for this floor, 1 channel is declared"));
  const Said said = outlook_of(job.dir(), [](OutlookOptions& o) { o.svg = false; });
  CHECK(said.status == kExitInput);
  CHECK(said.out.empty());
  CHECK(holds(said.err, "--format png needs a folder: --charts DIR"));
  CHECK(std::count(said.err.begin(), said.err.end(), '\n') == 1);
}

TEST_CASE("What a gap needs is rounded up, what it allows down, and days are those recorded") {
  json tree = full_job();
  tree["rooms"][0]["movement"]["gap_mm"] = 0;
  const JobOnDisk job(tree, {.days = 6.0});
  const Said said = outlook_of(job.dir());
  const std::string flat = said.flat();
  CHECK(holds(flat, "that gap allows no run at all"));
  CHECK_FALSE(holds(flat, "a run of 0.0 m"));
  CHECK(holds(flat, "mean of 6.0 recorded days"));
  // The published practice: 11.55 mm needed, 6.06 m allowed.
  CHECK(holds(flat, "such a run needs 11.6 mm each side and that gap allows 6.0 m"));
  CHECK(json::parse(json_of(job.dir()).out)["rooms"][0]["slab"]["air_mean_recorded_days"] ==
        Approx(6.0).margin(0.05));
}

TEST_CASE("A value and its unit stay on one line") {
  const JobOnDisk job(job_with_probes(), {.air_celsius = 15.0});
  for (const bool imperial : {false, true}) {
    const Said said = outlook_of(job.dir(), [&](OutlookOptions& o) { o.imperial = imperial; });
    std::istringstream lines(said.out);
    std::string line;
    while (std::getline(lines, line)) {
      const auto first = line.find_first_not_of(' ');
      const std::string start = first == std::string::npos ? "" : line.substr(first);
      INFO(line);
      for (const char* unit : {"% ", "%RH", "K ", "°C", "°F", "mm ", "h ", "kg/m2", "days"}) {
        CHECK_FALSE((start != unit && start.starts_with(unit)));  // alone it names a chart's axis
      }
    }
    CHECK_FALSE(holds(said.out, "\u00a0"));
  }
}

TEST_CASE("The probe's newest reading is told apart from the mean that the gate takes") {
  const JobOnDisk job(job_with_probes(), {});
  CHECK(holds(outlook_of(job.dir()).flat(),
              "20.0 °C, its newest reading, at 2026-03-02 07:00 UTC (the gate takes its mean of "
              "1 h)"));
}

TEST_CASE("The chart of the air marks when it was out of its band") {
  Site site;
  site.air_percent_rh = 52.0;
  const auto report_of = [](const JobOnDisk& job) {
    OpenedJob opened = must(open_job(job.dir(), false));
    return must(outlook_report_from(opened, "", std::nullopt));
  };
  const JobOnDisk kept(full_job(), site);
  CHECK(report_of(kept).rooms.at(0).course->excursions.empty());

  site.air_course = [](double before) { return before > 20.0 && before < 30.0 ? 12.0 : 20.0; };
  const JobOnDisk job(full_job(), site);
  OutlookReport report = report_of(job);
  auto& excursions = report.rooms.at(0).course->excursions;
  REQUIRE(excursions.size() == 1);
  CHECK(excursions[0].role == analysis::base::ChannelRole::room_air_temperature);
  CHECK(analysis::base::hours_from(excursions[0].range.to - excursions[0].range.from) ==
        Approx(10.0).margin(0.5));
  const auto drawn_in = [&](const char* folder) {
    must(write_outlook_charts(report, {job.scratch() / folder, true}, false));
    std::ifstream file(job.scratch() / folder / "air-hall.svg");
    return std::string(std::istreambuf_iterator<char>(file), {});
  };
  const std::string marked = drawn_in("marked");
  excursions.clear();
  CHECK(marked.size() > drawn_in("bare").size());
}
