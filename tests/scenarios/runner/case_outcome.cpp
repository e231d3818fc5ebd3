#include "tests/scenarios/runner/case_outcome.hpp"

#include <algorithm>
#include <cmath>
#include <sstream>
#include <stdexcept>

#include "logger/app/commands/export_rows.hpp"
#include "logger/app/room/history.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace scenarios {

using analysis::base::Micros;
using analysis::base::UtcMicros;
using firmware::sim::box::Quantity;
using firmware::sim::box::TakenSample;
using logger::store::Record;

namespace {

constexpr double kMicrosPerSecond = 1e6;

template <class T>
T required(analysis::base::Result<T, logger::store::Error> result) {
  if (!result) {
    throw std::runtime_error(result.error().context);
  }
  return std::move(result).value();
}

Record record_from(const TakenSample& taken) {
  Record record;
  record.id = {taken.id.boot, taken.id.sequence};
  record.ticks_ms = static_cast<std::int64_t>(taken.ticks_ms);
  record.flags = taken.sample.flags;
  for (std::size_t i = 0; i < record.statuses.size(); ++i) {
    record.statuses[i] = static_cast<analysis::base::ChannelStatus>(taken.sample.statuses[i]);
    const bool fitted = record.statuses[i] != analysis::base::ChannelStatus::not_fitted;
    record.raw_counts[i] = fitted ? taken.sample.raw_counts[i] : 0;
  }
  return record;
}

RecordTally::Key key_of(const Record& record) { return {record.id.boot, record.id.sequence}; }

std::optional<Quantity> quantity_of(analysis::base::ChannelRole role) {
  using Role = analysis::base::ChannelRole;
  switch (role) {
    case Role::room_air_temperature:
      return Quantity::air_temperature;
    case Role::room_air_rh:
      return Quantity::air_rh;
    case Role::stack_core_temperature:
      return Quantity::core_temperature;
    case Role::slab_surface_temperature:
      return Quantity::slab_surface_temperature;
    case Role::slab_rh:
      return Quantity::slab_rh;
    case Role::outdoor_temperature:
      return Quantity::outdoor_temperature;
    case Role::outdoor_rh:
      return Quantity::outdoor_rh;
    default:
      return std::nullopt;
  }
}

std::vector<std::string> cells_of(std::string line) {
  while (!line.empty() && (line.back() == '\r' || line.back() == '\n')) {
    line.pop_back();
  }
  std::vector<std::string> cells(1);
  for (const char c : line) {
    if (c == ',') {
      cells.emplace_back();
    } else {
      cells.back() += c;
    }
  }
  return cells;
}

}  // namespace

CaseOutcome::CaseOutcome(const ScenarioCase& scenario_case) : case_(scenario_case) {
  RigSettings settings;
  settings.scenario = case_.scenario;
  settings.environment = case_.environment;
  settings.make_job = [this](const std::string& text, const std::string& port) {
    return job_for_case(case_, text, port);
  };
  const auto first = std::min_element(
      case_.orders.begin(), case_.orders.end(),
      [](const TimedOrder& a, const TimedOrder& b) { return a.after_start < b.after_start; });
  settings.daemon_from_start = first == case_.orders.end() || first->order != DaemonOrder::start;
  rig_ = std::make_unique<SiteRig>(settings);
  for (const auto& words : case_.notes) {
    note(words);
  }
  schedule_orders();
  rig_->site().set_restart_hook([this] { rig_->kill_and_restart_daemon(); });
  if (settings.daemon_from_start) {
    rig_->start_daemon();
  }
  exit_status_ = rig_->run_to_end();
}

void CaseOutcome::schedule_orders() {
  for (const TimedOrder& timed : case_.orders) {
    rig_->site().at(start() + timed.after_start, [this, order = timed.order] {
      switch (order) {
        case DaemonOrder::kill:
          return rig_->kill_daemon();
        case DaemonOrder::stop:
          return rig_->stop_daemon();
        case DaemonOrder::start:
          return rig_->start_daemon_now();
        case DaemonOrder::restart:
          return rig_->kill_and_restart_daemon();
      }
    });
  }
  for (const TimedNote& timed : case_.timed_notes) {
    rig_->site().at(start() + timed.after_start, [this, words = timed.words] { note(words); });
  }
}

