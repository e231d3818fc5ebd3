// How the tables of job.json's keys are written.
#pragma once

#include "logger/app/job/reader/keys/job_keys.hpp"

namespace logger::app::key_rules {

inline constexpr bool kRequired = true;
inline constexpr bool kOptional = false;
inline constexpr double kLongestText = 200;

constexpr KeyRule text(std::string_view name, bool required) {
  return {name, KeyKind::text, required, required ? 1.0 : 0.0, kLongestText, {}, nullptr};
}
constexpr KeyRule identifier(std::string_view name, bool required) {
  return {name, KeyKind::identifier, required, 0, 0, {}, nullptr};
}
constexpr KeyRule choice(std::string_view name, bool required,
                         std::span<const std::string_view> choices) {
  return {name, KeyKind::choice, required, 0, 0, choices, nullptr};
}
constexpr KeyRule whole_number(std::string_view name, bool required, double low, double high) {
  return {name, KeyKind::whole_number, required, low, high, {}, nullptr};
}
constexpr KeyRule number(std::string_view name, bool required, double low, double high) {
  return {name, KeyKind::number, required, low, high, {}, nullptr};
}
constexpr KeyRule boolean(std::string_view name) {
  return {name, KeyKind::boolean, kOptional, 0, 0, {}, nullptr};
}
constexpr KeyRule moment(std::string_view name) {
  return {name, KeyKind::moment, kOptional, 0, 0, {}, nullptr};
}
constexpr KeyRule object(std::string_view name, bool required, const ObjectKeys& child) {
  return {name, KeyKind::object, required, 0, 0, {}, &child};
}
constexpr KeyRule object_list(std::string_view name, bool required, double high,
                              const ObjectKeys& child) {
  return {name, KeyKind::object_list, required, 1, high, {}, &child};
}
// May be empty.
constexpr KeyRule optional_list(std::string_view name, double high, const ObjectKeys& child) {
  return {name, KeyKind::object_list, kOptional, 0, high, {}, &child};
}
constexpr KeyRule text_list(std::string_view name, double high) {
  return {name, KeyKind::text_list, kOptional, 0, high, {}, nullptr};
}

}  // namespace logger::app::key_rules
