#include "logger/web/handler/events/snapshot_feed.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <utility>

#include "logger/web/handler/answer/answers.hpp"
#include "logger/web/handler/events/merge_patch.hpp"
#include "logger/web/handler/request/target.hpp"

namespace logger::web {

using nlohmann::ordered_json;

namespace {

constexpr std::string_view kComment = ": still here\n\n";
constexpr std::int64_t kLargestVersion = INT64_MAX;

std::string one_line(const ordered_json& document) {
  return document.dump(-1, ' ', false, ordered_json::error_handler_t::replace);
}

}  // namespace

class SnapshotFeed::Reader final : public EventFeed {
 public:
  Reader(const SnapshotFeed& feed, std::optional<std::uint64_t> version,
         std::function<bool()> still_may)
      : feed_(feed), version_(version), still_may_(std::move(still_may)) {}

  void next(std::function<void(std::string)> ready) override {
    ready_ = std::move(ready);
    if (is_first_) {
      is_first_ = false;
      send_news();
    }
  }
  void close() override { ready_ = nullptr; }

  void tick() {
    ++silent_ticks_;
    if (++trusted_ticks_ >= kTicksOfTrust) {
      trusted_ticks_ = 0;
      ended_ = ended_ || !still_may_();
    }
    if (ended_) {
      send({});
    } else if (!send_news() && silent_ticks_ >= kTicksOfSilence) {
      send(std::string(kComment));
    }
  }

 private:
  bool send_news() {
    if (!ready_ || !feed_.snapshot_ || version_ == feed_.snapshot_->version) {
      return false;
    }
    std::string news = feed_.events_after(version_);
    version_ = feed_.snapshot_->version;
    send(std::move(news));
    return true;
  }
  void send(std::string text) {
    if (ready_) {
      silent_ticks_ = 0;
      std::exchange(ready_, nullptr)(std::move(text));
    }
  }

  const SnapshotFeed& feed_;
  std::optional<std::uint64_t> version_;
  std::function<bool()> still_may_;
  std::function<void(std::string)> ready_;
  int silent_ticks_ = 0;
  int trusted_ticks_ = 0;
  bool is_first_ = true;
  bool ended_ = false;
};

SnapshotFeed::SnapshotFeed(Audience audience, std::string run)
    : audience_(audience), run_(std::move(run)) {}
SnapshotFeed::~SnapshotFeed() = default;

const ordered_json& SnapshotFeed::document_of(const SiteSnapshot& snapshot) const {
  return audience_ == Audience::full ? snapshot.status : snapshot.shared_status;
}

void SnapshotFeed::update(const std::shared_ptr<const SiteSnapshot>& snapshot) {
  if (!snapshot || (snapshot_ && snapshot_->version == snapshot->version)) {
    return;
  }
  text_ = one_line(document_of(*snapshot));
  gzip_.clear();
  if (snapshot_) {
    const auto patch = merge_patch_between(document_of(*snapshot_), document_of(*snapshot));
    std::string data = patch ? one_line(*patch) : std::string{};
    const bool is_worth_it = patch && data.size() < text_.size();
    patches_.push_back({snapshot_->version, snapshot->version,
                        is_worth_it ? event("patch", snapshot->version, data)
                                    : event("status", snapshot->version, text_)});
    if (patches_.size() > kKeptPatches) {
      patches_.pop_front();
    }
  }
  snapshot_ = snapshot;
}

void SnapshotFeed::tick() {
  for (const auto& known : readers_) {
    if (const auto reader = known.lock()) {
      reader->tick();
    }
  }
}

std::size_t SnapshotFeed::readers() const {
  return static_cast<std::size_t>(std::count_if(
      readers_.begin(), readers_.end(), [](const auto& reader) { return !reader.expired(); }));
}

const std::string& SnapshotFeed::gzip() const {
  if (gzip_.empty()) {
    gzip_ = gzip_from(text_);
  }
  return gzip_;
}

std::string SnapshotFeed::id() const {
  return std::to_string(snapshot_ ? snapshot_->version : 0) + '.' + run_;
}

std::shared_ptr<EventFeed> SnapshotFeed::open(std::string_view last_id,
                                              std::function<bool()> still_may) {
  std::erase_if(readers_, [](const auto& known) { return known.expired(); });
  auto reader = std::make_shared<Reader>(*this, version_from(last_id), std::move(still_may));
  readers_.push_back(reader);
  return reader;
}

std::string SnapshotFeed::event(std::string_view name, std::uint64_t version,
                                std::string_view data) const {
  std::string text = "event: ";
  text.append(name).append("\nid: ").append(std::to_string(version)).append(".").append(run_);
  return text.append("\ndata: ").append(data).append("\n\n");
}

std::optional<std::uint64_t> SnapshotFeed::version_from(std::string_view id) const {
  const std::size_t dot = std::min(id.find('.'), id.size());
  const auto version = whole_number_from(id.substr(0, dot), 0, kLargestVersion);
  if (!version || id.substr(dot) != "." + run_) {
    return std::nullopt;
  }
  return static_cast<std::uint64_t>(*version);
}

std::string SnapshotFeed::events_after(std::optional<std::uint64_t> version) const {
  const auto first = std::find_if(patches_.begin(), patches_.end(),
                                  [&](const Patch& patch) { return patch.from == version; });
  std::string joined;
  for (auto patch = first; patch != patches_.end(); ++patch) {
    joined += patch->event;
  }
  return joined.empty() || joined.size() > text_.size() ? event("status", snapshot_->version, text_)
                                                        : joined;
}

}  // namespace logger::web
