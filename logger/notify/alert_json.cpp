#include "logger/notify/alert_json.hpp"

#include <nlohmann/json.hpp>

#include "analysis/base/time.hpp"
#include "logger/store/json_line.hpp"

namespace logger::notify {
namespace {

using analysis::alerts::AlertMessage;
using analysis::alerts::AlertValue;
using analysis::alerts::Micros;
using analysis::alerts::RuleState;
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

}  // namespace

std::string json_from_alert(const AlertMessage& message, const std::string& job_name,
                            bool simulated) {
  json values = json::object();
  for (const AlertValue& value : message.values) {
    values[value.name] = value.value;
  }
  return store::json_line({{"format", "dwellog-alert/1"},
                           {"job", job_name},
                           {"simulated", simulated},
                           {"rule", name_of(message.kind)},
                           {"subject", message.subject},
                           {"transition", name_of(message.transition)},
                           {"at_utc", analysis::base::rfc3339_from_utc(message.at)},
                           {"text", (simulated ? kSimulatedMark : "") + message.text},
                           {"values", values}});
}

std::string json_from_rule_state(const RuleState& state) {
  json object = {{"phase", name_of(state.phase)},
                 {"held_us", state.held.count()},
                 {"holding", state.holding},
                 {"fired_count", state.fired_count},
                 {"cleared_count", state.cleared_count}};
  put_time(object, "since_utc_us", state.since);
  put_time(object, "stepped_at_utc_us", state.stepped_at);
  return store::json_line(object);
}

store::Result<RuleState> rule_state_from_json(std::string_view text) {
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
  if (!phase || !members.good()) {
    return store::failure(store::ErrorCode::corrupt,
                          "an alert state in the store is not as it was written");
  }
  return state;
}

}  // namespace logger::notify
