#include "logger/web/handler/events/merge_patch.hpp"

#include <nlohmann/json.hpp>

namespace logger::web {

using nlohmann::ordered_json;

namespace {

// A null within an array stays, since arrays are taken as they are.
bool has_null_member(const ordered_json& value) {
  if (!value.is_object()) {
    return value.is_null();
  }
  for (const auto& member : value) {
    if (has_null_member(member)) {
      return true;
    }
  }
  return false;
}

bool add_difference(const ordered_json& before, const ordered_json& after, ordered_json& patch) {
  patch = ordered_json::object();
  for (const auto& [name, value] : after.items()) {
    const auto old = before.find(name);
    if (old != before.end() && *old == value) {
      continue;
    }
    if (old != before.end() && old->is_object() && value.is_object()) {
      if (!add_difference(*old, value, patch[name])) {
        return false;
      }
      if (patch[name].empty()) {
        patch.erase(name);  // only the order of members differs
      }
      continue;
    }
    if (has_null_member(value)) {
      return false;
    }
    patch[name] = value;
  }
  for (const auto& [name, value] : before.items()) {
    if (!after.contains(name)) {
      patch[name] = nullptr;
    }
  }
  return true;
}

}  // namespace

std::optional<ordered_json> merge_patch_between(const ordered_json& before,
                                                const ordered_json& after) {
  ordered_json patch;
  if (!before.is_object() || !after.is_object() || !add_difference(before, after, patch)) {
    return std::nullopt;
  }
  return patch;
}

}  // namespace logger::web
