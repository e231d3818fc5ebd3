// One sample of a box as it was taken: raw counts, never changed after. Values derived from it
// (UTC, calibrated units) are computed on demand from the clock exchanges and the calibrations.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>

namespace analysis::base {

inline constexpr std::size_t kMaxChannels = 8;

// As the box reported it; 4 bits each on the wire. Values are permanent (hardware/register-map.md).
enum class ChannelStatus : std::uint8_t {
  ok = 0,
  not_fitted = 1,
  no_answer = 2,  // the sensor did not answer or its checksum was wrong
  open_circuit = 3,
  short_circuit = 4,
  out_of_range = 5,  // outside what the sensor can measure
  warming_up = 6,    // powered, not settled yet
  fault = 7,         // the sensor reports a fault of its own
};

// Box flags at the time of the sample. Values are permanent bits.
inline constexpr std::uint16_t kFlagLidOpen = 1U << 0U;
inline constexpr std::uint16_t kFlagTilted = 1U << 1U;
inline constexpr std::uint16_t kFlagSupplyLow = 1U << 2U;
inline constexpr std::uint16_t kFlagSelfTestFailed = 1U << 3U;

// Identity of a record within its box. A box numbers its records from 1 for each boot; an imported
// file has boot 0 and its UTC milliseconds as sequence, so that an import can be repeated.
struct RecordId {
  std::uint32_t boot = 0;
  std::int64_t sequence = 0;
  constexpr auto operator<=>(const RecordId&) const = default;
};

struct Record {
  RecordId id;
  std::int64_t ticks_ms = 0;  // box clock since its boot; for an import the UTC milliseconds
  std::uint16_t flags = 0;
  std::array<ChannelStatus, kMaxChannels> statuses{};
  std::array<std::int32_t, kMaxChannels> raw_counts{};  // meaningful only where status is ok
  bool operator==(const Record&) const = default;
};

// What a channel measures. Values are permanent (stored and signed).
enum class ChannelRole : std::uint8_t {
  room_air_temperature = 1,      // celsius
  room_air_rh = 2,               // rh fraction
  stack_core_temperature = 3,    // celsius
  slab_surface_temperature = 4,  // celsius
  slab_rh = 5,                   // rh fraction, in a sleeve at depth
  supply_voltage = 6,            // volts
  outdoor_temperature = 7,       // celsius
  outdoor_rh = 8,                // rh fraction
  slab_temperature = 9,          // celsius, beside the slab RH probe
};

[[nodiscard]] constexpr bool is_room_air(ChannelRole role) {
  return role == ChannelRole::room_air_temperature || role == ChannelRole::room_air_rh;
}

// "room_air_temperature" and the like; the inverse gives nullopt for an unknown name.
[[nodiscard]] std::string_view name_of(ChannelRole role);
[[nodiscard]] std::optional<ChannelRole> role_from_name(std::string_view name);
// Name of the unit in files, "celsius", "percent_rh" or "volt".
[[nodiscard]] std::string_view file_unit_of(ChannelRole role);
// "ok", "no_answer" and the like.
[[nodiscard]] std::string_view name_of(ChannelStatus status);

}  // namespace analysis::base
