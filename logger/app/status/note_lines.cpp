#include "logger/app/status/note_lines.hpp"

#include <nlohmann/json.hpp>

#include "analysis/readiness/reason_texts.hpp"
#include "logger/app/handover/laid_content.hpp"
#include "logger/app/room/gate_notes.hpp"

namespace logger::app {

using nlohmann::json;

namespace {

using analysis::readiness::text_from_number;

std::string count_text(const json& content, const char* key, const char* one, const char* many) {
  const std::size_t count = content.value(key, json::array()).size();
  return std::to_string(count) + ' ' + (count == 1 ? one : many);
}

std::string as_found_text(const json& content) {
  return content.value("as_found", false) ? ", kept as found" : "";
}

std::string subject_text(const std::string& kind, const json& content) {
  if (kind == "gate") {
    const std::string grounds = content.value("grounds", "");
    return content.value("gate", "") + ": " + gate_state_in(content) +
           (grounds.empty() ? "" : ". " + grounds);
  }
  if (kind == "delivery" && content.contains("carton_celsius")) {
    return "cartons at " + text_from_number(content.value("carton_celsius", 0.0), 1) + " °C";
  }
  if (kind == "placement") {
    return content.value("channel_id", "");
  }
  if (kind == "laying") {
    const std::string laid = text_from_laid_floor(laid_floor_from_content(content), false);
    return content.value("step", "") + (laid.empty() ? "" : ": " + laid);
  }
  if (kind == "acknowledgement") {
    return content.value("alert_key", "");
  }
  if (kind == "dish-test") {
    return count_text(content, "dishes", "dish", "dishes") + as_found_text(content);
  }
  if (kind == "rh-test") {
    return count_text(content, "holes", "hole", "holes") + as_found_text(content);
  }
  if (kind == "test-begun") {
    return content.value("test", "") == "rh" ? "sleeves drilled" : "dishes set";
  }
  if (kind == "carbide-test") {
    return count_text(content, "samples_percent", "sample", "samples");
  }
  return kind == "wood-test" ? count_text(content, "readings", "reading", "readings")
                             : std::string();
}

}  // namespace

NoteLine line_from_note(const store::Note& note) {
  const json content = content_of(note);
  NoteLine line{note.id, note.at, note.noted_at, note.kind, note.room_id, note.by, "", {}};
  line.text = subject_text(note.kind, content);
  const std::string remark = content.value("remark", "");
  line.text += (line.text.empty() || remark.empty() ? "" : ". ") + remark;
  for (const json& photo : content.value("photos", json::array())) {
    line.photo_sha256_hex.push_back(photo.value("sha256", ""));
  }
  return line;
}

std::vector<NoteLine> newest_notes(const JobRecords& records, std::int64_t before_id,
                                   std::size_t most) {
  std::vector<NoteLine> lines;
  for (auto note = records.notes.rbegin(); note != records.notes.rend() && lines.size() < most;
       ++note) {
    if (before_id == 0 || note->id < before_id) {
      lines.push_back(line_from_note(*note));
    }
  }
  return lines;
}

nlohmann::ordered_json json_from_note(const NoteLine& line) {
  return {{"id", line.id},
          {"at_utc", analysis::base::rfc3339_from_utc(line.at)},
          {"noted_at_utc", analysis::base::rfc3339_from_utc(line.noted_at)},
          {"kind", line.kind},
          {"room", line.room_id},
          {"by", line.by},
          {"text", line.text},
          {"photos", line.photo_sha256_hex}};
}

}  // namespace logger::app
