#include "logger/app/alerts/alerting.hpp"

#include <algorithm>
#include <iterator>
#include <span>

#include "logger/app/alerts/alert_states.hpp"
#include "logger/app/alerts/local_clock.hpp"
#include "logger/app/alerts/observed.hpp"
#include "logger/app/alerts/recipients.hpp"
#include "logger/app/room/service_hours.hpp"
#include "logger/app/room/site_work.hpp"
#include "logger/app/status/laid_lines.hpp"
#include "logger/notify/alert_json.hpp"
#include "logger/notify/outgoing_text.hpp"

namespace logger::app {

using analysis::alerts::Alert;
using analysis::alerts::AlertMessage;
using analysis::alerts::Phase;
using analysis::alerts::PlannedTelling;
using analysis::alerts::RuleKind;
using analysis::alerts::ServiceObservation;
using analysis::alerts::TellingKind;
using analysis::alerts::Transition;
using store::CommitBatch;
using store::Failure;
using store::Result;

namespace {

// Stepped with the readings themselves, which say all that is known.
constexpr RuleKind kReadingRules[] = {RuleKind::out_of_band, RuleKind::dwell_reset};
// The next sample may decide these; the others wait for hours or for no sample.
constexpr RuleKind kSampleRules[] = {RuleKind::out_of_band, RuleKind::ready,
                                     RuleKind::no_longer_ready, RuleKind::sensor_fault,
                                     RuleKind::condensation_risk};

bool among(std::span<const RuleKind> kinds, RuleKind kind) {
  return std::find(kinds.begin(), kinds.end(), kind) != kinds.end();
}

// How often it is looked whether quiet hours still keep a reminder back.
constexpr Micros kLookAtQuietHours = std::chrono::minutes(10);

}  // namespace

Alerting::Alerting(const Job& job, bool simulated, UtcMicros started_at, Say say)
    : job_(job),
      simulated_(simulated),
      started_at_(started_at),
      say_(std::move(say)),
      rules_(telling_rules_from(job.alerts)),
      clock_(local_clock_or_utc(job.alerts.time_zone)) {}

Result<void> Alerting::load(store::ReadingStore& store, UtcMicros now) {
  auto alerts = alerts_from_store(store);
  const auto digest = store.newest_delivery_at("digest");
  if (!alerts || !digest) {
    return Failure{!alerts ? alerts.error() : digest.error()};
  }
  alerts_ = std::move(alerts).value();
  messages_.clear();
  newest_digest_ = digest.value();
  for (Alert& alert : alerts_) {
    // Nothing is known of the time in which the logger did not run, but what the readings tell.
    if (!among(kReadingRules, alert.kind)) {
      analysis::alerts::step_rule(alert.state, {}, {}, now);
    }
  }
  return {};
}

Result<void> Alerting::take_rooms(store::ReadingStore& store, const std::vector<RoomTracker>& rooms,
                                  UtcMicros now) {
  service_.clear();
  for (const RoomTracker& room : rooms) {
    if (!room.notes().laid_at) {
      continue;
    }
    auto window = service_window_from(store, job_, room, now);
    if (!window) {
      return Failure{window.error()};
    }
    service_.emplace(room.room_id(), std::move(window).value());
  }
  return {};
}

void Alerting::follow_clock_step(Micros step) {
  for (Alert& alert : alerts_) {
    analysis::alerts::follow_clock_step(alert.state, step);
  }
}

void Alerting::keep(std::vector<AlertMessage> messages) {
  std::move(messages.begin(), messages.end(), std::back_inserter(messages_));
}

void Alerting::take_reading(const RoomTracker& room, const analysis::readiness::ReplayStep& step) {
  if (!step.air) {
    return;
  }
  const auto reading = air_reading_from(room, step);
  keep(step_air_alerts(alerts_, job_.alerts.settings, reading));
  const auto window = service_.find(room.room_id());
  if (!reading.laid || window == service_.end()) {
    return;
  }
  if (reading.rh) {
    window->second.add(reading.at, *reading.rh);
  }
  if (reading.temperature) {
    window->second.add(reading.at, *reading.temperature);
  }
}

ServiceObservation Alerting::service_of(const RoomTracker& room, UtcMicros now) const {
  const auto window = service_.find(room.room_id());
  return {room.room_id(), find_room(job_, room.room_id())->service,
          window == service_.end() ? std::nullopt : std::optional(window->second.air_at(now))};
}

void Alerting::step_rules(const Round& round) {
  const auto& settings = job_.alerts.settings;
  assessments_.clear();
  for (const RoomTracker& room : round.rooms) {
    const auto evidence = room.evidence(round.now);
    const auto& requirements = room.replay().setup().requirements;
    // Of imported rows no record was fed; what was fed already changes nothing here.
    if (const auto air = newest_air_of(room, evidence)) {
      keep(step_air_alerts(alerts_, settings, *air));
    }
    const auto& assessment = assessments_[room.room_id()] =
        analysis::readiness::assess_room(requirements, evidence);
    keep(step_room_alerts(
        alerts_, settings,
        {room.room_id(), &assessment, &evidence, &requirements, room.notes().laid_at.has_value()},
        round.now));
    keep(step_service_alerts(alerts_, settings, service_of(room, round.now), round.now));
    for (const auto& channel : evidence.channels) {
      keep(step_channel_alerts(alerts_, settings,
                               channel_observation_from(channel, requirements, round.now),
                               round.now));
    }
  }
  for (const BoxNow& box : round.boxes) {
    keep(step_box_alerts(alerts_, settings,
                         {box.box_id, box.last_sample_at, started_at_, box.flags, box.time_error},
                         round.now));
  }
  keep(step_logger_alerts(alerts_, settings, round.logger, round.now));
}

void Alerting::finish_round(const Round& round, CommitBatch& batch) {
  step_rules(round);
  plan(round, batch);
  for (const Alert& alert : alerts_) {
    batch.alert_states.push_back(row_from_alert(alert));
  }
  messages_.clear();
}

const JobRoom* Alerting::room_of(const std::string& subject) const {
  if (const JobRoom* room = find_room(job_, subject)) {
    return room;
  }
  for (const JobBox& box : job_.boxes) {
    const JobChannel* only = nullptr;  // of a box that serves one room
    for (const JobChannel& channel : box.channels) {
      if (channel.id == subject) {
        return find_room(job_, channel.room_id);
      }
      if (!channel.room_id.empty()) {
        only = only == nullptr || only->room_id == channel.room_id ? &channel : only;
      }
    }
    if (box.id == subject && only != nullptr) {
      return find_room(job_, only->room_id);
    }
  }
  return nullptr;
}

void Alerting::plan(const Round& round, CommitBatch& batch) {
  const auto context_of = [&](const std::string& subject) {
    notify::AlertContext context;
    context.job_name = job_.name;
    context.simulated = simulated_;
    if (const JobRoom* room = room_of(subject)) {
      context.room_name = room->name;
      context.verdict = service_.contains(room->id)
                            ? std::string(notify::kLaidVerdict)
                            : std::string(name_of(assessments_.at(room->id).verdict));
    }
    return context;
  };
  for (const AlertMessage& message : messages_) {
    say_("alert: " + message.text);
    batch.messages.push_back({0, message.at, key_of(Alert{message.kind, message.subject, {}, {}}),
                              std::string(name_of(message.transition)),
                              json_from_alert(message, context_of(message.subject)), std::nullopt,
                              std::nullopt, 0, ""});
  }
  const auto noted = noted_acknowledgements(round.records);
  std::vector<analysis::alerts::Acknowledgement> acknowledged;
  std::transform(noted.begin(), noted.end(), std::back_inserter(acknowledged),
                 [](const NotedAcknowledgement& one) { return one.of; });
  for (const PlannedTelling& telling :
       plan_tellings(alerts_, messages_, rules_, acknowledged, clock_, round.now)) {
    AlertMessage message{
        telling.rule,
        telling.subject,
        telling.kind == TellingKind::cleared ? Transition::cleared : Transition::fired,
        telling.at,
        telling.text,
        values_of(messages_, telling)};
    notify::AlertContext context = context_of(telling.subject);
    context.number = telling.number;
    if (telling.kind == TellingKind::reminder || telling.kind == TellingKind::escalation) {
      context.kind = std::string(name_of(telling.kind));
      context.fired_at = telling.at;
      message.at = telling.due_at;
    }
    store::Delivery& delivery = batch.deliveries.emplace_back();
    delivery.recipient = telling.recipient;
    delivery.kind = std::string(name_of(telling.kind));
    delivery.alert_key = key_of(Alert{telling.rule, telling.subject, {}, {}});
    delivery.at = telling.at;
    delivery.number = telling.number;
    delivery.due_at = telling.due_at;
    delivery.held = telling.held;
    delivery.payload_json = json_from_alert(message, context);
  }
  plan_digest(round, noted, batch);
  next_telling_at_ = analysis::alerts::next_telling_at(alerts_, rules_, acknowledged);
  if (next_telling_at_) {
    // A reminder that quiet hours keep back is overdue all night.
    next_telling_at_ = std::max(*next_telling_at_, round.now + kLookAtQuietHours);
  }
}

notify::DigestRoom Alerting::digest_room(const RoomTracker& tracker, const Round& round) const {
  const auto& assessment = assessments_.at(tracker.room_id());
  notify::DigestRoom row{tracker.room_id(),
                         find_room(job_, tracker.room_id())->name,
                         std::string(name_of(assessment.verdict)),
                         assessment.dwell_done_hours,
                         assessment.dwell_left_hours,
                         "",
                         ""};
  const ServiceObservation service = service_of(tracker, round.now);
  if (service.air) {
    row.laying = "laid";
    row.service = service_state(*service.air, service.climate);
  } else if (laying_from(round.records, tracker.room_id()).began_at) {
    row.laying = "being laid";
  }
  return row;
}

void Alerting::plan_digest(const Round& round, const std::vector<NotedAcknowledgement>& noted,
                           CommitBatch& batch) {
  const auto due = digest_due_at(rules_.policy, {newest_digest_, started_at_}, clock_, round.now);
  if (!due || job_.alerts.digest_to.empty()) {
    return;
  }
  notify::Digest digest;
  digest.job_name = job_.name;
  digest.simulated = simulated_;
  digest.at = round.now;
  for (const RoomTracker& tracker : round.rooms) {
    digest.rooms.push_back(digest_room(tracker, round));
  }
  for (const Alert& alert : alerts_) {
    if (alert.state.phase == Phase::firing) {
      digest.alerts.push_back({key_of(alert),
                               alert.telling.text.empty() ? key_of(alert) : alert.telling.text,
                               acknowledgement_of(alert, noted) != nullptr});
    }
  }
  for (const std::string& recipient : job_.alerts.digest_to) {
    store::Delivery& delivery = batch.deliveries.emplace_back();
    delivery.recipient = recipient;
    delivery.kind = "digest";
    delivery.at = *due;
    delivery.due_at = round.now;
    delivery.payload_json = json_from_digest(digest);
  }
  newest_digest_ = due;
}

bool Alerting::waits_for_sample() const {
  return std::any_of(alerts_.begin(), alerts_.end(), [](const Alert& alert) {
    return alert.state.phase == Phase::pending && among(kSampleRules, alert.kind);
  });
}

}  // namespace logger::app
