// The steps of reading between the tree and the Job: values out of checked objects, and the checks
// that look at more than one key. Pure.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "logger/app/job/job.hpp"
#include "logger/app/job/reader/keys/json_tree.hpp"

namespace logger::app {

class Findings;

// What a date alone stands for, UTC: the careful end of that day.
enum class DayReading { its_begin, its_end };
// RFC 3339 with an offset, or a date alone ("2026-03-01"); nullopt on anything else.
[[nodiscard]] std::optional<UtcMicros> moment_from_text(std::string_view text, DayReading day);

// The unit in which a channel of that role says how far it may be off: "kelvin", "percent_rh";
// empty for roles on which no decision rests.
[[nodiscard]] const char* accuracy_unit_of(analysis::base::ChannelRole role);

// An object whose values may be missing: absent, refused, or of another kind than asked for.
class ObjectView {
 public:
  explicit ObjectView(const JsonNode* node) : node_(node) {}
  [[nodiscard]] bool present() const { return node_ != nullptr; }
  [[nodiscard]] bool has(std::string_view key) const;     // even when refused or null
  [[nodiscard]] int line_of(std::string_view key) const;  // of the object when the key is absent
  [[nodiscard]] std::optional<double> number(std::string_view key) const;
  [[nodiscard]] std::optional<std::uint64_t> whole_number(std::string_view key) const;
  [[nodiscard]] std::optional<std::string> text(std::string_view key) const;
  [[nodiscard]] std::optional<bool> boolean(std::string_view key) const;
  [[nodiscard]] std::optional<UtcMicros> moment(std::string_view key, DayReading day) const;
  [[nodiscard]] ObjectView object(std::string_view key) const;
  [[nodiscard]] bool is_null(std::string_view key) const;
  [[nodiscard]] const std::vector<JsonNode>& items(std::string_view key) const;

 private:
  [[nodiscard]] const JsonNode* find(std::string_view key, JsonKind kind) const;
  const JsonNode* node_;
};

[[nodiscard]] std::optional<JobCheckpoints> checkpoints_from(const ObjectView& view);
void check_checkpoints(const Job& job, const ObjectView& root, Findings& findings);

// What is told of: each rule's limits, times and switches.
void put_rules(const ObjectView& rules, analysis::alerts::AlertSettings& settings);
// Who is told, when and how.
void put_telling(const ObjectView& view, JobAlerts& alerts);
[[nodiscard]] std::optional<JobPage> page_from(const ObjectView& view);
[[nodiscard]] std::vector<JobStatusPush> status_pushes_from(const std::vector<JsonNode>& items);
void check_telling(const Job& job, const ObjectView& root, Findings& findings);

// The plan of a room; what is wrong with its lengths and outlines goes to `findings`. nullopt where
// there is none.
[[nodiscard]] std::optional<JobPlan> plan_from(const ObjectView& view, const std::string& path,
                                               Findings& findings);
// Reads the plans into the rooms of `job`, which job_from_tree leaves without, and checks them.
void read_plans(const ObjectView& root, Job& job, Findings& findings);

// Reads how flat the subfloors must be into the rooms of `job`: each quantity is a number with its
// unit in the key, or a length.
void read_flatness(const ObjectView& root, Job& job, Findings& findings);

// Entry i of a list of the tree is entry i of the Job, refused ones included; what is missing keeps
// its default, and so do plans and flatness (read_plans, read_flatness).
[[nodiscard]] Job job_from_tree(const JsonNode& root);

// How a channel of a transmitter is read: its register, and into `scale` the way from counts to the
// file unit of its role. nullopt when `channel` has no register.
[[nodiscard]] std::optional<ingest::RegisterSource> register_from(
    const ObjectView& channel, analysis::readiness::ChannelScale& scale);
[[nodiscard]] JobRegisters registers_from(const ObjectView& view);

// What one key can't tell: ids that refer, limits that cross, lines that two boxes share. `root` is
// the whole file, `job` what job_from_tree made of it. Skips what was refused before.
void check_rooms_and_alerts(const Job& job, const ObjectView& root, Findings& findings);
void check_boxes(const Job& job, const ObjectView& root, Findings& findings);
// The part of check_boxes for one transmitter. `path` of the box.
void check_registers(const JobBox& box, const ObjectView& view, const std::string& path,
                     Findings& findings);

// What is allowed but worth a look: limits looser than common practice, gates that nothing
// measures.
void warn_about_job(const Job& job, const ObjectView& root, Findings& findings);

}  // namespace logger::app
