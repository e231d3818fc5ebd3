// Writes and reads the members of a JSON object through one description, so that what is written
// and what is read can't drift apart: describe(io, value) names each member once and is run with a
// FieldWriter or a FieldReader. One is used by one thread.
#pragma once

#include <cmath>
#include <concepts>
#include <cstdint>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"

namespace analysis::certificate {

// Text of an enum value in the format; permanent.
template <class E>
struct EnumName {
  E value;
  std::string_view name;
};

// Values that were computed are rounded, so that a recomputation on another machine gives the same
// bytes or misses them by one step at most.
inline constexpr double kComputedSteps = 1000.0;  // a unit
inline double rounded_computed(double value) {
  return std::round(value * kComputedSteps) / kComputedSteps;
}
inline constexpr std::int64_t kComputedTimeStepUs = 1000;
inline base::UtcMicros rounded_computed(base::UtcMicros at) {
  return {at.value -
          ((at.value % kComputedTimeStepUs) + kComputedTimeStepUs) % kComputedTimeStepUs};
}

class FieldWriter {
 public:
  void text(const std::string& key, const std::string& value) { object_[key] = value; }
  // A text that a copy may lack.
  void redactable_text(const std::string& key, const std::string& value) { text(key, value); }
  // A text that follows from the others; it is checked by writing again what was read.
  void derived_text(const std::string& key, std::string_view value) { object_[key] = value; }
  void flag(const std::string& key, bool value) { object_[key] = value; }
  void number(const std::string& key, double value) { object_[key] = value; }
  template <class Tag>
  void number(const std::string& key, base::Quantity<Tag> value) {
    object_[key] = value.value();
  }
  // Members that came to the format later: left out where they say nothing new.
  void later_number(const std::string& key, double value, double otherwise) {
    if (value != otherwise) {
      number(key, value);
    }
  }
  // Empty = left out; a copy may lack it.
  void later_redactable_text(const std::string& key, const std::string& value) {
    if (!value.empty()) {
      text(key, value);
    }
  }
  template <class T, class Member>
  void later_optional(const std::string& key, const std::optional<T>& value, Member member) {
    if (value) {
      optional(key, value, member);
    }
  }
  template <class T, class Describe>
  void later_object(const std::string& key, T& value, const T& otherwise, Describe describe) {
    if (value != otherwise) {
      object(key, value, describe);
    }
  }
  template <class T, class Describe>
  void later_list(const std::string& key, std::vector<T>& values, Describe describe) {
    if (!values.empty()) {
      list(key, values, describe);
    }
  }
  void computed(const std::string& key, double value) { object_[key] = rounded_computed(value); }
  // An upper bound: rounded up, so that a small risk is never written as none.
  void computed_bound(const std::string& key, double value) {
    constexpr double kAlreadyRounded = 1e-6;  // of a step
    object_[key] = std::ceil(value * kComputedSteps - kAlreadyRounded) / kComputedSteps;
  }
  void integer(const std::string& key, std::integral auto value) { object_[key] = value; }
  void seconds(const std::string& key, base::Micros value) {
    object_[key] = static_cast<double>(value.count()) / 1e6;
  }
  void time(const std::string& key, base::UtcMicros value) {
    object_[key] = base::rfc3339_from_utc(value);
  }
  void computed_time(const std::string& key, base::UtcMicros value) {
    time(key, rounded_computed(value));
  }
  template <class E>
  void named(const std::string& key, E value, std::span<const EnumName<E>> names) {
    for (const EnumName<E>& entry : names) {
      if (entry.value == value) {
        object_[key] = entry.name;
      }
    }
  }
  // One member that may be null; `write` is called as write(*this, key, *value).
  template <class T, class Member>
  void optional(const std::string& key, const std::optional<T>& value, Member member) {
    object_[key] = nullptr;
    if (value) {
      T copy = *value;
      member(*this, key, copy);
    }
  }
  template <class T, class Describe>
  void object(const std::string& key, T& value, Describe describe) {
    FieldWriter inner;
    describe(inner, value);
    object_[key] = std::move(inner.object_);
  }
  template <class T, class Describe>
  void list(const std::string& key, std::vector<T>& values, Describe describe) {
    nlohmann::json array = nlohmann::json::array();
    for (T& value : values) {
      FieldWriter inner;
      describe(inner, value);
      array.push_back(std::move(inner.object_));
    }
    object_[key] = std::move(array);
  }
  void texts(const std::string& key, const std::vector<std::string>& values) {
    object_[key] = values;
  }

