// Which of the exchanges on the lines go wrong, and how: selects by device, request and time, and
// counts. Bends bytes; sends nothing itself. Seeded. One thread.
#pragma once

#include <cstdint>
#include <optional>
#include <random>
#include <span>
#include <vector>

#include "analysis/base/time.hpp"

namespace firmware::sim::line {

enum class ExchangeFaultKind : std::uint8_t {
  lose_request,
  lose_reply,
  corrupt_request,  // `amount` bits flipped
  corrupt_reply,
  cut_reply,           // after `amount` bytes
  delay_reply,         // by `span`
  repeat_reply,        // comes twice, back to back
  noise_before_reply,  // `amount` random bytes
  refuse_request,      // exception `amount`; the device does nothing
  unplug_in_reply,     // after `amount` bytes, for `span`
  restart_daemon,      // the harness ends the daemon and starts it; the request is lost
};

enum class DeviceKind : std::uint8_t { box, transmitter };

// What a request is about, told from function and address of the register map.
enum class RequestAbout : std::uint8_t {
  anything,
  identity,
  live,
  lost,
  window,
  select,
  release,
  interval,
};
[[nodiscard]] bool is_about(std::span<const std::uint8_t> frame, RequestAbout about);

struct ExchangeFault {
  ExchangeFaultKind kind = ExchangeFaultKind::lose_reply;
  analysis::base::Micros from{0};  // after the start; in force in from..to, `to` left out
  std::optional<analysis::base::Micros> to;
  std::uint64_t every = 1;            // each so-manieth exchange that fits
  std::optional<std::uint64_t> most;  // and no more than that many
  DeviceKind device = DeviceKind::box;
  std::optional<std::size_t> index;  // of the device; nullopt = all of that kind
  RequestAbout about = RequestAbout::anything;
  std::uint64_t amount = 0;
  bool each_amount = false;  // 0 at the first use, one more at each
  analysis::base::Micros span{0};
  std::size_t script_line = 0;
};

// A fault that strikes the exchange at hand.
struct StruckFault {
  ExchangeFaultKind kind = ExchangeFaultKind::lose_reply;
  std::uint64_t amount = 0;
  analysis::base::Micros span{0};
};

class ExchangeFaults {
 public:
  ExchangeFaults(std::vector<ExchangeFault> faults, std::uint64_t seed);

  // Those that strike the request `frame` to that device, in the order they were given.
  [[nodiscard]] std::vector<StruckFault> strike(DeviceKind device, std::size_t index,
                                                std::span<const std::uint8_t> frame,
                                                analysis::base::Micros after_start);
  // Flips `bits` different bits.
  void corrupt(std::vector<std::uint8_t>& bytes, std::uint64_t bits);
  [[nodiscard]] std::vector<std::uint8_t> noise(std::uint64_t bytes);

  // How often each fault has struck, in the order they were given.
  [[nodiscard]] std::vector<std::uint64_t> struck() const;

 private:
  struct Counted {
    ExchangeFault fault;
    std::uint64_t fitting = 0;
    std::uint64_t struck = 0;
  };

  std::vector<Counted> faults_;
  std::mt19937_64 random_;
};

}  // namespace firmware::sim::line
