// What `dwellog run` does about pushed status pages: when to make one, when to try again, and what
// of it to say. The event loop asks is_due, hands work() to the worker thread and gives its outcome
// to take(); work() touches no state of this, so both may run at once. A page that did not go out
// is never sent later: the next attempt makes a new one. At the start of a run every place gets a
// page, since nobody knows what the last run still sent.
#pragma once

#include <optional>
#include <stop_token>
#include <string>
#include <vector>

#include "logger/app/commands/job_folder.hpp"
#include "logger/app/daemon/duty_report.hpp"

namespace logger::app {

struct PushOutcome {
  std::size_t place = 0;             // index in Job::status_pushes
  std::optional<std::string> fault;  // why the page did not go out
};

struct PushTurn {
  std::vector<PushOutcome> outcomes;
  std::size_t page_bytes = 0;    // of the last one
  std::string unsigned_because;  // empty = signed
  bool stopped = false;          // told to end midway: what failed says nothing
};

class StatusPush {
 public:
  StatusPush(JobFolder folder, Job job, bool simulated);

  // Once, before anything else. Errors: of the store.
  store::Result<void> load(store::ReadingStore& store, UtcMicros now);

  [[nodiscard]] bool is_wanted() const { return !places_.empty(); }
  // What the rooms' verdicts are; another text than the last one makes every place due, though not
  // sooner than kApart after its last page.
  void note_verdicts(const std::string& verdicts, UtcMicros now);
  [[nodiscard]] bool is_due(UtcMicros now) const;
  // nullopt = there is nothing to wait for.
  [[nodiscard]] std::optional<UtcMicros> due_at() const;

  // Blocks: reads the store through a connection of its own, draws, sends. For the worker thread.
  [[nodiscard]] PushTurn work(UtcMicros now, const std::stop_token& stop) const;

  [[nodiscard]] DutyReport take(const PushTurn& turn, UtcMicros now);

  static constexpr Micros kApart{300'000'000};

 private:
  struct Place {
    std::optional<UtcMicros> due_at;   // nullopt = before load
    std::optional<UtcMicros> sent_at;  // in this run
    int failed_attempts = 0;
    bool fails = false;  // as the store's events say
  };
  // Those that failed come last, so that one that lets everybody wait does so after the others.
  [[nodiscard]] std::vector<std::size_t> due_places(UtcMicros now) const;
  void take_fault(std::size_t place, const std::string& fault, UtcMicros now, DutyReport& report);
  void take_success(std::size_t place, UtcMicros now, DutyReport& report);

  JobFolder folder_;
  Job job_;
  bool simulated_;
  std::vector<Place> places_;
  std::string verdicts_;
  bool said_unsigned_ = false;
};

}  // namespace logger::app
