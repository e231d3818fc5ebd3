#include "logger/app/commands/notes/counts_from.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace logger::app {

using analysis::base::minute_text_from_utc;
using store::Note;

namespace {

constexpr std::chrono::minutes kAtOnce{1};  // what is noted as it happens needs no second time

std::string written_text(UtcMicros at, UtcMicros noted_at) {
  return noted_at - at > kAtOnce ? ", written down " + minute_text_from_utc(noted_at) : "";
}

bool is_of_same(const Note& one, const Note& other) {
  if (one.kind != other.kind) {
    return false;
  }
  return one.kind == "placement"
             ? content_of(one).value("channel_id", "") == content_of(other).value("channel_id", "")
             : one.room_id == other.room_id || other.room_id.empty();
}

// A delivery and a placement are corrected by noting them anew, for an earlier time as well.
std::string replaced_text(const Note& note, const JobRecords& records) {
  const auto older = std::find_if(records.notes.rbegin(), records.notes.rend(),
                                  [&](const Note& one) { return is_of_same(note, one); });
  return older == records.notes.rend()
             ? ""
             : "; it takes the place of the one of " + minute_text_from_utc(older->at);
}

}  // namespace

std::string counts_from_text(const Note& note, const JobRecords& records) {
  const std::string from = minute_text_from_utc(note.at) + written_text(note.at, note.noted_at);
  if (note.kind == "delivery") {
    return "the hours count from " + from + replaced_text(note, records);
  }
  if (note.kind == "placement") {
    return "the probe counts as in its place from " + from + replaced_text(note, records);
  }
  const bool observed = note.kind == "gate" || note.kind == "test-begun" || note.kind == "laying" ||
                        note.kind.ends_with("-test");
  return observed && note.noted_at - note.at > kAtOnce ? "it counts as of " + from : "";
}

std::string counts_from_text(UtcMicros valid_from, UtcMicros noted_at) {
  return "readings from " + minute_text_from_utc(valid_from) + " on are corrected by it" +
         written_text(valid_from, noted_at);
}

std::string issued_stays_text(const std::string& room_id, UtcMicros at,
                              const std::vector<IssuedCertificate>& issued) {
  std::string numbers;
  std::size_t count = 0;
  for (const IssuedCertificate& one : issued) {
    const auto& facts = one.read.facts;
    if (facts.room.room_id == room_id && at < facts.period.to) {
      numbers += (count == 0 ? "" : ", ") + facts.number;
      ++count;
    }
  }
  return count == 0   ? ""
         : count == 1 ? "certificate " + numbers + " was issued before and stays as it is"
                      : "certificates " + numbers + " were issued before and stay as they are";
}

}  // namespace logger::app
