// 200 readers of the page, each with an open /events and one GET /api/v1/status a second, while a
// store takes records at 50 times the rate of 8 boxes with 8 channels each (one record a box and
// minute), all in one process on this machine. Prints the times of requests and what the readers
// cost the store, paced as above and as fast as it can; alternating rounds with and without
// readers.
//
//   cmake -S . -B build/bench -G Ninja -DDWELLOG_BENCHMARKS=ON -DCMAKE_BUILD_TYPE=Release
//   ninja -C build/bench bench_live_readers && build/bench/tests/benchmarks/bench_live_readers .
#include <poll.h>

#include <algorithm>
#include <atomic>
#include <mutex>
#include <thread>
#include <vector>

#include "logger/store/sqlite_store.hpp"
#include "logger/web/http/web_server.hpp"
#include "tests/benchmarks/bench_folder.hpp"
#include "tests/benchmarks/big_store.hpp"
#include "tests/web/raw_client.hpp"
#include "tests/web/web_rig.hpp"

namespace {

using namespace benchmarks;
using std::chrono::milliseconds;
using std::chrono::steady_clock;

constexpr std::size_t kReaders = 200;
constexpr std::size_t kAskingThreads = 4;
constexpr std::size_t kBoxes = 8;
constexpr int kRounds = 3;
constexpr milliseconds kPaced{10'000};
constexpr milliseconds kFlatOut{3'000};
constexpr milliseconds kMinute{60'000 / 50};  // of the site
constexpr double kTargetRatio = 0.9;

// As large as the document of eight rooms with eight channels; what changes with each record
// changes.
nlohmann::ordered_json document_of(std::int64_t minute) {
  auto document = web_tests::status_document(0);
  auto rooms = nlohmann::ordered_json::array();
  for (std::size_t room = 0; room < kBoxes; ++room) {
    auto channels = nlohmann::ordered_json::array();
    for (int channel = 0; channel < 8; ++channel) {
      channels.push_back(
          {{"id", "box-" + std::to_string(room) + ".ch-" + std::to_string(channel)},
           {"box", "box-" + std::to_string(room)},
           {"role", "air_temperature"},
           {"value_celsius", 20.0 + static_cast<double>((minute + channel) % 100) / 100},
           {"value_at_utc", analysis::base::rfc3339_from_utc(
                                kSiteStart + analysis::base::Micros{minute * 60'000'000})},
           {"last_status", "ok"},
           {"last_quality", "good"}});
    }
    rooms.push_back({{"id", "room-" + std::to_string(room)},
                     {"verdict", "not-ready"},
                     {"dwell_done_hours", static_cast<double>(minute) / 60},
                     {"headline", "An invented sentence that says why the room is not ready yet."},
                     {"channels", std::move(channels)}});
  }
  document["rooms"] = std::move(rooms);
  return document;
}

class LiveSite final : public web_tests::FakeSite {
 public:
  std::shared_ptr<const logger::web::SiteSnapshot> snapshot() override {
    const std::lock_guard lock{mutex_};
    return newest_;
  }
  void show(std::int64_t minute) {
    auto made = std::make_shared<logger::web::SiteSnapshot>();
    made->version = static_cast<std::uint64_t>(minute) + 1;
    made->status = document_of(minute);
    made->shared_status = made->status;
    const std::lock_guard lock{mutex_};
    newest_ = std::move(made);
  }

 private:
  std::mutex mutex_;
  std::shared_ptr<const logger::web::SiteSnapshot> newest_;
};

double quantile(std::vector<double> values, double share) {
  if (values.empty()) {
    return 0;
  }
  const auto at =
      values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

// What a store takes, a minute of the site in one commit, as the daemon does.
class Ingest {
 public:
  explicit Ingest(const std::string& path)
      : store_(required(logger::store::open_sqlite_store(path, {.create = true}))) {
    required(store_->mark_simulated(true));
  }

  // Records a second. pace 0 = as fast as it can; show is called after each commit.
  template <class Show>
  double run(milliseconds duration, milliseconds pace, const Show& show) {
    const Stopwatch watch;
    const auto end = steady_clock::now() + duration;
    auto next = steady_clock::now();
    std::int64_t records = 0;
    while (steady_clock::now() < end) {
      logger::store::CommitBatch batch;
      for (std::size_t box = 0; box < kBoxes; ++box) {
        batch.boxes.push_back(sample_batch(ids_[box], box, minute_ + 1, 1));
      }
      const Stopwatch commit;
      required(store_->commit(batch));
      commit_ms.push_back(commit.seconds() * 1000);
      records += static_cast<std::int64_t>(kBoxes);
      show(minute_++);
      if (pace.count() != 0) {
        next += pace;
        std::this_thread::sleep_until(next);
      }
    }
    return static_cast<double>(records) / watch.seconds();
  }

  std::vector<double> commit_ms;

 private:
  std::vector<std::string> ids_ = numbered_boxes(kBoxes);
  std::unique_ptr<logger::store::ReadingStore> store_;
  std::int64_t minute_ = 0;
};

class Readers {
 public:
  Readers(std::uint16_t port, const std::string& token)
      : header_("Authorization: Bearer " + token + "\r\n") {
    for (std::size_t i = 0; i < kReaders; ++i) {
      const std::string address = "127.0.1." + std::to_string(i + 1);
      streams_.push_back(std::make_unique<web_tests::RawClient>(port, address.c_str()));
      streams_.back()->send(web_tests::RawClient::get("/events", header_));
      askers_.push_back(std::make_unique<web_tests::RawClient>(port, address.c_str()));
    }
    threads_.emplace_back([this] { drain(); });
    for (std::size_t i = 0; i < kAskingThreads; ++i) {
      threads_.emplace_back([this, i] { ask(i); });
    }
  }
  Readers(const Readers&) = delete;
  Readers& operator=(const Readers&) = delete;
  ~Readers() {
    stop_ = true;
    for (auto& thread : threads_) {
      thread.join();
    }
  }
  [[nodiscard]] std::vector<double> request_ms() {
    const std::lock_guard lock{mutex_};
    return request_ms_;
  }
  [[nodiscard]] std::int64_t streamed_bytes() const { return streamed_; }
  [[nodiscard]] int failures() const { return failures_; }

 private:
  void drain() {
    std::vector<pollfd> waiting;
    for (const auto& stream : streams_) {
      waiting.push_back({stream->socket(), POLLIN, 0});
    }
    std::vector<char> bytes(1 << 20U);
    while (!stop_) {
      ::poll(waiting.data(), waiting.size(), 100);
      for (auto& one : waiting) {
        if ((one.revents & POLLIN) != 0) {
          const ssize_t count = ::recv(one.fd, bytes.data(), bytes.size(), MSG_DONTWAIT);
          streamed_ += std::max<ssize_t>(count, 0);
          failures_ += count == 0 ? 1 : 0;
          one.fd = count == 0 ? -1 : one.fd;
        }
      }
    }
  }
  // Each reader of this thread once a second, spread over it.
  void ask(std::size_t thread) {
    constexpr std::size_t kOfThread = kReaders / kAskingThreads;
    const std::string request =
        web_tests::RawClient::get("/api/v1/status", header_ + "Accept-Encoding: gzip\r\n");
    auto next = steady_clock::now();
    for (std::size_t turn = 0; !stop_; ++turn) {
      auto& client = *askers_[thread * kOfThread + turn % kOfThread];
      const Stopwatch watch;
      client.send(request);
      const auto answer = client.read_answer();
      failures_ += answer && answer->status == 200 ? 0 : 1;
      {
        const std::lock_guard lock{mutex_};
        request_ms_.push_back(watch.seconds() * 1000);
      }
      next += milliseconds{1000} / static_cast<int>(kOfThread);
      std::this_thread::sleep_until(next);
    }
  }

  std::string header_;
  std::vector<std::unique_ptr<web_tests::RawClient>> streams_;
  std::vector<std::unique_ptr<web_tests::RawClient>> askers_;
  std::vector<std::thread> threads_;
  std::mutex mutex_;
  std::vector<double> request_ms_;
  std::atomic<std::int64_t> streamed_{0};
  std::atomic<int> failures_{0};
  std::atomic<bool> stop_{false};
};

struct Totals {
  std::vector<double> paced;     // records a second, by round
  std::vector<double> flat_out;  // likewise
  std::vector<double> paced_commit_ms;
};

void measure(Ingest& ingest, LiveSite& site, Totals& totals) {
  const auto show = [&](std::int64_t minute) { site.show(minute); };
  ingest.commit_ms.clear();
  totals.paced.push_back(ingest.run(kPaced, kMinute, show));
  totals.paced_commit_ms.insert(totals.paced_commit_ms.end(), ingest.commit_ms.begin(),
                                ingest.commit_ms.end());
  // A page shows at most one change a second, however fast records come.
  totals.flat_out.push_back(ingest.run(kFlatOut, milliseconds{0}, [&](std::int64_t minute) {
    if (minute % 1000 == 0) {
      site.show(minute);
    }
  }));
}

}  // namespace

int main(int argc, char** argv) {
  const BenchFolder folder{argc, argv};
  Ingest ingest{folder.file("store")};
  LiveSite site;
  site.show(0);
  web_tests::WebRig people;
  logger::web::WebServer server{{}, [] { return web_tests::kNow; }};
  logger::web::HandlerSettings settings;
  settings.per_principal = {1e9, 1e9};  // all readers share one token here
  logger::web::PageHandler handler{{*people.access, site}, server, settings};
  required(server.start(handler));

  Totals without;
  Totals with;
  std::vector<double> request_ms;
  std::int64_t streamed = 0;
  int failures = 0;
  for (int round = 0; round < kRounds; ++round) {
    measure(ingest, site, without);
    Readers readers{server.port(), people.person(logger::web::Role::viewer).token};
    measure(ingest, site, with);
    const auto times = readers.request_ms();
    request_ms.insert(request_ms.end(), times.begin(), times.end());
    streamed += readers.streamed_bytes();
    failures += readers.failures();
  }
  server.stop();

  std::printf("status document %zu bytes; %zu requests, %d failed, %.1f MB of events\n",
              document_of(0).dump().size(), request_ms.size(), failures,
              static_cast<double>(streamed) / 1e6);
  std::printf("GET /api/v1/status: p50 %.2f ms, p99 %.2f ms, longest %.2f ms\n",
              quantile(request_ms, 0.5), quantile(request_ms, 0.99), quantile(request_ms, 1));
  std::printf(
      "a commit of 8 records, paced: p50 %.2f / p99 %.2f ms without, %.2f / %.2f ms with readers\n",
      quantile(without.paced_commit_ms, 0.5), quantile(without.paced_commit_ms, 0.99),
      quantile(with.paced_commit_ms, 0.5), quantile(with.paced_commit_ms, 0.99));
  const double paced = quantile(with.paced, 0.5) / quantile(without.paced, 0.5);
  const double flat_out = quantile(with.flat_out, 0.5) / quantile(without.flat_out, 0.5);
  std::printf("ingest at 50 times the rate: %.2f records/s without, %.2f with readers\n",
              quantile(without.paced, 0.5), quantile(with.paced, 0.5));
  std::printf("ingest as fast as it can: %.0f records/s without, %.0f with readers, ratio %.2f\n",
              quantile(without.flat_out, 0.5), quantile(with.flat_out, 0.5), flat_out);
  std::printf("ratio at 50 times the rate %.2f (target at least %.2f)\n", paced, kTargetRatio);
  return paced >= kTargetRatio && failures == 0 ? 0 : 2;
}