void CaseOutcome::note(const std::vector<std::string>& words) {
  std::vector<std::string> arguments{"note", rig_->job_dir().string()};
  arguments.insert(arguments.end(), words.begin(), words.end());
  const CommandResult noted = dwellog(arguments);
  if (noted.status != 0) {
    throw std::runtime_error("note: " + noted.out);
  }
}

std::uint64_t CaseOutcome::faults_struck() const {
  std::uint64_t sum = 0;
  for (const std::uint64_t count : rig_->site().faults_struck()) {
    sum += count;
  }
  return sum;
}

std::uint64_t CaseOutcome::lost_in_box(std::size_t box) {
  return rig_->site().box(box).firmware().lost().total;
}

UtcMicros CaseOutcome::start() const { return rig_->site().utc_start(); }
UtcMicros CaseOutcome::end() const { return rig_->site().utc_end(); }

logger::app::OpenedJob& CaseOutcome::opened() {
  if (!opened_) {
    opened_ = rig_->open();
  }
  return *opened_;
}

const RecordTally& CaseOutcome::records_of(std::size_t box) {
  const auto known = tallies_.find(box);
  if (known != tallies_.end()) {
    return known->second;
  }
  std::map<RecordTally::Key, Record> taken;
  for (const TakenSample& sample : rig_->site().box(box).taken()) {
    const Record record = record_from(sample);
    taken.emplace(key_of(record), record);
  }
  RecordTally tally;
  for (const auto& span : required(opened().store->boots(box_id(box)))) {
    const auto visited = opened().store->visit_records(
        box_id(box), {span.boot, span.first_sequence}, {span.boot, span.last_sequence},
        [&](const Record& record) {
          ++tally.stored;
          const auto found = taken.find(key_of(record));
          if (found == taken.end()) {
            ++tally.extra;  // or stored twice, since each one found is taken out
          } else {
            tally.different += found->second == record ? 0 : 1;
            taken.erase(found);
          }
          return true;
        });
    if (!visited) {
      throw std::runtime_error(visited.error().context);
    }
  }
  for (const auto& [key, record] : taken) {
    tally.missing.insert(key);
  }
  return tallies_[box] = std::move(tally);
}

std::set<RecordTally::Key> CaseOutcome::gaps_of(std::size_t box) {
  std::set<RecordTally::Key> keys;
  for (const auto& gap : required(opened().store->gaps())) {
    for (std::int64_t i = gap.first_sequence; gap.box_id == box_id(box) && i <= gap.last_sequence;
         ++i) {
      keys.emplace(gap.boot, i);
    }
  }
  return keys;
}

const DateTally& CaseOutcome::dates() {
  if (dates_) {
    return *dates_;
  }
  DateTally tally;
  Micros furthest{0};
  for (std::size_t box = 0; box < rig_->site().box_count(); ++box) {
    tally.stored += records_of(box).stored;
    std::map<RecordTally::Key, UtcMicros> truth;
    for (const TakenSample& sample : rig_->site().box(box).taken()) {
      truth[{sample.id.boot, sample.id.sequence}] = sample.at;
    }
    tally.dated += required(logger::app::visit_history(
        *opened().store, {{box_id(box)}, std::nullopt, std::nullopt, {}},
        [&](const std::string&, const Record& record, analysis::base::DatedTime at) {
          const Micros off = at.at - truth[key_of(record)];
          const Micros away = off < Micros{0} ? -off : off;
          tally.beyond_error += away > at.error ? 1 : 0;
          if (away - at.error > furthest) {
            furthest = away - at.error;
            tally.worst = box_id(box) + " record " + std::to_string(record.id.boot) + "/" +
                          std::to_string(record.id.sequence) + " at " +
                          analysis::base::rfc3339_from_utc(truth[key_of(record)]) + " is dated " +
                          std::to_string(off.count()) + " us away, error stated " +
                          std::to_string(at.error.count()) + " us";
          }
          tally.largest_s =
              std::max(tally.largest_s, static_cast<double>(away.count()) / kMicrosPerSecond);
          tally.largest_error_s = std::max(
              tally.largest_error_s, static_cast<double>(at.error.count()) / kMicrosPerSecond);
        }));
  }
  return dates_.emplace(tally);
}

std::int64_t CaseOutcome::undated() {
  std::int64_t count = 0;
  for (const auto& box : opened().job.boxes) {
    count += required(logger::app::undated_records(*opened().store, box.id));
  }
  return count;
}

