// Collects from every box of a job, dates what came, and releases at the boxes what was committed.
// Event loop thread only. Holds nothing of a round after it: what is not committed is still in the
// boxes.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <boost/asio/io_context.hpp>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "logger/app/job/job.hpp"
#include "logger/app/room/history.hpp"
#include "logger/ingest/box_reader.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::app {

struct DatedBoxRecord {
  std::string box_id;
  Record record;
  std::optional<DatedTime> at;  // nullopt = the host's clock was not set yet
};

// One round over all boxes.
struct CollectedRound {
  std::vector<store::BoxBatch> boxes;
  std::vector<store::Gap> gaps;
  std::vector<store::Event> events;
  std::vector<DatedBoxRecord> records;     // for each box in order
  std::vector<std::string> redated_boxes;  // a step of the host clock moved their earlier records
  Micros clock_step{0};                    // its size, positive = put forward
  bool more = false;                       // a box holds more than one round takes
};

// What is known of one box now.
struct BoxNow {
  std::string box_id;
  std::optional<UtcMicros> last_sample_at;
  bool link_up = false;
};

class Collector {
 public:
  // `clock`, `observer` (nullptr = none), `job` and `committed` outlive the collector; `committed`
  // is a read-only store of the same job.
  Collector(boost::asio::io_context& loop, ingest::Clock& clock, ingest::LineObserver* observer,
            const Job& job, store::ReadingStore& committed);
  ~Collector();
  Collector(const Collector&) = delete;
  Collector& operator=(const Collector&) = delete;

  // Where each box stands in the store. Call it before the first round and after a failed commit.
  store::Result<void> load();
  // A box that does not answer is told in the events, once, and costs no more than its time-outs.
  boost::asio::awaitable<CollectedRound> collect();
  // The last round is on disk: the boxes may forget it. A failed release is repeated by the next.
  boost::asio::awaitable<void> release_committed();

  [[nodiscard]] std::vector<BoxNow> boxes() const;

 private:
  struct BoxState;
  struct LineOfBoxes;

  boost::asio::awaitable<void> collect_box(BoxState& box, CollectedRound& round);
  store::Result<void> date_harvest(BoxState& box, const ingest::Harvest& harvest,
                                   CollectedRound& round);
  void note_link(BoxState& box, bool up, const std::string& reason, CollectedRound& round);
  void add_event(CollectedRound& round, const std::string& kind, const std::string& subject,
                 const std::string& detail_json) const;

  ingest::Clock& clock_;
  store::ReadingStore& committed_;
  std::vector<std::unique_ptr<LineOfBoxes>> lines_;
};

}  // namespace logger::app
