#include "logger/notify/alert_json.hpp"

#include <nlohmann/json.hpp>
#include <vector>

#include "analysis/base/time.hpp"
#include "logger/store/json_line.hpp"

namespace logger::notify {
namespace {

using analysis::alerts::Alert;
using analysis::alerts::AlertMessage;
using analysis::alerts::AlertValue;
using analysis::alerts::Micros;
using analysis::alerts::RuleState;
using analysis::alerts::Telling;
using analysis::alerts::UtcMicros;
using nlohmann::json;

constexpr const char* kSimulatedMark = "SIMULATED SITE: ";

void put_time(json& object, const char* key, std::optional<UtcMicros> at) {
  if (at) {
    object[key] = at->value;
  }
}

// Takes members out of an object and remembers whether all of them were as they must be.
class Members {
 public:
  explicit Members(json object) : object_(std::move(object)), good_(object_.is_object()) {}

  std::int64_t integer(const char* key) {
    const json value = take(key);
    good_ = good_ && value.is_number_integer();
    return good_ ? value.get<std::int64_t>() : 0;
  }
  std::optional<UtcMicros> time(const char* key) {
    return has(key) ? std::optional(UtcMicros{integer(key)}) : std::nullopt;
  }
  bool boolean(const char* key) {
    const json value = take(key);
    good_ = good_ && value.is_boolean();
    return good_ && value.get<bool>();
  }
  std::string text(const char* key) {
    const json value = take(key);
    good_ = good_ && value.is_string();
    return good_ ? value.get<std::string>() : std::string();
  }
  std::optional<Members> object(const char* key) {
    if (!has(key)) {
      return std::nullopt;
    }
    return Members(take(key));
  }
  std::vector<std::string> texts(const char* key) {
    const json value = take(key);
    std::vector<std::string> found;
    good_ = good_ && value.is_array();
    for (std::size_t i = 0; good_ && i < value.size(); ++i) {
      good_ = value[i].is_string();
      found.push_back(good_ ? value[i].get<std::string>() : std::string());
    }
    return found;
  }
  // All were there and nothing is left over.
  [[nodiscard]] bool good() const { return good_ && object_.empty(); }

 private:
  [[nodiscard]] bool has(const char* key) const { return good_ && object_.contains(key); }
  json take(const char* key) {
    if (!has(key)) {
      good_ = false;
      return {};
    }
    json value = object_[key];
    object_.erase(key);
    return value;
  }
  json object_;
  bool good_;
};

json telling_json(const Telling& telling) {
  json object = {{"text", telling.text},
                 {"told", telling.told},
                 {"reminders", telling.reminders},
                 {"escalated", telling.escalated}};
  put_time(object, "fired_at_utc_us", telling.fired_at);
  put_time(object, "told_at_utc_us", telling.told_at);
  put_time(object, "last_told_at_utc_us", telling.last_told_at);
  return object;
}

Telling telling_from(Members& members) {
  Telling telling;
  telling.text = members.text("text");
  telling.told = members.texts("told");
  telling.reminders = static_cast<int>(members.integer("reminders"));
  telling.escalated = members.boolean("escalated");
  telling.fired_at = members.time("fired_at_utc_us");
  telling.told_at = members.time("told_at_utc_us");
  telling.last_told_at = members.time("last_told_at_utc_us");
  return telling;
}

}  // namespace

std::string json_from_alert(const AlertMessage& message, const AlertContext& context) {
  json values = json::object();
  for (const AlertValue& value : message.values) {
    values[value.name] = value.value;
  }
  json object = {{"format", "dwellog-alert/1"},
                 {"job", context.job_name},
                 {"simulated", context.simulated},
                 {"kind", context.kind},
                 {"rule", name_of(message.kind)},
                 {"subject", message.subject},
                 {"transition", name_of(message.transition)},
                 {"at_utc", analysis::base::rfc3339_from_utc(message.at)},
                 {"text", (context.simulated ? kSimulatedMark : "") + message.text},
                 {"values", values}};
  if (!context.room_name.empty()) {
    object["room"] = context.room_name;
  }
  if (!context.verdict.empty()) {
    object["verdict"] = context.verdict;
  }
  if (context.fired_at) {
    object["fired_at_utc"] = analysis::base::rfc3339_from_utc(*context.fired_at);
  }
  if (context.number > 0) {
    object["number"] = context.number;
  }
  return store::json_line(object);
}

std::string json_from_alert_state(const Alert& alert) {
  const RuleState& state = alert.state;
  json object = {{"phase", name_of(state.phase)},
                 {"held_us", state.held.count()},
                 {"holding", state.holding},
                 {"fired_count", state.fired_count},
                 {"cleared_count", state.cleared_count}};
  put_time(object, "since_utc_us", state.since);
  put_time(object, "stepped_at_utc_us", state.stepped_at);
  if (alert.telling != Telling{}) {
    object["telling"] = telling_json(alert.telling);
  }
  return store::json_line(object);
}

store::Result<void> read_alert_state(std::string_view text, Alert& alert) {
  Members members(json::parse(text, nullptr, false));
  RuleState state;
  const auto phase = analysis::alerts::phase_from_name(members.text("phase"));
  state.phase = phase.value_or(state.phase);
  state.held = Micros{members.integer("held_us")};
  state.holding = members.boolean("holding");
  state.fired_count = members.integer("fired_count");
  state.cleared_count = members.integer("cleared_count");
  state.since = members.time("since_utc_us");
  state.stepped_at = members.time("stepped_at_utc_us");
  auto nested = members.object("telling");
  Telling telling = nested ? telling_from(*nested) : Telling{};
  if (!phase || !members.good() || (nested && !nested->good())) {
    return store::failure(store::ErrorCode::corrupt,
                          "an alert state in the store is not as it was written");
  }
  alert.state = state;
  alert.telling = std::move(telling);
  return {};
}

}  // namespace logger::notify
