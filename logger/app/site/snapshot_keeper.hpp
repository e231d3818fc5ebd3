// Keeps what the page shows: makes it anew on a thread of its own, at most once a second, when
// something changed, and each minute, so that ages and "silent" stay right.
#pragma once

#include <condition_variable>
#include <functional>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <thread>

#include "logger/store/annotated_mutex.hpp"
#include "logger/web/site/site.hpp"

namespace logger::app {

using analysis::base::Micros;
using analysis::base::UtcMicros;

inline constexpr Micros kSnapshotEvery{60'000'000};

struct MadeDocument {
  nlohmann::ordered_json status;  // dwellog-status/1
  UtcMicros made_at;
};

// The snapshot that is shown now. Any thread.
class SnapshotShelf {
 public:
  explicit SnapshotShelf(MadeDocument first);
  [[nodiscard]] std::shared_ptr<const web::SiteSnapshot> current() const;
  // Shows it as the next version when it says something else beside its time, or when what is shown
  // is kSnapshotEvery old. One thread. Gives whether it is shown.
  bool offer(MadeDocument made);

 private:
  mutable store::Mutex mutex_;
  std::shared_ptr<const web::SiteSnapshot> current_ DWELLOG_GUARDED_BY(mutex_);
};

class SnapshotKeeper {
 public:
  // `make` runs on the keeper's thread, as `complain`, which is called when making failed, once for
  // the same words.
  SnapshotKeeper(MadeDocument first, std::function<store::Result<MadeDocument>()> make,
                 std::function<void(const std::string&)> complain);
  SnapshotKeeper(const SnapshotKeeper&) = delete;
  SnapshotKeeper& operator=(const SnapshotKeeper&) = delete;
  ~SnapshotKeeper();  // stop()

  void start();
  void stop();
  // Something was recorded. Any thread, never blocks.
  void changed();
  [[nodiscard]] std::shared_ptr<const web::SiteSnapshot> current() const {
    return shelf_.current();
  }

 private:
  void run();
  // Gives false when stopping.
  bool wait_for_turn();
  void make();

  SnapshotShelf shelf_;
  std::function<store::Result<MadeDocument>()> make_;
  std::function<void(const std::string&)> complain_;
  std::string complaint_;  // the last one; the keeper's thread
  store::Mutex mutex_;
  std::condition_variable_any woken_;
  bool changed_ DWELLOG_GUARDED_BY(mutex_) = true;
  bool stopping_ DWELLOG_GUARDED_BY(mutex_) = false;
  std::thread thread_;
};

}  // namespace logger::app
