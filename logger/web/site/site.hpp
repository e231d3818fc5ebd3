// What the page and the API show and do, as functions that come in: logger/app implements it, this
// folder knows nothing of jobs, stores and keys. snapshot() is for any thread and cheap; all else
// blocks and is called on the one worker thread. Documents are JSON texts whose shapes
// docs/api.md and openapi.json state. Errors by code: not_found (404), invalid_input (422, the
// context is shown to the caller), unavailable and timeout (503), no_space (507), else 500 without
// context.
#pragma once

#include <cstdint>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "analysis/base/time.hpp"
#include "logger/store/error.hpp"
#include "logger/web/access/principal.hpp"

namespace logger::web {

using analysis::base::UtcMicros;
using store::Result;

// The site at one moment; never changed once made.
struct SiteSnapshot {
  std::uint64_t version = 0;  // grows by one with every change of the documents
  UtcMicros made_at;
  nlohmann::ordered_json status;         // GET /api/v1/status
  nlohmann::ordered_json shared_status;  // the same without what names people or the address
};

struct ChartQuery {
  std::string room;
  std::string chart;  // "climate-temperature", "climate-rh", "core", "slab"
  int hours = 72;     // back from now; 0 = all
};
struct SeriesQuery {
  std::string room;
  std::string channel;            // empty = all of the room
  std::optional<UtcMicros> from;  // included
  std::optional<UtcMicros> to;    // not included
  int limit = 1000;               // 1..10000 points
};
struct StoredFile {
  std::string bytes;
  std::string content_type;
  std::string file_name;
};
struct NoteRequest {
  std::string kind;  // "gate", "remark", "delivery", "laying", "placement", "test-begun", "rh-test"
  std::string room;
  std::string subject;  // gate, channel, or test that has begun
  std::string answer;   // gate: "met", "not-met"; laying: "began", "finished"
  std::string remark;
  std::vector<std::string> photo_sha256_hex;  // kept before by keep_photo
  std::optional<UtcMicros> at;
  std::optional<double> carton_celsius;  // delivery only
  // gate only: what was found, instead of a bare answer
  std::string choice;  // a word of questions_json
  std::string below;
  std::string approval;
  std::vector<std::string> lines;  // each "0 cm=0 mm, 50 cm=2 mm"
  // rh-test only
  std::vector<std::string> holes;  // each "DEPTH_MM,RH_PERCENT[,CELSIUS]"
  std::optional<double> service_hours;
  std::optional<UtcMicros> drilled_at;
  std::optional<double> thickness_mm;
  bool as_found = false;
  // What the asker calls this request; empty = nothing. The same again for the same body stores
  // nothing more, for another body it is refused.
  std::string idempotency_key;
  std::string body;  // as sent
};
struct AddedNote {
  std::int64_t id = 0;
  bool was_there = false;  // stored by the same request before
};
// What a person or program did or was refused, for the evidence log.
struct AuditEntry {
  UtcMicros at;
  std::string principal_id;  // "u3", "t1", "s5"; empty = nobody known
  std::string action;        // "login", "login-refused", "note", "share-made", ...
  std::string detail;        // no names, no secrets
  std::string peer_address;
};

class Site {
 public:
  Site() = default;
  Site(const Site&) = delete;
  Site& operator=(const Site&) = delete;
  virtual ~Site() = default;

  [[nodiscard]] virtual std::shared_ptr<const SiteSnapshot> snapshot() = 0;

  // One <svg> element whose colours are classes (Canvas::markup).
  [[nodiscard]] virtual Result<std::string> chart_svg(const ChartQuery& query) = 0;
  // {"points": [...], "next_from_utc": time or null}
  [[nodiscard]] virtual Result<std::string> series_json(const SeriesQuery& query) = 0;
  // Newest first, before that id (0 = from the newest).
  [[nodiscard]] virtual Result<std::string> notes_json(std::int64_t before_id, int limit) = 0;
  [[nodiscard]] virtual Result<std::string> audit_json(std::int64_t before_id, int limit) = 0;
  [[nodiscard]] virtual Result<std::string> certificates_json() = 0;
  [[nodiscard]] virtual Result<StoredFile> certificate_file(const std::string& number,
                                                            const std::string& kind) = 0;
  [[nodiscard]] virtual Result<StoredFile> photo(const std::string& sha256_hex) = 0;
  [[nodiscard]] virtual Result<std::string> metrics_text() = 0;
  // {"questions": [...], "rooms": [...]}: what is asked for gates, with choices
  [[nodiscard]] virtual Result<std::string> questions_json() = 0;

  // Gives the digest under which it is kept.
  virtual Result<std::string> keep_photo(const std::string& bytes) = 0;
  virtual Result<AddedNote> add_note(const NoteRequest& note, const Principal& by) = 0;
  virtual Result<void> acknowledge(const std::string& alert_key, const std::string& remark,
                                   const Principal& by) = 0;
  virtual Result<void> audit(const AuditEntry& entry) = 0;
};

}  // namespace logger::web
