#include "firmware-sim/target/sensors/contact.hpp"

#include <utility>

namespace firmware::target {

void Contact::watch(std::uint64_t now_ms) {
  if ((pin_.is_high() == wiring_.active_high) == active_) {
    changed_ms_.reset();
    return;
  }
  if (!changed_ms_) {
    changed_ms_ = now_ms;
  }
  if (now_ms - *changed_ms_ >= wiring_.hold_ms) {
    active_ = !active_;
    seen_ = seen_ || active_;
    changed_ms_.reset();
  }
}

bool Contact::take_seen() { return std::exchange(seen_, active_); }

}  // namespace firmware::target
