#include "analysis/base/record.hpp"

namespace analysis::base {
namespace {

struct RoleText {
  ChannelRole role;
  std::string_view name;
  std::string_view unit;
};
constexpr RoleText kRoles[] = {
    {ChannelRole::room_air_temperature, "room_air_temperature", "celsius"},
    {ChannelRole::room_air_rh, "room_air_rh", "percent_rh"},
    {ChannelRole::stack_core_temperature, "stack_core_temperature", "celsius"},
    {ChannelRole::slab_surface_temperature, "slab_surface_temperature", "celsius"},
    {ChannelRole::slab_rh, "slab_rh", "percent_rh"},
    {ChannelRole::supply_voltage, "supply_voltage", "volt"},
    {ChannelRole::outdoor_temperature, "outdoor_temperature", "celsius"},
    {ChannelRole::outdoor_rh, "outdoor_rh", "percent_rh"},
    {ChannelRole::slab_temperature, "slab_temperature", "celsius"},
};

constexpr std::string_view kStatusNames[] = {"ok",           "not_fitted",    "no_answer",
                                             "open_circuit", "short_circuit", "out_of_range",
                                             "warming_up",   "fault"};

}  // namespace

std::string_view name_of(ChannelRole role) {
  for (const RoleText& text : kRoles) {
    if (text.role == role) {
      return text.name;
    }
  }
  return "unknown_role";
}

std::optional<ChannelRole> role_from_name(std::string_view name) {
  for (const RoleText& text : kRoles) {
    if (text.name == name) {
      return text.role;
    }
  }
  return std::nullopt;
}

std::string_view file_unit_of(ChannelRole role) {
  for (const RoleText& text : kRoles) {
    if (text.role == role) {
      return text.unit;
    }
  }
  return "unknown_unit";
}

std::string_view name_of(ChannelStatus status) {
  const auto index = static_cast<std::size_t>(status);
  return index < std::size(kStatusNames) ? kStatusNames[index] : "unknown_status";
}

}  // namespace analysis::base
