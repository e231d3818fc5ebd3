#include "logger/web/handler/actions/given.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "logger/web/handler/answer/answers.hpp"

namespace logger::web {

using nlohmann::json;

namespace {

constexpr std::string_view kTimeExpected =
    "expected a time with its offset, such as 2026-03-07T06:12:00Z";

std::string range_text(std::int64_t least, std::int64_t most) {
  return "expected a whole number from " + std::to_string(least) + " to " + std::to_string(most);
}

std::string names_text(std::initializer_list<std::string_view> known) {
  std::string text = known.size() == 0 ? "none is expected" : "expected one of";
  for (const std::string_view name : known) {
    text.append(" \"").append(name).append("\"");
  }
  return text;
}

}  // namespace

GivenQuery::GivenQuery(const Call& call, std::initializer_list<std::string_view> known)
    : fields_(call.target.query) {
  for (const auto& [name, value] : fields_) {
    if (std::find(known.begin(), known.end(), name) == known.end()) {
      refuse(name, names_text(known));
    } else if (only_field(fields_, name) == nullptr) {
      refuse(name, "expected once");
    }
  }
}

void GivenQuery::refuse(std::string_view name, const std::string& expected) {
  if (wrong_.empty()) {
    wrong_ = "query \"" + std::string(name) + "\": " + expected;
  }
}

std::string GivenQuery::text(std::string_view name) {
  const std::string* value = only_field(fields_, name);
  return value == nullptr ? std::string{} : *value;
}

std::int64_t GivenQuery::number(std::string_view name, std::int64_t otherwise, std::int64_t least,
                                std::int64_t most) {
  const std::string* value = only_field(fields_, name);
  if (value == nullptr) {
    return otherwise;
  }
  const auto number = whole_number_from(*value, least, most);
  if (!number) {
    refuse(name, range_text(least, most));
  }
  return number.value_or(otherwise);
}

std::optional<UtcMicros> GivenQuery::time(std::string_view name) {
  const std::string* value = only_field(fields_, name);
  if (value == nullptr) {
    return std::nullopt;
  }
  const auto at = analysis::base::utc_from_rfc3339(*value);
  if (!at) {
    refuse(name, std::string(kTimeExpected));
  }
  return at;
}

GivenBody::GivenBody(const Call& call, std::initializer_list<std::string_view> known) {
  const std::string* type = header_of(call.request, "content-type");
  if (type == nullptr || !type->starts_with("application/json")) {
    status_ = 415;
    wrong_ = "body: expected content-type application/json";
    return;
  }
  std::set<std::string> names;
  std::optional<std::string> repeated;
  const json::parser_callback_t look = [&](int depth, json::parse_event_t event, json& parsed) {
    if (event == json::parse_event_t::key && depth == 1 &&
        !names.insert(parsed.get_ref<const std::string&>()).second) {
      repeated = parsed.get_ref<const std::string&>();
    }
    return true;
  };
  body_ = std::make_unique<json>(json::parse(call.request.body, look, false));
  if (!body_->is_object()) {
    status_ = 400;
    wrong_ = "body: expected one JSON object";
    return;
  }
  if (repeated) {
    refuse(*repeated, "expected once");
  }
  for (const auto& [name, value] : body_->items()) {
    if (std::find(known.begin(), known.end(), name) == known.end()) {
      refuse(name, names_text(known));
    }
  }
}

GivenBody::~GivenBody() = default;

void GivenBody::refuse(std::string_view name, const std::string& expected) {
  if (wrong_.empty()) {
    status_ = 422;
    wrong_ = "body \"" + std::string(name) + "\": " + expected;
  }
}

const json* GivenBody::member(std::string_view name) const {
  if (!body_ || !body_->is_object()) {
    return nullptr;
  }
  const auto found = body_->find(name);
  return found == body_->end() || found->is_null() ? nullptr : &*found;
}

std::string GivenBody::text(std::string_view name, std::size_t most_bytes) {
  const json* value = member(name);
  if (value == nullptr) {
    return {};
  }
  if (!value->is_string() || value->get_ref<const std::string&>().size() > most_bytes) {
    refuse(name, "expected a text of at most " + std::to_string(most_bytes) + " bytes");
    return {};
  }
  return value->get<std::string>();
}

std::string GivenBody::required_text(std::string_view name, std::size_t most_bytes) {
  std::string value = text(name, most_bytes);
  if (value.empty()) {
    refuse(name, "expected a text that is not empty");
  }
  return value;
}

std::vector<std::string> GivenBody::texts(std::string_view name, std::size_t most,
                                          std::size_t most_bytes) {
  const json* value = member(name);
  if (value == nullptr) {
    return {};
  }
  const bool good =
      value->is_array() && value->size() <= most &&
      std::all_of(value->begin(), value->end(), [&](const json& element) {
        return element.is_string() && element.get_ref<const std::string&>().size() <= most_bytes;
      });
  if (!good) {
    refuse(name, "expected a list of at most " + std::to_string(most) + " texts of at most " +
                     std::to_string(most_bytes) + " bytes each");
    return {};
  }
  return value->get<std::vector<std::string>>();
}

bool GivenBody::flag(std::string_view name) {
  const json* value = member(name);
  if (value != nullptr && !value->is_boolean()) {
    refuse(name, "expected true or false");
    return false;
  }
  return value != nullptr && value->get<bool>();
}

std::optional<std::int64_t> GivenBody::number(std::string_view name, std::int64_t least,
                                              std::int64_t most) {
  const json* value = member(name);
  if (value == nullptr) {
    return std::nullopt;
  }
  // What lies beyond 64 bits with a sign is unsigned or a fraction for the parser.
  const bool fits = value->is_number_integer() &&
                    (!value->is_number_unsigned() ||
                     value->get<std::uint64_t>() <= static_cast<std::uint64_t>(INT64_MAX));
  if (!fits || value->get<std::int64_t>() < least || value->get<std::int64_t>() > most) {
    refuse(name, range_text(least, most));
    return std::nullopt;
  }
  return value->get<std::int64_t>();
}

std::optional<double> GivenBody::quantity(std::string_view name) {
  const json* value = member(name);
  if (value == nullptr) {
    return std::nullopt;
  }
  if (!value->is_number()) {
    refuse(name, "expected a number");
    return std::nullopt;
  }
  return value->get<double>();
}

std::optional<UtcMicros> GivenBody::time(std::string_view name) {
  const json* value = member(name);
  if (value == nullptr) {
    return std::nullopt;
  }
  const auto at = value->is_string()
                      ? analysis::base::utc_from_rfc3339(value->get_ref<const std::string&>())
                      : std::nullopt;
  if (!at) {
    refuse(name, std::string(kTimeExpected));
  }
  return at;
}

std::optional<Response> GivenBody::refusal() const {
  return wrong_.empty() ? std::nullopt : std::optional(problem(status_, wrong_));
}

}  // namespace logger::web
