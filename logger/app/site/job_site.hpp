// One job as the page and the API show it and write to it. snapshot and committed: any thread;
// committed never blocks. All else blocks, on one thread. Each call opens a connection of its own
// to the store and closes it again, so that nothing is held while nobody asks, and the daemon's own
// connections are not waited for.
#pragma once

#include <functional>
#include <string>

#include "logger/app/commands/job_folder.hpp"
#include "logger/app/site/access_audit.hpp"
#include "logger/app/site/snapshot_keeper.hpp"
#include "logger/web/site/site.hpp"

namespace logger::app {

class JobSite final : public web::Site {
 public:
  // `opened`: what it says of the job is copied; its store is not used. `complain` is called on a
  // thread of this object with one line, when the snapshot could not be made.
  JobSite(const OpenedJob& opened, std::function<void(const std::string&)> complain);
  ~JobSite() override;  // stop()

  // Snapshots are made from here on; before, it shows a document without rooms.
  void start();
  // Writes what the audit still counts. No call of another function may be under way.
  void stop();
  // The daemon wrote something.
  void committed() { keeper_.changed(); }

  [[nodiscard]] std::shared_ptr<const web::SiteSnapshot> snapshot() override {
    return keeper_.current();
  }
  [[nodiscard]] store::Result<std::string> chart_svg(const web::ChartQuery& query) override;
  [[nodiscard]] store::Result<std::string> series_json(const web::SeriesQuery& query) override;
  // {"notes": [...], "next_before": id or null}
  [[nodiscard]] store::Result<std::string> notes_json(std::int64_t before_id, int limit) override;
  [[nodiscard]] store::Result<std::string> audit_json(std::int64_t before_id, int limit) override;
  // {"certificates": [...]}, newest first
  [[nodiscard]] store::Result<std::string> certificates_json() override;
  [[nodiscard]] store::Result<web::StoredFile> certificate_file(const std::string& number,
                                                                const std::string& kind) override;
  [[nodiscard]] store::Result<web::StoredFile> photo(const std::string& sha256_hex) override;
  [[nodiscard]] store::Result<std::string> metrics_text() override;
  [[nodiscard]] store::Result<std::string> questions_json() override;

  store::Result<std::string> keep_photo(const std::string& bytes) override;
  store::Result<web::AddedNote> add_note(const web::NoteRequest& note,
                                         const web::Principal& by) override;
  store::Result<void> acknowledge(const std::string& alert_key, const std::string& remark,
                                  const web::Principal& by) override;
  store::Result<void> audit(const web::AuditEntry& entry) override;

 private:
  [[nodiscard]] store::Result<OpenedJob> open(bool for_writing) const;
  [[nodiscard]] store::Result<MadeDocument> make_document();
  store::Result<void> write(std::vector<store::Event> events) const;

  JobFolder folder_;
  Job job_;
  std::string job_text_;
  std::string job_sha256_hex_;
  bool simulated_;
  AccessAudit audit_;
  SnapshotKeeper keeper_;
};

}  // namespace logger::app