const std::vector<ExportedValue>& CaseOutcome::exported(const std::string& channel_id) {
  const auto known = exported_.find(channel_id);
  if (known != exported_.end()) {
    return known->second;
  }
  for (const auto& box : opened().job.boxes) {
    std::ostringstream csv;
    required(
        logger::app::write_export(opened(), {&box, std::nullopt, std::nullopt, ',', '.'}, csv));
    std::istringstream lines(csv.str());
    std::string line;
    std::getline(lines, line);
    const auto header = cells_of(line);
    const auto raw = std::find(header.begin(), header.end(), channel_id + "_raw_counts");
    if (raw == header.end()) {
      continue;
    }
    const auto column = static_cast<std::size_t>(raw - header.begin());
    auto& values = exported_[channel_id];
    while (std::getline(lines, line)) {
      const auto cells = cells_of(line);
      const std::string& value = cells.at(column + 1);
      values.push_back({analysis::base::utc_from_rfc3339(cells.at(0)).value(),
                        value.empty() ? std::nullopt : std::optional(std::stod(value)),
                        cells.at(column + 2)});
    }
    return values;
  }
  throw std::runtime_error("no channel " + channel_id);
}

const nlohmann::json& CaseOutcome::status_json() {
  if (!status_json_) {
    status_json_ =
        nlohmann::json::parse(dwellog({"status", rig_->job_dir().string(), "--json"}).out);
  }
  return *status_json_;
}

const std::string& CaseOutcome::status_text() {
  if (!status_text_) {
    status_text_ = dwellog({"status", rig_->job_dir().string()}).out;
  }
  return *status_text_;
}

UtcHours CaseOutcome::dwell() { return hours_by_utc(opened()); }

double CaseOutcome::dwell_of(const std::vector<std::pair<std::string, Record>>& records,
                             const std::vector<UtcMicros>& times) {
  const auto notes = required(logger::app::job_records_from(*opened().store));
  analysis::readiness::RoomReplay replay(
      logger::app::room_setup_from(opened().job, opened().job.rooms.front(), notes));
  for (std::size_t i = 0; i < records.size(); ++i) {
    replay.add(records[i].first, records[i].second, times[i]);
  }
  return replay.dwell().in_band_seconds / 3600.0;
}

double CaseOutcome::dwell_as_recorded() {
  std::vector<std::pair<std::string, Record>> records;
  std::vector<UtcMicros> times;
  const auto& missing = records_of(0).missing;
  for (const TakenSample& sample : rig_->site().box(0).taken()) {
    if (!missing.contains({sample.id.boot, sample.id.sequence})) {
      records.emplace_back(box_id(0), record_from(sample));
      times.push_back(sample.at);
    }
  }
  return dwell_of(records, times);
}

std::unique_ptr<firmware::sim::SimulationRun> CaseOutcome::undisturbed_run() const {
  firmware::sim::RunSettings settings;
  settings.scenario = undisturbed(case_.scenario);
  settings.pace = firmware::sim::Pace::free;
  for (const auto& placed : settings.scenario.boxes) {
    settings.boxes.push_back({placed.box, ""});
  }
  auto run = firmware::sim::SimulationRun::create(settings);
  if (!run) {
    throw std::runtime_error(run.error());
  }
  return std::move(run).value();
}

double CaseOutcome::dwell_undisturbed() {
  const auto twin = undisturbed_run();
  twin->run();
  std::vector<std::pair<std::string, Record>> records;
  std::vector<UtcMicros> times;
  for (const TakenSample& sample : twin->box(0).taken()) {
    records.emplace_back(box_id(0), record_from(sample));
    times.push_back(sample.at);
  }
  return dwell_of(records, times);
}

std::vector<double> CaseOutcome::truth_of(const std::string& channel_id,
                                          const std::vector<UtcMicros>& times) {
  std::optional<Quantity> quantity;
  for (const auto& box : opened().job.boxes) {
    for (const auto& channel : box.channels) {
      if (channel.id == channel_id) {
        quantity = quantity_of(channel.scale.role);
      }
    }
  }
  if (!quantity) {
    throw std::runtime_error("the site has no truth of " + channel_id);
  }
  const auto twin = undisturbed_run();
  std::vector<double> values;
  for (const UtcMicros at : times) {
    twin->at(std::max(at, twin->utc_now()), [&values, &twin, &quantity] {
      values.push_back(firmware::sim::box::value_from_truth(twin->site_state(), *quantity));
    });
  }
  twin->run();
  return values;
}

}  // namespace scenarios
