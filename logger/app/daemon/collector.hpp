// Collects from every box of a job when it is due, dates what came, and releases at the boxes what
// was committed. Event loop thread only. Holds nothing of a round after it: what is not committed
// is still in the boxes, or in the reader of a transmitter that has no memory. Lines are collected
// side by side, the devices of one line one after another.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <boost/asio/io_context.hpp>
#include <map>
#include <memory>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "logger/app/job/job.hpp"
#include "logger/app/room/history.hpp"
#include "logger/ingest/modbus_line.hpp"
#include "logger/ingest/record_source.hpp"
#include "logger/ingest/signal.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::app {

struct DatedBoxRecord {
  std::string box_id;
  Record record;
  std::optional<DatedTime> at;  // nullopt = the host's clock was not set yet
};

// One round over the boxes that were due.
struct CollectedRound {
  std::vector<store::BoxBatch> boxes;
  std::vector<store::Gap> gaps;
  std::vector<store::Event> events;
  std::vector<DatedBoxRecord> records;     // for each box in order
  std::vector<std::string> redated_boxes;  // a step of the host clock moved their earlier records
  Micros clock_step{0};                    // its size, positive = put forward
  bool more = false;                       // a box holds more than one round takes: it is due now
};

// What is known of one box now.
struct BoxNow {
  std::string box_id;
  std::optional<UtcMicros> last_sample_at;
  bool link_up = false;
  std::optional<std::uint16_t> flags;  // of all records since the round before, else of the newest
  std::optional<Micros> time_error;    // of the date of the newest record of this run
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
  // Which boxes a round asks: those that are due; those whose next sample may be there, since it
  // matters at once; all.
  enum class Extent { due, hurried, all };
  // A box that does not answer is told in the events, once. It costs the others of its line one
  // time-out, and is asked less and less often, at least once a minute or as often as before.
  boost::asio::awaitable<CollectedRound> collect(Extent extent);
  // The last round is on disk: the boxes may forget it. A failed release is repeated by the next.
  boost::asio::awaitable<void> release_committed();

  // Nothing can be written: probe boxes keep their records and are left alone for `wait`;
  // transmitters are polled on.
  void hold_back(Micros wait);
  // Until there is something to collect.
  [[nodiscard]] Micros until_due(Extent extent) const;
  [[nodiscard]] std::vector<BoxNow> boxes() const;

 private:
  struct BoxState;
  struct LineOfBoxes;

  struct Gathering;  // a round while its lines are at work

  void add_box(boost::asio::io_context& loop, ingest::LineObserver* observer, const JobBox& box);
  boost::asio::awaitable<void> collect_line(LineOfBoxes& line, Extent extent, Gathering& gathering);
  boost::asio::awaitable<void> collect_box(BoxState& box, std::size_t most_records,
                                           CollectedRound& round);
  void note_asked(BoxState& box, bool more) const;
  // Zero = due.
  [[nodiscard]] Micros until_due(const BoxState& box, Extent extent) const;
  store::Result<void> date_harvest(BoxState& box, const ingest::Harvest& harvest,
                                   CollectedRound& round);
  void note_link(BoxState& box, bool up, const std::string& reason, CollectedRound& round);
  void add_event(CollectedRound& round, const std::string& kind, const std::string& subject,
                 const nlohmann::json& detail) const;

  boost::asio::any_io_executor executor_;
  ingest::Clock& clock_;
  const Job& job_;
  store::ReadingStore& committed_;
  std::vector<std::unique_ptr<LineOfBoxes>> lines_;  // in the order of the job
};

}  // namespace logger::app
