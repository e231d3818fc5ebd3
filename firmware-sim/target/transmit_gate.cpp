#include "firmware-sim/target/transmit_gate.hpp"

namespace firmware::target {

TransmitGate::TransmitGate(OutputPin& driver, OneShotTimer& timer, std::uint32_t baud)
    : driver_(driver),
      timer_(timer),
      character_us_((kBitsInCharacter * 1'000'000 + baud - 1) / baud) {
  driver_.set(false);
}

// The state first: a timer that ends in between then leaves the driver alone.
void TransmitGate::open() {
  state_.store(State::open);
  driver_.set(true);
}

void TransmitGate::last_byte_begun() {
  if (state_.load() == State::open) {
    state_.store(State::closing);
    timer_.start_us(character_us_);
  }
}

void TransmitGate::on_timer() {
  if (state_.load() == State::closing) {
    driver_.set(false);
    state_.store(State::closed);
  }
}

}  // namespace firmware::target
