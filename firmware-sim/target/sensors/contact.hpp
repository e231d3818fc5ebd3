// A switch on an input, such as the lid contact or the tilt switch: a change counts once it has
// held, and one that has come and gone between two samples is still told.
#pragma once

#include <cstdint>
#include <optional>

#include "firmware-sim/target/sensors/byte_ports.hpp"

namespace firmware::target {

struct ContactWiring {
  bool active_high = true;
  std::uint16_t hold_ms = 0;  // a change counts after this long without another
};

class Contact {
 public:
  // `pin` outlives the contact. Counts as not active until its first change has held.
  Contact(const InputPin& pin, const ContactWiring& wiring) : pin_(pin), wiring_(wiring) {}

  // As often as the shortest event that must be seen.
  void watch(std::uint64_t now_ms);
  [[nodiscard]] bool is_active() const { return active_; }
  // Is active, or was so since this was asked last.
  [[nodiscard]] bool take_seen();

 private:
  const InputPin& pin_;
  ContactWiring wiring_;
  bool active_ = false;
  bool seen_ = false;
  std::optional<std::uint64_t> changed_ms_;  // since when the pin differs from `active_`
};

}  // namespace firmware::target
