// What the tests, the fuzz target and the benchmark of the page share: a site that only remembers,
// a loop that does everything at once, and people of every role. All data is invented.
#pragma once

#include <functional>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "logger/web/handler/page_handler.hpp"
#include "tests/app/scratch_folder.hpp"

namespace web_tests {

using namespace logger::web;
using logger::store::ErrorCode;
using logger::store::failure;
using logger::store::Result;

inline constexpr UtcMicros kNow{1'772'434'800'000'000};  // 2026-03-02T07:00:00Z
inline const std::string kPhotoDigest(64, 'a');
inline const std::string kAlertKey = "climate/living/out-of-band";

// A status document of one room; `hours` stands in it.
nlohmann::ordered_json status_document(double hours);
std::shared_ptr<const SiteSnapshot> snapshot_of(std::uint64_t version, double hours);

class FakeSite : public Site {
 public:
  std::shared_ptr<const SiteSnapshot> current = snapshot_of(1, 12.5);
  std::vector<std::string> calls;  // every blocking one: "chart living core 72"
  std::vector<AuditEntry> audited;
  std::vector<NoteRequest> noted;
  std::optional<logger::store::Error> fails_with;  // every blocking call, audit aside
  bool throws = false;
  bool note_was_there = false;

  std::shared_ptr<const SiteSnapshot> snapshot() override { return current; }
  Result<std::string> chart_svg(const ChartQuery& query) override;
  Result<std::string> series_json(const SeriesQuery& query) override;
  Result<std::string> notes_json(std::int64_t before_id, int limit) override;
  Result<std::string> audit_json(std::int64_t before_id, int limit) override;
  Result<std::string> certificates_json() override;
  Result<StoredFile> certificate_file(const std::string& number, const std::string& kind) override;
  Result<StoredFile> photo(const std::string& sha256_hex) override;
  Result<std::string> metrics_text() override;
  Result<std::string> questions_json() override;
  Result<std::string> keep_photo(const std::string& bytes) override;
  Result<AddedNote> add_note(const NoteRequest& note, const Principal& by) override;
  Result<void> acknowledge(const std::string& alert_key, const std::string& remark,
                           const Principal& by) override;
  Result<void> audit(const AuditEntry& entry) override;

 private:
  Result<std::string> answer(std::string call, std::string text);
};

// Work runs at once, or when the test says so; time is the test's.
class FakeLoop final : public ServerLoop {
 public:
  bool holds_work = false;
  bool is_full = false;
  UtcMicros utc = kNow;
  std::chrono::steady_clock::time_point monotonic{};

  bool on_worker(std::function<void()> work, std::function<void()> then) override;
  void call_after(std::chrono::milliseconds delay, std::function<void()> work) override;
  std::chrono::steady_clock::time_point monotonic_now() const override { return monotonic; }
  UtcMicros utc_now() const override { return utc; }
  void do_held_work();
  void forget();  // all that was to be done
  void tick();    // a second: runs what was to be called by then

 private:
  std::vector<std::pair<std::function<void()>, std::function<void()>>> held_;
  std::vector<std::function<void()>> timed_;
};

// Somebody who may come in, with a session of the page (cookie) and a token.
struct Person {
  std::string token;   // empty for a share link
  std::string cookie;  // of the session
  std::string csrf;
};

struct Asked {
  std::string method;
  std::string target;
  std::string body{};
  std::vector<Header> headers{};
};

class WebRig {
 public:
  explicit WebRig(HandlerSettings settings = {});

  // nullopt = nobody.
  [[nodiscard]] const Person& person(Role role) const { return people_.at(role); }
  [[nodiscard]] Request request(const Asked& asked) const;
  // As a program with a token; the share link by its cookie.
  [[nodiscard]] Response ask(std::optional<Role> who, Asked asked);
  // As the page does: cookie, CSRF token, own origin.
  [[nodiscard]] Response ask_from_page(Role who, Asked asked);
  [[nodiscard]] Response send(Request request);
  // Where the answer is to come later.
  void send(Request request, Answer answer);

  // A new handler, and a site that was not asked yet. Sessions stay.
  void renew(HandlerSettings settings = {});

  [[nodiscard]] static std::string password_of(Role role);
  [[nodiscard]] static std::string name_of_person(Role role);

  FakeSite site;
  FakeLoop loop;
  std::string share_token;
  std::unique_ptr<Access> access;
  std::unique_ptr<PageHandler> handler;

 private:
  void add_people();
  ScratchFolder scratch_;
  std::map<Role, Person> people_;
};

[[nodiscard]] std::string header_in(const Response& response, std::string_view name);

}  // namespace web_tests
