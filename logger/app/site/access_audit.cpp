#include "logger/app/site/access_audit.hpp"

#include <nlohmann/json.hpp>

#include "logger/store/json_line.hpp"

namespace logger::app {

using nlohmann::json;
using nlohmann::ordered_json;
using store::Event;
using store::MutexLock;

namespace {

constexpr const char* kOthers = "others";

Event single_row(const web::AuditEntry& entry) {
  return {0, entry.at, kAccessEvent, entry.principal_id,
          store::json_line({{"action", entry.action},
                            {"detail", entry.detail},
                            {"peer_address", entry.peer_address}})};
}

}  // namespace

std::vector<Event> AccessAudit::add(const web::AuditEntry& entry) {
  const MutexLock lock(mutex_);
  std::vector<Event> rows = taken(entry.at, false);
  Kind kind{entry.action, entry.principal_id};
  if (!counted_.contains(kind) && counted_.size() >= kMostKinds) {
    kind = {kOthers, ""};
  }
  const auto [found, first] = counted_.try_emplace(kind);
  Counted& counted = found->second;
  if (first) {
    counted.began_at = entry.at;
  }
  const int own_rows = kind.second.empty() ? 1 : kRowsOfTheirOwn;
  if (counted.written < own_rows && kind.first != kOthers) {
    ++counted.written;
    rows.push_back(single_row(entry));
    return rows;
  }
  ++counted.joined;
  counted.last_at = entry.at;
  if (counted.addresses.size() < kMostAddresses || counted.addresses.contains(entry.peer_address)) {
    counted.addresses.insert(entry.peer_address);
  } else {
    counted.more_addresses = true;
  }
  return rows;
}

std::vector<Event> AccessAudit::over_by(UtcMicros now) {
  const MutexLock lock(mutex_);
  return taken(now, false);
}

std::vector<Event> AccessAudit::rest() {
  const MutexLock lock(mutex_);
  return taken({}, true);
}

std::vector<Event> AccessAudit::taken(UtcMicros now, bool all) {
  std::vector<Event> rows;
  for (auto entry = counted_.begin(); entry != counted_.end();) {
    const auto& [kind, counted] = *entry;
    // A clock set back ends the minute too.
    const bool over = now < counted.began_at || now - counted.began_at >= kMinute;
    if (!all && !over) {
      ++entry;
      continue;
    }
    if (counted.joined > 0) {
      rows.push_back({0, counted.last_at, kAccessEvent, kind.second,
                      store::json_line({{"action", kind.first},
                                        {"count", counted.joined},
                                        {"from_utc", rfc3339_from_utc(counted.began_at)},
                                        {"to_utc", rfc3339_from_utc(counted.last_at)},
                                        {"peer_addresses", counted.addresses},
                                        {"more_addresses", counted.more_addresses}})});
    }
    entry = counted_.erase(entry);
  }
  return rows;
}

std::string audit_json_from(const std::vector<Event>& events, std::int64_t before_id, int limit) {
  ordered_json entries = ordered_json::array();
  ordered_json next = nullptr;
  for (auto event = events.rbegin(); event != events.rend(); ++event) {
    if (event->kind != kAccessEvent || (before_id != 0 && event->id >= before_id)) {
      continue;
    }
    if (static_cast<int>(entries.size()) == limit) {
      next = entries.back()["id"];
      break;
    }
    ordered_json row{
        {"id", event->id}, {"at_utc", rfc3339_from_utc(event->at)}, {"principal", event->subject}};
    const auto detail = json::parse(event->detail_json, nullptr, false);
    if (detail.is_object()) {
      row.update(detail);
    }
    entries.push_back(std::move(row));
  }
  return ordered_json{{"entries", entries}, {"next_before", next}}.dump();
}

}  // namespace logger::app