  [[nodiscard]] nlohmann::json& json() { return object_; }

 private:
  nlohmann::json object_ = nlohmann::json::object();
};

// After the first member that does not fit, nothing more is read; fault() names it.
class FieldReader {
 public:
  // `redacted`: members that may be absent. `place`: path of the object, for the fault.
  FieldReader(const nlohmann::json& object, const std::set<std::string>& redacted,
              std::string place, std::string& fault)
      : object_(object), redacted_(redacted), place_(std::move(place)), fault_(fault) {}

  void text(const std::string& key, std::string& value);
  void redactable_text(const std::string& key, std::string& value);
  void later_redactable_text(const std::string& key, std::string& value);
  void derived_text(const std::string& key, std::string_view) { (void)find(key); }
  void flag(const std::string& key, bool& value);
  void number(const std::string& key, double& value);
  template <class Tag>
  void number(const std::string& key, base::Quantity<Tag>& value) {
    double read = 0.0;
    number(key, read);
    value = base::Quantity<Tag>{read};
  }
  void later_number(const std::string& key, double& value, double otherwise) {
    value = otherwise;
    if (has(key)) {
      number(key, value);
    }
  }
  template <class T, class Member>
  void later_optional(const std::string& key, std::optional<T>& value, Member member) {
    value.reset();
    if (has(key)) {
      optional(key, value, member);
    }
  }
  template <class T, class Describe>
  void later_object(const std::string& key, T& value, const T& otherwise, Describe describe) {
    value = otherwise;
    if (has(key)) {
      object(key, value, describe);
    }
  }
  template <class T, class Describe>
  void later_list(const std::string& key, std::vector<T>& values, Describe describe) {
    values.clear();
    if (has(key)) {
      list(key, values, describe);
    }
  }
  void computed(const std::string& key, double& value) { number(key, value); }
  void computed_bound(const std::string& key, double& value) { number(key, value); }
  template <std::integral T>
  void integer(const std::string& key, T& value) {
    std::int64_t read = 0;
    wide_integer(key, read);
    if (!std::in_range<T>(read)) {
      refuse(key, "a smaller whole number");
    }
    value = static_cast<T>(read);
  }
  void seconds(const std::string& key, base::Micros& value);
  void time(const std::string& key, base::UtcMicros& value);
  void computed_time(const std::string& key, base::UtcMicros& value) { time(key, value); }
  template <class E>
  void named(const std::string& key, E& value, std::span<const EnumName<E>> names) {
    std::string name;
    text(key, name);
    for (const EnumName<E>& entry : names) {
      if (entry.name == name) {
        value = entry.value;
        return;
      }
    }
    refuse(key, "a name of this format");
  }
  template <class T, class Member>
  void optional(const std::string& key, std::optional<T>& value, Member member) {
    value.reset();
    const nlohmann::json* found = find(key);
    if (found != nullptr && !found->is_null()) {
      member(*this, key, value.emplace());
    }
  }
  template <class T, class Describe>
  void object(const std::string& key, T& value, Describe describe) {
    if (const nlohmann::json* found = find(key)) {
      FieldReader inner(*found, redacted_, place_ + key + ".", fault_);
      describe(inner, value);
    }
  }
  template <class T, class Describe>
  void list(const std::string& key, std::vector<T>& values, Describe describe) {
    values.clear();
    const nlohmann::json* found = find_array(key);
    for (std::size_t i = 0; found != nullptr && i < found->size() && fault_.empty(); ++i) {
      FieldReader inner((*found)[i], redacted_, place_ + key + "." + std::to_string(i) + ".",
                        fault_);
      describe(inner, values.emplace_back());
    }
  }
  void texts(const std::string& key, std::vector<std::string>& values);

  [[nodiscard]] bool has(const std::string& key) const {
    return object_.is_object() && object_.contains(key);
  }
  // nullptr, and a fault, when the member is missing or what is read is no object.
  [[nodiscard]] const nlohmann::json* find(const std::string& key);
  [[nodiscard]] const nlohmann::json* find_array(const std::string& key);
  void refuse(const std::string& key, std::string_view expected);

 private:
  void wide_integer(const std::string& key, std::int64_t& value);

  const nlohmann::json& object_;
  const std::set<std::string>& redacted_;
  std::string place_;
  std::string& fault_;
};

}  // namespace analysis::certificate
