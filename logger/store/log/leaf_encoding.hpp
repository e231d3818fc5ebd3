// The bytes of a leaf of the evidence log: one committed row with its identity and all its values,
// in one spelling. Layout byte for byte: docs/evidence-log.md. Numbers are big endian of fixed
// width, texts have their length before them, so no two rows share an encoding. Pure; any thread.
#pragma once

#include <cstdint>
#include <string>

#include "logger/store/reading_store.hpp"

namespace logger::store {

// First byte of a leaf. Values are permanent (stored and hashed).
enum class LeafKind : std::uint8_t {
  mark = 1,  // simulated or real
  exchange = 2,
  record = 3,
  gap = 4,
  calibration = 5,
  note = 6,
  event = 7,
  message = 8,
};

// "record", "clock exchange" and the like.
[[nodiscard]] const char* name_of(LeafKind kind);

[[nodiscard]] std::string leaf_from_mark(bool simulated);
[[nodiscard]] std::string leaf_from_exchange(const std::string& box_id, std::uint32_t boot,
                                             const ClockExchange& exchange);
// The record as it is stored: raw count 0 where a channel is not fitted.
[[nodiscard]] std::string leaf_from_record(const std::string& box_id, const Record& record);
[[nodiscard]] std::string leaf_from_gap(const Gap& gap);
[[nodiscard]] std::string leaf_from_calibration(const Calibration& calibration);
[[nodiscard]] std::string leaf_from_note(const Note& note);
[[nodiscard]] std::string leaf_from_event(const Event& event);
// Its delivery is no part of the leaf.
[[nodiscard]] std::string leaf_from_message(const Message& message);

}  // namespace logger::store
