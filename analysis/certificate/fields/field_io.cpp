#include "analysis/certificate/fields/field_io.hpp"

#include "analysis/certificate/certificate_json.hpp"

namespace analysis::certificate {

using nlohmann::json;

const json* FieldReader::find(const std::string& key) {
  if (!fault_.empty()) {
    return nullptr;
  }
  const auto found = object_.is_object() ? object_.find(key) : object_.end();
  if (!object_.is_object() || found == object_.end()) {
    refuse(key, "to be there");
    return nullptr;
  }
  return &*found;
}

const json* FieldReader::find_array(const std::string& key) {
  const json* found = find(key);
  if (found != nullptr && !found->is_array()) {
    refuse(key, "a list");
    return nullptr;
  }
  return found;
}

void FieldReader::refuse(const std::string& key, std::string_view expected) {
  if (fault_.empty()) {
    fault_ = "field \"" + place_ + key + "\" is not as the format says: expected " +
             std::string(expected);
  }
}

void FieldReader::text(const std::string& key, std::string& value) {
  const json* found = find(key);
  if (found != nullptr && !found->is_string()) {
    refuse(key, "a text");
  } else if (found != nullptr) {
    value = found->get<std::string>();
  }
}

void FieldReader::redactable_text(const std::string& key, std::string& value) {
  if (redacted_.contains(key)) {
    value = kRedactedText;
  } else {
    text(key, value);
  }
}

void FieldReader::later_redactable_text(const std::string& key, std::string& value) {
  value.clear();
  if (!redacted_.contains(key) && !has(key)) {
    return;
  }
  redactable_text(key, value);
  if (value.empty()) {
    refuse(key, "a text, or no such member");
  }
}

void FieldReader::flag(const std::string& key, bool& value) {
  const json* found = find(key);
  if (found != nullptr && !found->is_boolean()) {
    refuse(key, "true or false");
  } else if (found != nullptr) {
    value = found->get<bool>();
  }
}

void FieldReader::number(const std::string& key, double& value) {
  const json* found = find(key);
  if (found != nullptr && !found->is_number()) {
    refuse(key, "a number");
  } else if (found != nullptr) {
    value = found->get<double>();
  }
}

void FieldReader::wide_integer(const std::string& key, std::int64_t& value) {
  const json* found = find(key);
  if (found != nullptr && !found->is_number_integer()) {
    refuse(key, "a whole number");
  } else if (found != nullptr) {
    value = found->get<std::int64_t>();
  }
}

void FieldReader::seconds(const std::string& key, base::Micros& value) {
  constexpr double kLongest = 1e10;  // about three centuries; keeps sums of times in range
  double read = 0.0;
  number(key, read);
  if (std::abs(read) > kLongest) {
    refuse(key, "at most 1e10 s");
    return;
  }
  value = base::Micros{std::llround(read * 1e6)};
}

void FieldReader::time(const std::string& key, base::UtcMicros& value) {
  std::string read;
  text(key, read);
  const auto at = base::utc_from_rfc3339(read);
  if (!at) {
    refuse(key, "a UTC time of RFC 3339");
    return;
  }
  value = *at;
}

void FieldReader::texts(const std::string& key, std::vector<std::string>& values) {
  values.clear();
  const json* found = find_array(key);
  for (std::size_t i = 0; found != nullptr && i < found->size(); ++i) {
    if (!(*found)[i].is_string()) {
      refuse(key, "a list of texts");
      return;
    }
    values.push_back((*found)[i].get<std::string>());
  }
}

}  // namespace analysis::certificate
