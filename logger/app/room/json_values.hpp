// Values of the accounting state as JSON and back: json_from(value) and read(json, into). A struct
// names its members once, in a visit(). Reading throws nlohmann::json::exception on what does not
// fit; the caller then believes none of it.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <nlohmann/json.hpp>
#include <optional>

#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"

namespace logger::app::json_values {

using nlohmann::json;

inline json json_from(bool value) { return value; }
inline json json_from(std::int64_t value) { return value; }
inline json json_from(std::size_t value) { return value; }
inline json json_from(double value) { return value; }
inline json json_from(analysis::base::UtcMicros value) { return value.value; }
inline json json_from(analysis::base::Micros value) { return value.count(); }
template <class Tag>
json json_from(analysis::base::Quantity<Tag> value) {
  return value.value();
}

inline void read(const json& from, bool& into) { into = from.get<bool>(); }
inline void read(const json& from, std::int64_t& into) { into = from.get<std::int64_t>(); }
inline void read(const json& from, std::size_t& into) { into = from.get<std::size_t>(); }
inline void read(const json& from, double& into) { into = from.get<double>(); }
inline void read(const json& from, analysis::base::UtcMicros& into) {
  into.value = from.get<std::int64_t>();
}
inline void read(const json& from, analysis::base::Micros& into) {
  into = analysis::base::Micros{from.get<std::int64_t>()};
}
template <class Tag>
void read(const json& from, analysis::base::Quantity<Tag>& into) {
  into = analysis::base::Quantity<Tag>{from.get<double>()};
}

// A struct with a visit(value, member): its members as an object.
template <class Struct>
concept Visited = requires(Struct& value) {
  visit(value, [](const char*, auto&) {});
};

template <Visited Struct>
json json_from(const Struct& value);
template <Visited Struct>
void read(const json& from, Struct& into);

template <class T>
json json_from(const std::optional<T>& value) {
  return value ? json_from(*value) : json(nullptr);
}
template <class T>
void read(const json& from, std::optional<T>& into) {
  if (!from.is_null()) {
    read(from, into.emplace());
  }
}

template <class T, std::size_t N>
json json_from(const std::array<T, N>& values) {
  json list = json::array();
  for (const T& value : values) {
    list.push_back(json_from(value));
  }
  return list;
}
template <class T, std::size_t N>
void read(const json& from, std::array<T, N>& into) {
  for (std::size_t i = 0; i < N; ++i) {
    read(from.at(i), into[i]);
  }
}

template <Visited Struct>
json json_from(const Struct& value) {
  json object = json::object();
  Struct copy = value;
  visit(copy, [&object](const char* name, auto& member) { object[name] = json_from(member); });
  return object;
}
template <Visited Struct>
void read(const json& from, Struct& into) {
  visit(into, [&from](const char* name, auto& member) { read(from.at(name), member); });
}

}  // namespace logger::app::json_values
