#include "logger/app/push/pushed_document.hpp"

#include <nlohmann/json.hpp>

#include "analysis/evidence/canonical_json.hpp"
#include "analysis/evidence/digest.hpp"

namespace logger::app {

using analysis::evidence::Fault;
using nlohmann::json;

namespace {

constexpr const char* kPushedFormat = "dwellog-pushed-1";

std::string without_less_than(const std::string& text) {
  std::string changed;
  for (const char c : text) {
    changed += c == '<' ? std::string("\u2039") : std::string(1, c);
  }
  return changed;
}

// By its text, so that bytes which are no UTF-8 are replaced.
json plain_status(const nlohmann::ordered_json& status) {
  return json::parse(without_less_than(
      status.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace)));
}

}  // namespace

analysis::base::Result<std::string, Fault> pushed_document(
    const PushedState& state, const analysis::evidence::SigningKey* key) {
  json pushed = {{"format", kPushedFormat},
                 {"made_at_utc", analysis::base::rfc3339_from_utc(state.made_at)},
                 {"every_hours", analysis::base::hours_from(state.every)},
                 {"public_key", nullptr},
                 {"status", plain_status(state.status)}};
  if (key != nullptr) {
    pushed["public_key"] = analysis::evidence::hex_from_bytes(key->public_key().bytes);
  }
  const auto message = analysis::evidence::canonical_from_json(pushed);
  if (!message) {
    return message;
  }
  json document = {{"pushed", std::move(pushed)}, {"signature", nullptr}};
  if (key != nullptr) {
    document["signature"] = analysis::evidence::hex_from_bytes(key->sign(message.value()).bytes);
  }
  const auto line = analysis::evidence::canonical_from_json(document);
  return line ? analysis::base::Result<std::string, Fault>(line.value() + "\n") : line;
}

}  // namespace logger::app
