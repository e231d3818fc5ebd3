// The box itself: a Modbus RTU device over a ring of records in non-volatile memory. Freestanding:
// no heap, clock, I/O or exceptions; the caller brings memory, ticks, samples and bytes.
// One thread. The record order is the order of taking: (boot, sequence) increasing.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>

#include "firmware-sim/core/modbus_frame.hpp"
#include "firmware-sim/core/non_volatile_memory.hpp"
#include "firmware-sim/core/record_codec.hpp"
#include "firmware-sim/core/record_ring.hpp"
#include "firmware-sim/core/wire_format.hpp"

namespace firmware::core {

inline constexpr std::uint16_t kFirmwareVersion = 0x0001;  // major * 256 + minor
inline constexpr std::uint16_t kMaxSampleIntervalS = 3600;

struct BoxSettings {
  std::uint8_t address = 1;  // Modbus unit, 1..247
  std::uint64_t serial = 0;  // unique for each box, not 0
  std::uint16_t fitted_channels = 6;
  std::uint16_t sample_interval_s = 60;  // 1..3600, until a master sets another
};

class ProbeBox {
 public:
  // `memory` must outlive the box. Nothing is read before start().
  ProbeBox(NonVolatileMemory& memory, const BoxSettings& settings);

  // Begins a new boot: boot() grows by one or more, sequences start at 1, selection and read mark
  // are gone. invalid_argument: settings out of range, or memory the ring can't use.
  Status start();

  // Milliseconds since start(), never decreasing.
  void set_ticks(std::uint64_t ticks_ms) { ticks_ms_ = ticks_ms; }

  // Gives the sample its identity, stores it and shows it in the live block; the self-test flag is
  // set in it once the memory has a bad block. invalid_argument: a
  // status above 15. memory_fault: not stored, its sequence number is used for the next one.
  Status store_sample(const Sample& sample);

  // Answers one RTU frame. reply_length 0 = stay silent (other unit, broken CRC, broadcast).
  // `reply` needs kMaxRtuFrame bytes. memory_fault: the reply is exception 04.
  Status answer(std::span<const std::uint8_t> request_frame, std::span<std::uint8_t> reply,
                std::size_t& reply_length);

  // The same for carriers with their own unit and checks; always answers. `reply_pdu` needs kMaxPdu
  // bytes.
  Status answer_pdu(std::span<const std::uint8_t> request_pdu, std::span<std::uint8_t> reply_pdu,
                    std::size_t& reply_length);

  [[nodiscard]] std::uint32_t boot() const { return ring_.boot(); }
  [[nodiscard]] std::uint32_t held() const { return ring_.held(); }
  [[nodiscard]] std::uint32_t capacity() const { return ring_.capacity(); }
  [[nodiscard]] std::uint32_t sequence() const { return live_.sequence; }  // of the newest sample
  [[nodiscard]] std::uint64_t ticks_ms() const { return ticks_ms_; }
  // Last record released; {0, 0} when there is none, or its block was used again before start().
  [[nodiscard]] RecordKey released() const { return ring_.released(); }
  [[nodiscard]] const LostBlock& lost() const { return ring_.lost(); }
  // What the caller samples at: as set by a master, else as in BoxSettings.
  [[nodiscard]] std::uint16_t sample_interval_s() const;
  [[nodiscard]] const BoxSettings& settings() const { return settings_; }

 private:
  // What came of a request: an exception code, 0 = none; memory_fault goes with exception 04.
  struct Outcome {
    std::uint8_t exception_code = 0;
    Status status = Status::ok;
  };

  Outcome read_registers(const Request& request, std::span<std::uint8_t> register_bytes);
  Outcome fill_block(std::uint16_t block, std::span<std::uint8_t> bytes);
  Outcome fill_window(std::uint16_t block, std::span<std::uint8_t> bytes);
  void note_window_read(std::uint16_t block, std::size_t whole_records);
  Outcome write_registers(const Request& request);
  Outcome write_interval(std::uint16_t interval_s);
  Outcome select(RecordKey key);
  Outcome release(RecordKey key);
  [[nodiscard]] BoxIdentity identity() const;

  BoxSettings settings_;
  RecordRing ring_;
  std::uint64_t ticks_ms_ = 0;
  LiveSample live_;
  bool started_ = false;
  std::uint32_t selected_ = 0;  // ordinal of the first record of window 0
  RecordKey selected_key_;      // as written; {0, 0} also before the first select
  bool has_selection_ = false;
  std::uint32_t read_through_ = 0;  // every held record with a lower ordinal was read in this boot
  std::uint32_t lost_total_read_ = 0;  // lost total at the last whole read of the lost block
};

}  // namespace firmware::core
