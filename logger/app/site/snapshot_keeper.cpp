#include "logger/app/site/snapshot_keeper.hpp"

#include <chrono>

#include "logger/app/status/status_report.hpp"

namespace logger::app {

using nlohmann::ordered_json;
using store::MutexLock;

namespace {

constexpr std::chrono::seconds kApart{1};
constexpr std::chrono::microseconds kEvery{kSnapshotEvery.count()};

bool says_the_same(const ordered_json& one, const ordered_json& other) {
  ordered_json timeless = one;
  timeless["at_utc"] = other.value("at_utc", ordered_json(nullptr));
  return timeless == other;
}

std::shared_ptr<const web::SiteSnapshot> snapshot_from(MadeDocument made, std::uint64_t version) {
  auto snapshot = std::make_shared<web::SiteSnapshot>();
  snapshot->version = version;
  snapshot->made_at = made.made_at;
  snapshot->shared_status = shared_document_from(made.status);
  snapshot->status = std::move(made.status);
  return snapshot;
}

}  // namespace

SnapshotShelf::SnapshotShelf(MadeDocument first) : current_(snapshot_from(std::move(first), 1)) {}

std::shared_ptr<const web::SiteSnapshot> SnapshotShelf::current() const {
  const MutexLock lock(mutex_);
  return current_;
}

bool SnapshotShelf::offer(MadeDocument made) {
  const auto shown = current();
  if (says_the_same(made.status, shown->status) && made.made_at - shown->made_at < kSnapshotEvery) {
    return false;
  }
  auto next = snapshot_from(std::move(made), shown->version + 1);
  const MutexLock lock(mutex_);
  current_ = std::move(next);
  return true;
}

SnapshotKeeper::SnapshotKeeper(MadeDocument first,
                               std::function<store::Result<MadeDocument>()> make,
                               std::function<void(const std::string&)> complain)
    : shelf_(std::move(first)), make_(std::move(make)), complain_(std::move(complain)) {}

SnapshotKeeper::~SnapshotKeeper() { stop(); }

void SnapshotKeeper::start() {
  thread_ = std::thread([this] { run(); });
}

void SnapshotKeeper::stop() {
  {
    const MutexLock lock(mutex_);
    stopping_ = true;
  }
  woken_.notify_all();
  if (thread_.joinable()) {
    thread_.join();
  }
}

void SnapshotKeeper::changed() {
  {
    const MutexLock lock(mutex_);
    changed_ = true;
  }
  woken_.notify_all();
}

void SnapshotKeeper::run() {
  while (wait_for_turn()) {
    make();
    const MutexLock lock(mutex_);
    woken_.wait_for(mutex_, kApart, [this]() DWELLOG_REQUIRES(mutex_) { return stopping_; });
  }
}

bool SnapshotKeeper::wait_for_turn() {
  const MutexLock lock(mutex_);
  woken_.wait_for(mutex_, kEvery,
                  [this]() DWELLOG_REQUIRES(mutex_) { return stopping_ || changed_; });
  changed_ = false;
  return !stopping_;
}

void SnapshotKeeper::make() {
  auto made = make_();
  const std::string complaint = made ? std::string() : made.error().context;
  if (made) {
    shelf_.offer(std::move(made).value());
  } else if (complaint != complaint_) {
    complain_("the page shows what was before: " + complaint);
  }
  complaint_ = complaint;
}

}  // namespace logger::app
