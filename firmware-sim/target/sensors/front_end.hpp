// Everything the box measures, as a port. A measurement is begun and then asked for until it is
// there, so that the box goes on answering its master meanwhile. One thread.
#pragma once

#include <cstdint>

#include "firmware-sim/core/record_codec.hpp"

namespace firmware::target {

// Statuses of the register map. Values are permanent (wire).
enum class ReadingStatus : std::uint8_t {
  ok = 0,
  not_fitted = 1,
  no_answer = 2,  // or a wrong checksum
  open_circuit = 3,
  short_circuit = 4,
  out_of_range = 5,
  warming_up = 6,
  fault = 7,
};

// One channel: counts mean something only when ok.
struct Reading {
  std::int16_t counts = 0;
  ReadingStatus status = ReadingStatus::no_answer;
  bool operator==(const Reading&) const = default;
};

class FrontEnd {
 public:
  FrontEnd() = default;
  FrontEnd(const FrontEnd&) = delete;
  FrontEnd& operator=(const FrontEnd&) = delete;
  // Looks at what can change between two measurements; called in every round of the loop.
  virtual void watch(std::uint64_t now_ms) = 0;
  // A measurement begun before is given up.
  virtual void begin(std::uint64_t now_ms) = 0;
  // True once, when the measurement is there; false while it is not, or none was begun. It is there
  // within a bounded time: a sensor that does not answer gives a status.
  virtual bool poll(std::uint64_t now_ms, core::Sample& sample) = 0;

 protected:
  ~FrontEnd() = default;
};

}  // namespace firmware::target
