// What a person or a program gets: one message out of what the store holds of it. Pure.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "logger/notify/channel.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::notify {

// What one delivery says, or several that quiet hours held, joined. The subject begins with the
// room and its verdict; texts have lines of at most 78 characters; the JSON is the payload of the
// one, or an object "dwellog-digest/1" with their payloads in "messages". REQUIRES: at least one,
// all to one recipient; payloads as json_from_alert or json_from_digest made them.
// Reminder and escalation bear the time they were to be told, all else that of what they tell. With
// `now`, the text for people says since when it waited where that is more than an hour.
[[nodiscard]] Outgoing outgoing_from(const std::vector<store::Delivery>& deliveries,
                                     std::optional<UtcMicros> now = std::nullopt);

// The state of a job at one moment, for a digest.
struct DigestRoom {
  std::string id;
  std::string name;
  std::string verdict;
  double dwell_done_hours = 0.0;
  double dwell_left_hours = 0.0;
  std::string laying{};   // "being laid", "laid"; empty = not begun
  std::string service{};  // of a laid floor: "in the climate to keep", "too dry", "not known"
};
struct DigestAlert {
  std::string key;
  std::string text;
  bool acknowledged = false;
};
struct Digest {
  std::string job_name;
  bool simulated = false;
  UtcMicros at;
  std::vector<DigestRoom> rooms;
  std::vector<DigestAlert> alerts;  // those that fire
};
// "dwellog-digest/1": "at_utc", "job", "simulated", "rooms" ("id", "name", "verdict",
// "dwell_done_hours", "dwell_left_hours"), "alerts" ("key", "text", "acknowledged").
[[nodiscard]] std::string json_from_digest(const Digest& digest);

}  // namespace logger::notify
