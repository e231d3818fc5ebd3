// The alerts of one job: steps the rules with what a round brought, and plans who is told. What it
// makes goes into the commit of that round, so that states, messages and deliveries are stored
// together with the records they come from. Event loop thread only; reads no clock.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "analysis/alerts/observations.hpp"
#include "analysis/alerts/telling_policy.hpp"
#include "analysis/readiness/service/service_air.hpp"
#include "logger/app/alerts/acknowledgements.hpp"
#include "logger/app/daemon/collector.hpp"
#include "logger/app/room/room_tracker.hpp"
#include "logger/notify/outgoing_text.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::app {

class Alerting {
 public:
  using Say = std::function<void(const std::string&)>;
  // `job` outlives the object. Says what it tells.
  Alerting(const Job& job, bool simulated, UtcMicros started_at, Say say);

  // Back to what the store holds; `now` is the moment this run of the logger begins to know things.
  store::Result<void> load(store::ReadingStore& store, UtcMicros now);
  // Whenever the rooms were made anew: the air of laid floors is read from the store.
  store::Result<void> take_rooms(store::ReadingStore& store, const std::vector<RoomTracker>& rooms,
                                 UtcMicros now);
  // Before the readings that came after the step.
  void follow_clock_step(Micros step);
  // A record that was fed to `room`, and what it meant there.
  void take_reading(const RoomTracker& room, const analysis::readiness::ReplayStep& step);

  struct Round {
    const std::vector<RoomTracker>& rooms;
    const std::vector<BoxNow>& boxes;
    const JobRecords& records;
    analysis::alerts::LoggerObservation logger;
    UtcMicros now;
  };
  // The end of a round: all other rules, and the tellings. Adds states, messages and deliveries.
  void finish_round(const Round& round, store::CommitBatch& batch);

  // Of the rooms of the newest round, by id.
  using Assessments = std::map<std::string, analysis::readiness::RoomAssessment>;
  [[nodiscard]] const Assessments& assessments() const { return assessments_; }
  // A rule waits for its time to be over and the next sample may decide.
  [[nodiscard]] bool waits_for_sample() const;
  // Without anything new; nullopt = nothing is to come.
  [[nodiscard]] std::optional<UtcMicros> next_telling_at() const { return next_telling_at_; }

 private:
  void keep(std::vector<analysis::alerts::AlertMessage> messages);
  [[nodiscard]] analysis::alerts::ServiceObservation service_of(const RoomTracker& room,
                                                                UtcMicros now) const;
  void step_rules(const Round& round);
  void plan(const Round& round, store::CommitBatch& batch);
  [[nodiscard]] notify::DigestRoom digest_room(const RoomTracker& tracker,
                                               const Round& round) const;
  void plan_digest(const Round& round, const std::vector<NotedAcknowledgement>& noted,
                   store::CommitBatch& batch);
  [[nodiscard]] const JobRoom* room_of(const std::string& subject) const;

  const Job& job_;
  bool simulated_;
  UtcMicros started_at_;
  Say say_;
  analysis::alerts::TellingRules rules_;
  analysis::alerts::LocalClock clock_;
  std::vector<analysis::alerts::Alert> alerts_;
  Assessments assessments_;
  std::map<std::string, analysis::readiness::ServiceAirWindow> service_;  // of laid rooms, by id
  std::vector<analysis::alerts::AlertMessage> messages_;                  // of the round at hand
  std::optional<UtcMicros> newest_digest_;
  std::optional<UtcMicros> next_telling_at_;
};

}  // namespace logger::app
