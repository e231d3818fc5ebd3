// Runs a case, and what is known afterwards: the store, the program's words, and what the boxes
// know they did. Facts that cost something are made when first asked for. One thread. Throws
// std::runtime_error where a fact can't be had.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "tests/scenarios/runner/scenario_case.hpp"
#include "tests/scenarios/site_rig.hpp"

namespace scenarios {

// Records of one box by what became of them.
struct RecordTally {
  using Key = std::pair<std::uint32_t, std::int64_t>;  // boot, sequence
  std::set<Key> missing;                               // taken and not stored
  std::int64_t stored = 0;
  std::int64_t extra = 0;      // stored and never taken
  std::int64_t different = 0;  // stored with another content than taken
};

// What the dates of the stored records are worth.
struct DateTally {
  std::int64_t stored = 0;
  std::int64_t dated = 0;
  std::int64_t beyond_error = 0;  // further from the true time than the error they state
  double largest_s = 0.0;         // difference from the true time
  double largest_error_s = 0.0;   // stated
  std::string worst;              // the record furthest beyond its error, and by how much
};

// One exported value of a channel.
struct ExportedValue {
  analysis::base::UtcMicros at;
  std::optional<double> value;
  std::string quality;
};

class CaseOutcome {
 public:
  // Runs the daemon to its end.
  explicit CaseOutcome(const ScenarioCase& scenario_case);

  [[nodiscard]] const ScenarioCase& scenario_case() const { return case_; }
  [[nodiscard]] std::optional<int> exit_status() const { return exit_status_; }
  [[nodiscard]] std::string daemon_log() const { return rig_->daemon_log(); }
  [[nodiscard]] std::uint64_t faults_struck() const;
  [[nodiscard]] std::uint64_t lost_in_box(std::size_t box);  // by overflow, as the box counts
  [[nodiscard]] analysis::base::UtcMicros start() const;
  [[nodiscard]] analysis::base::UtcMicros end() const;

  logger::app::OpenedJob& opened();
  const RecordTally& records_of(std::size_t box);
  // What the store says is lost for ever of one box.
  std::set<RecordTally::Key> gaps_of(std::size_t box);
  const DateTally& dates();
  std::int64_t undated();  // records of boxes and transmitters
  const std::vector<ExportedValue>& exported(const std::string& channel_id);
  const nlohmann::json& status_json();
  const std::string& status_text();

  // Hours in band of the first room and the error of their dates: as the store's records say; as
  // the same records say with their true times; as an undisturbed site's records say.
  UtcHours dwell();
  double dwell_as_recorded();
  double dwell_undisturbed();
  // Of what a channel measures, at increasing times within the scenario, in its file unit.
  std::vector<double> truth_of(const std::string& channel_id,
                               const std::vector<analysis::base::UtcMicros>& times);

 private:
  void schedule_orders();
  [[nodiscard]] std::unique_ptr<firmware::sim::SimulationRun> undisturbed_run() const;
  void note(const std::vector<std::string>& words);
  double dwell_of(const std::vector<std::pair<std::string, logger::store::Record>>& records,
                  const std::vector<analysis::base::UtcMicros>& times);
  std::string box_id(std::size_t box) const { return "box-" + std::to_string(box + 1); }

  ScenarioCase case_;
  std::unique_ptr<SiteRig> rig_;
  std::optional<int> exit_status_;
  std::optional<logger::app::OpenedJob> opened_;
  std::map<std::size_t, RecordTally> tallies_;
  std::optional<DateTally> dates_;
  std::map<std::string, std::vector<ExportedValue>> exported_;
  std::optional<nlohmann::json> status_json_;
  std::optional<std::string> status_text_;
};

}  // namespace scenarios
