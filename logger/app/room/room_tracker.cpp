#include "logger/app/room/room_tracker.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <utility>

#include "analysis/evidence/digest.hpp"
#include "logger/app/room/account_json.hpp"

namespace logger::app {

using analysis::readiness::ChannelSetup;
using analysis::readiness::DwellPolicy;
using analysis::readiness::ReplayStep;
using analysis::readiness::RoomAssessment;
using analysis::readiness::RoomEvidence;
using analysis::readiness::RoomSetup;
using nlohmann::json;
using store::Failure;
using store::Result;

namespace {

// Changes whenever the same records could give other hours, so that a stored account made under
// other rules is never believed.
constexpr int kAccountingVersion = 3;

// Channels of which something computed is kept with the account.
bool is_accounted(const ChannelSetup& channel) {
  return channel.scale.role == analysis::base::ChannelRole::room_air_temperature ||
         channel.scale.role == analysis::base::ChannelRole::room_air_rh ||
         channel.scale.role == analysis::base::ChannelRole::stack_core_temperature ||
         channel.scale.role == analysis::base::ChannelRole::slab_rh;
}

json stack_rules(const RoomSetup& setup) {
  if (!setup.stack) {
    return nullptr;
  }
  const auto& [geometry, delivered] = *setup.stack;
  return {{"size_m", {geometry.length.value(), geometry.width.value(), geometry.height.value()}},
          {"bottom", static_cast<int>(geometry.bottom)},
          {"delivered_celsius", delivered ? json(delivered->value()) : json()},
          {"within_kelvin", setup.requirements.core_within.value.value()}};
}

std::string fingerprint_of(const RoomSetup& setup) {
  const DwellPolicy policy = analysis::readiness::dwell_policy_from(setup);
  json rules = {
      {"accounting_version", kAccountingVersion},
      {"band_celsius_fraction",
       {policy.band.temperature_low.value(), policy.band.temperature_high.value(),
        policy.band.rh_low.value(), policy.band.rh_high.value()}},
      {"times_us",
       {policy.required.count(), policy.longest_interval.count(), policy.grace.count(),
        policy.excursion_budget.count(), policy.longest_unknown.count()}},
      {"cumulative", policy.cumulative},
      {"slab_averaging_us",
       setup.requirements.slab ? json(setup.requirements.slab->averaging.value.count()) : json()},
      {"delivered_at_utc_us", setup.delivered_at ? json(setup.delivered_at->value) : json()},
      {"stack", stack_rules(setup)},
      {"channels", json::array()}};
  for (const ChannelSetup& channel : setup.channels) {
    if (!is_accounted(channel)) {
      continue;
    }
    json calibrations = json::array();
    for (const auto& row : channel.calibrations) {
      calibrations.push_back({row.valid_from.value, row.gain, row.offset});
    }
    rules["channels"].push_back(
        {channel.box_id, channel.channel_index, analysis::base::name_of(channel.scale.role),
         channel.scale.units_per_count, channel.scale.value_at_zero, channel.scale.low,
         channel.scale.high,
         channel.scale.frozen_after ? json(channel.scale.frozen_after->count()) : json(),
         calibrations, channel.placed_at ? json(channel.placed_at->value) : json()});
  }
  return analysis::evidence::hex_from_digest(analysis::evidence::sha256_from_bytes(rules.dump()));
}

}  // namespace

RoomTracker::RoomTracker(RoomSetup setup, const AccountState& resume, RoomNotes notes,
                         std::vector<std::string> box_ids)
    : replay_(std::move(setup), resume.memory),
      notes_(std::move(notes)),
      box_ids_(std::move(box_ids)),
      through_(resume.through),
      fingerprint_(fingerprint_of(replay_.setup())) {}

Result<RoomTracker> RoomTracker::open(store::ReadingStore& store, const Job& job,
                                      const JobRoom& room, const JobRecords& records) {
  const auto accounts = store.accounts();
  if (!accounts) {
    return Failure{accounts.error()};
  }
  RoomSetup setup = room_setup_from(job, room, records);
  const std::string fingerprint = fingerprint_of(setup);
  for (const store::Account& account : accounts.value()) {
    if (account.room_id != room.id || account.fingerprint != fingerprint) {
      continue;
    }
    const auto state = account_from_text(account.state_json);
    if (!state) {
      break;
    }
    RoomTracker tracker(std::move(setup), *state, room_notes_from(records, room),
                        boxes_of_room(job, room.id));
    const auto warmed = tracker.warm(store);
    if (!warmed) {
      return Failure{warmed.error()};
    }
    const auto caught_up = tracker.catch_up(store, std::nullopt);
    if (!caught_up) {
      return Failure{caught_up.error()};
    }
    return tracker;
  }
  return rebuild(store, job, room, records, std::nullopt);
}

Result<RoomTracker> RoomTracker::rebuild(store::ReadingStore& store, const Job& job,
                                         const JobRoom& room, const JobRecords& records,
                                         std::optional<UtcMicros> until) {
  const JobRecords known = until ? records_as_of(records, *until) : records;
  RoomTracker tracker(room_setup_from(job, room, known), AccountState{},
                      room_notes_from(known, room), boxes_of_room(job, room.id));
  const auto caught_up = tracker.catch_up(store, until);
  if (!caught_up) {
    return Failure{caught_up.error()};
  }
  return tracker;
}

// Refills windows and stack with the records that the account has counted already.
Result<void> RoomTracker::warm(store::ReadingStore& store) {
  std::optional<analysis::base::TimeRange> range;
  for (const auto& [box_id, last] : through_) {
    const auto newest = dated_record(store, box_id, last);
    if (!newest) {
      return Failure{newest.error()};
    }
    if (!newest.value()) {
      continue;
    }
    const UtcMicros to = newest.value()->at;
    const UtcMicros from = replay_.warm_from(to);
    range = range ? analysis::base::TimeRange{std::min(range->from, from), std::max(range->to, to)}
                  : analysis::base::TimeRange{from, to};
  }
  if (!range) {
    return {};
  }
  const auto visited =
      visit_history(store, {box_ids_, range->from, range->to, {}},
                    [this](const std::string& box, const Record& record, DatedTime at) {
                      const auto counted = through_.find(box);
                      if (counted != through_.end() && record.id <= counted->second) {
                        replay_.warm(box, record, at.at);
                      }
                    });
  return visited ? Result<void>() : Failure{visited.error()};
}

Result<void> RoomTracker::catch_up(store::ReadingStore& store, std::optional<UtcMicros> until) {
  HistoryQuery query;
  query.box_ids = box_ids_;
  query.to = until;
  query.after = through_;
  const auto counts = visit_history(
      store, query, [this](const std::string& box_id, const Record& record, DatedTime at) {
        feed(box_id, record, at.at);
      });
  if (!counts) {
    return Failure{counts.error()};
  }
  return {};
}

ReplayStep RoomTracker::feed(const std::string& box_id, const Record& record, UtcMicros at) {
  RecordId& through = through_[box_id];
  if (record.id <= through) {
    return {};  // a repeat
  }
  through = record.id;
  return replay_.add(box_id, record, at);
}

RoomEvidence RoomTracker::evidence(UtcMicros now) const {
  RoomEvidence evidence = replay_.evidence(now);
  evidence.site_gates = notes_.site_gates;
  evidence.subfloor_tests = notes_.subfloor_tests;
  return evidence;
}

RoomAssessment RoomTracker::assess(UtcMicros now) const {
  return analysis::readiness::assess_room(replay_.setup().requirements, evidence(now));
}

store::Account RoomTracker::account() const {
  return {room_id(), fingerprint_, text_from_account({replay_.memory(), through_})};
}

}  // namespace logger::app
