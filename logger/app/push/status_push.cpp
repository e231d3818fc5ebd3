#include "logger/app/push/status_push.hpp"

#include <algorithm>

#include "logger/app/push/job_state.hpp"
#include "logger/app/push/push_places.hpp"
#include "logger/notify/delivery.hpp"
#include "logger/store/json_line.hpp"

namespace logger::app {

using store::Failure;
using store::Result;

namespace {

constexpr const char* kPushFails = "status_push_failing";
constexpr const char* kPushWorks = "status_push_working";

// As an event's subject; stays the same while the job file does.
std::string subject_of(std::size_t place) { return "status_push/" + std::to_string(place + 1); }

}  // namespace

StatusPush::StatusPush(JobFolder folder, Job job, bool simulated)
    : folder_(std::move(folder)),
      job_(std::move(job)),
      simulated_(simulated),
      places_(job_.status_pushes.size()) {}

Result<void> StatusPush::load(store::ReadingStore& store, UtcMicros now) {
  if (places_.empty()) {
    return {};
  }
  const auto events = store.events(0);
  if (!events) {
    return Failure{events.error()};
  }
  for (std::size_t i = 0; i < places_.size(); ++i) {
    places_[i].due_at = now;
    for (const store::Event& event : events.value()) {
      if (event.subject == subject_of(i)) {
        places_[i].fails = event.kind == kPushFails;
      }
    }
  }
  return {};
}

void StatusPush::note_verdicts(const std::string& verdicts, UtcMicros now) {
  const bool changed = !verdicts_.empty() && verdicts != verdicts_;
  verdicts_ = verdicts;
  for (Place& place : places_) {
    // A place that fails keeps its back-off: its next page says the new verdict anyway.
    if (changed && place.due_at && place.failed_attempts == 0) {
      const UtcMicros soonest = place.sent_at ? std::max(now, *place.sent_at + kApart) : now;
      place.due_at = std::min(*place.due_at, soonest);
    }
  }
}

std::optional<UtcMicros> StatusPush::due_at() const {
  std::optional<UtcMicros> earliest;
  for (const Place& place : places_) {
    if (place.due_at && (!earliest || *place.due_at < *earliest)) {
      earliest = place.due_at;
    }
  }
  return earliest;
}

bool StatusPush::is_due(UtcMicros now) const {
  const auto at = due_at();
  return at && now >= *at;
}

std::vector<std::size_t> StatusPush::due_places(UtcMicros now) const {
  std::vector<std::size_t> due;
  for (std::size_t i = 0; i < places_.size(); ++i) {
    if (places_[i].due_at && now >= *places_[i].due_at) {
      due.push_back(i);
    }
  }
  std::ranges::stable_sort(due, {}, [&](std::size_t i) { return places_[i].failed_attempts; });
  return due;
}

PushTurn StatusPush::work(UtcMicros now, const std::stop_token& stop) const {
  PushTurn turn;
  OpenedJob opened;
  opened.folder = folder_;
  opened.job = job_;
  const auto attached = attach_store(opened, false);
  opened.simulated = simulated_;
  opened.now = now;
  for (const std::size_t i : due_places(now)) {
    if (stop.stop_requested()) {
      break;
    }
    if (!attached) {
      turn.outcomes.push_back({i, attached.error().context});
      continue;
    }
    const JobStatusPush& push = job_.status_pushes[i];
    const auto page = status_page_from(opened, {push.every, push.personal});
    if (!page) {
      turn.outcomes.push_back({i, page.error().context});
      continue;
    }
    turn.page_bytes = page.value().html.size();
    turn.unsigned_because = page.value().unsigned_because;
    const auto put = put_page(opened, push, page.value().html, stop);
    turn.outcomes.push_back({i, put ? std::nullopt : std::optional(put.error().context)});
  }
  turn.stopped = stop.stop_requested();
  return turn;
}

void StatusPush::take_fault(std::size_t place, const std::string& fault, UtcMicros now,
                            DutyReport& report) {
  Place& state = places_[place];
  state.due_at = notify::next_attempt_at(++state.failed_attempts, now);
  if (!state.fails) {
    state.fails = true;
    report.warnings.push_back("no status page at " +
                              name_of_place(job_, job_.status_pushes[place]) + ": " + fault);
    report.events.push_back(
        {0, now, kPushFails, subject_of(place), store::json_line({{"reason", fault}})});
  }
}

void StatusPush::take_success(std::size_t place, UtcMicros now, DutyReport& report) {
  Place& state = places_[place];
  const bool first = !state.sent_at;
  state.sent_at = now;
  state.due_at = now + job_.status_pushes[place].every;
  state.failed_attempts = 0;
  if (state.fails) {
    state.fails = false;
    report.events.push_back({0, now, kPushWorks, subject_of(place), "{}"});
  }
  if (first || !report.events.empty()) {
    report.lines.push_back("status page put to " + name_of_place(job_, job_.status_pushes[place]));
  }
}

DutyReport StatusPush::take(const PushTurn& turn, UtcMicros now) {
  DutyReport report;
  for (const PushOutcome& outcome : turn.outcomes) {
    if (!outcome.fault) {
      take_success(outcome.place, now, report);
    } else if (!turn.stopped) {
      take_fault(outcome.place, *outcome.fault, now, report);
    }
  }
  if (!turn.unsigned_because.empty() && !said_unsigned_) {
    said_unsigned_ = true;
    report.lines.push_back("status pages go out unsigned: " + turn.unsigned_because);
  }
  return report;
}

}  // namespace logger::app
