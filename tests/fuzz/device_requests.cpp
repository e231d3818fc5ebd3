// Fuzz target: bytes from the line, through RequestAssembler, into the real box over a small flash.
// The input is settings and a list of steps: raw bytes, silence, a sealed request (no fuzzer finds
// a CRC-16), requests near the blocks and records there are, a sample, a restart, a power cut. A
// model of what the box was given and has shown judges every reply and every record that leaves the
// box.
#include <algorithm>
#include <array>
#include <deque>
#include <map>
#include <optional>
#include <set>
#include <span>

#include "firmware-sim/core/modbus_frame.hpp"
#include "firmware-sim/core/probe_box.hpp"
#include "tests/core/fake_flash.hpp"
#include "tests/fuzz/fuzz_target.hpp"

namespace firmware::core {
namespace {

using fuzz::require;

constexpr std::uint8_t kUnit = 7;
constexpr std::size_t kFlashBlock = 384;  // a header and five slots: blocks are used up quickly
constexpr std::size_t kFlashBlocks = 4;
constexpr std::size_t kMaxSteps = 32;
constexpr std::array<std::uint16_t, 8> kBlocks{
    kRegIdentity, kRegLive,    kRegLost,           kRegWindow,
    kRegSelect,   kRegRelease, kRegSampleInterval, kRegWindow + (kWindows - 1) * kWindowStride};

// Mostly good ones.
BoxSettings settings_from(fuzz::ByteSource& input) {
  const std::uint8_t shape = input.u8();
  BoxSettings settings{.address = kUnit, .serial = 42, .fitted_channels = kChannels};
  settings.sample_interval_s = 1;
  if (shape > 250) {
    settings = {input.u8(), input.u8(), input.u8(), input.u16()};
  }
  return settings;
}

bool are_good(const BoxSettings& settings) {
  return settings.address >= 1 && settings.address <= kMaxUnit && settings.serial != 0 &&
         settings.fitted_channels <= kChannels && settings.sample_interval_s >= 1 &&
         settings.sample_interval_s <= kMaxSampleIntervalS;
}

class LineRig {
 public:
  explicit LineRig(const BoxSettings& settings)
      : flash_(kFlashBlock, kFlashBlocks), box_(flash_, settings) {}

  void run(fuzz::ByteSource& input) {
    const bool started = box_.start() == Status::ok;
    require(started == are_good(box_.settings()), "good settings start, and no others");
    if (!started) {
      std::array<std::uint8_t, kMaxRtuFrame> answer{};
      std::size_t length = 0;
      require(box_.answer(input.rest(), answer, length) == Status::not_started && length == 0,
              "a box that did not start is silent");
      return;
    }
    for (std::size_t step = 0; step < kMaxSteps && !input.empty(); ++step) {
      take_step(input);
      require(flash_.rule_breaks() == 0, "flash is never written against its rules");
    }
  }

 private:
  void take_step(fuzz::ByteSource& input) {
    switch (input.u8() % 10) {
      case 0:
        send_raw(input);
        break;
      case 1:
        fall_silent();
        break;
      case 2:
        send_sealed(unit_from(input), input.take(input.u8()));
        break;
      case 3:
        command(kRegSelect, key_near(input));
        break;
      case 4:
        command(kRegRelease, key_near(input));
        break;
      case 5:
        read(static_cast<std::uint16_t>(kRegWindow + input.u8() % kWindows * kWindowStride),
             kWindowSize);
        break;
      case 6:
        read(kRegLost, kLostSize);
        break;
      case 7:
        take_samples(1 + input.u8() % 6U);
        break;
      case 8:
        near_a_block(input);
        break;
      default:
        restart(input);
        break;
    }
  }

  [[nodiscard]] std::uint8_t unit() const { return box_.settings().address; }

  std::uint8_t unit_from(fuzz::ByteSource& input) {
    const std::uint8_t pick = input.u8();
    return pick < 208 ? unit() : pick < 240 ? kBroadcastUnit : pick;
  }

  // Often enough to fill the assembler beyond the longest frame.
  void send_raw(fuzz::ByteSource& input) {
    const bool babble = input.u8() > 250;
    const auto bytes = input.take(input.u8());
    for (int i = 0; i < (babble ? 64 : 1); ++i) {
      send(bytes);
    }
  }

  void near_a_block(fuzz::ByteSource& input) {
    constexpr std::array<std::uint8_t, 4> kFunctions{kReadHoldingRegisters, kReadInputRegisters,
                                                     kWriteSingleRegister, kWriteMultipleRegisters};
    const std::uint8_t pick = input.u8();
    Request request{.unit = unit_from(input), .function = kFunctions[pick % 4U], .values = {}};
    request.address = static_cast<std::uint16_t>(kBlocks[pick / 4U % 8U] + pick / 32U);
    const bool writes = pick % 4U >= 2;
    request.quantity = static_cast<std::uint16_t>(1 + input.u8() % (writes ? 6U : 125U));
    if (request.function == kWriteSingleRegister) {
      request.quantity = 1;
    }
    std::array<std::uint8_t, 12> values{};
    const auto given = input.take(writes ? request.quantity * 2U : 0U);
    std::copy(given.begin(), given.end(), values.begin());
    request.values = std::span(values).first(writes ? request.quantity * 2U : 0U);
    ask(request);
  }

  // Mostly a record that is or was there, or just beyond.
  RecordKey key_near(fuzz::ByteSource& input) {
    const std::uint8_t pick = input.u8();
    if (pick == 255) {
      return {input.u32(), input.u32()};
    }
    if (pick < 64 && !held_.empty()) {
      return held_[pick % held_.size()];
    }
    return pick < 128 ? RecordKey{box_.boot() - pick % 3U, pick % 32U} : RecordKey{};
  }

  void command(std::uint16_t block, RecordKey key) {
    std::array<std::uint8_t, 2 * kCommandSize> values{};
    RegisterWriter writer(values);
    writer.put_u32(0, key.boot);
    writer.put_u32(2, key.sequence);
    ask({unit(), kWriteMultipleRegisters, block, kCommandSize, values});
  }

  void read(std::uint16_t address, std::uint16_t quantity) {
    ask({unit(), kReadHoldingRegisters, address, quantity, {}});
  }

  void ask(const Request& request) {
    std::array<std::uint8_t, kMaxRtuFrame> frame{};
    std::size_t length = 0;
    require(build_request(request, frame, length) == FrameStatus::ok, "a good request is built");
    fall_silent();
    send(std::span(frame).first(length));
  }

  void send_sealed(std::uint8_t unit, std::span<const std::uint8_t> pdu) {
    std::array<std::uint8_t, kMaxRtuFrame> frame{};
    const auto fitting = pdu.first(std::min(pdu.size(), kMaxPdu));
    std::copy(fitting.begin(), fitting.end(), frame.begin() + 1);
    std::size_t length = 0;
    require(seal_rtu(unit, fitting.size(), frame, length) == FrameStatus::ok, "a PDU is sealed");
    fall_silent();
    send(std::span(frame).first(length));
    fall_silent();
  }

  void send(std::span<const std::uint8_t> bytes) {
    for (const std::uint8_t byte : bytes) {
      if (const auto frame = assembler_.push(byte)) {
        handle(*frame);
      }
    }
  }

  void fall_silent() {
    if (const auto frame = assembler_.line_silent()) {
      handle(*frame);
    }
  }

  void handle(std::span<const std::uint8_t> frame) {
    require(frame.size() <= kMaxRtuFrame, "no frame is longer than 256 bytes");
    std::uint8_t asked = 0;
    std::span<const std::uint8_t> pdu;
    const bool to_us = open_rtu(frame, asked, pdu) == FrameStatus::ok && asked == unit();
    Request request;
    const FrameStatus parsed = parse_request(frame, request);
    const std::uint32_t lost_before = box_.lost().total;
    std::array<std::uint8_t, kMaxRtuFrame> answer{};
    std::size_t length = 0;
    require(box_.answer(frame, answer, length) == Status::ok, "a sound memory never fails");
    require((length != 0) == to_us, "whole frames to this unit are answered, and no others");
    RecordKey released;
    if (length != 0) {
      released = check_reply(request, parsed, std::span(answer).first(length));
    }
    forget(released, box_.lost().total - lost_before);
  }

  // What the reply says was released; {0, 0} = nothing.
  RecordKey check_reply(const Request& request, FrameStatus parsed,
                        std::span<const std::uint8_t> frame) {
    require(frame.size() <= kMaxRtuFrame, "a reply is at most 256 bytes");
    std::uint8_t answers = 0;
    std::span<const std::uint8_t> pdu;
    require(open_rtu(frame, answers, pdu) == FrameStatus::ok, "a reply has a right CRC");
    require(answers == unit(), "a reply has the unit asked");
    const ExpectedLength expected = expected_reply_length(frame);
    require(expected.kind == ExpectedLength::Kind::known && expected.bytes == frame.size(),
            "a master can tell the end of a reply");
    if (parsed != FrameStatus::ok) {
      require(pdu.size() == 2 && pdu[0] == (request.function | kExceptionBit) && pdu[1] != 0,
              "what can't be done is answered with an exception");
      return {};
    }
    Reply reply;
    const FrameStatus status = parse_reply(frame, request, reply);
    require(status == FrameStatus::ok || status == FrameStatus::exception_reply,
            "a reply fits its request");
    if (status != FrameStatus::ok) {
      return {};
    }
    if (request.values.empty()) {
      note_read(request, reply.registers);
      return {};
    }
    const RegisterView values{request.values};
    require(request.address != kRegSampleInterval || box_.sample_interval_s() == values.u16(0),
            "an interval that was acknowledged is taken");
    return request.address == kRegRelease ? RecordKey{values.u32(0), values.u32(2)} : RecordKey{};
  }

  // Records that came whole, in a request that began at the first register of a window.
  void note_read(const Request& request, RegisterView registers) {
    if (request.address < kRegWindow || request.address >= kRegSelect ||
        (request.address - kRegWindow) % kWindowStride != 0) {
      return;
    }
    const std::size_t count = registers.u16(kWindowCount);
    require(count <= kWindowRecords, "a window holds five records at most");
    const std::size_t whole = (registers.size() - kWindowFirst) / kRecordSize;
    RecordKey last;
    for (std::size_t i = 0; i < std::min(count, whole); ++i) {
      BoxRecord record;
      require(decode_record(registers.part(kWindowFirst + i * kRecordSize, kRecordSize), record) ==
                  DecodeStatus::ok,
              "a record in a window is sound");
      require(record.key() > last, "records come in the order they were taken");
      last = record.key();
      require(std::binary_search(held_.begin(), held_.end(), last), "only held records are shown");
      require(stored_.at(last) == record, "a record is shown as it was taken");
      read_.insert(last);
    }
  }

  // Takes off the model what left the box: `lost` records by overflow, the others by release.
  void forget(RecordKey released, std::uint32_t lost) {
    const auto end = std::upper_bound(held_.begin(), held_.end(), released);
    for (auto record = held_.begin(); record != end; ++record) {
      require(read_.count(*record) != 0, "nothing is released that was not read");
    }
    held_.erase(held_.begin(), end);
    require(lost <= held_.size(), "no more is lost than was held");
    held_.erase(held_.begin(), held_.begin() + lost);
    require(held_.size() == box_.held(), "what is no longer held was released or counted as lost");
    if (box_.lost().count != 0) {
      const LostRange newest = box_.lost().ranges[box_.lost().count - 1U];
      require(held_.empty() || RecordKey{newest.boot, newest.last} < held_.front(),
              "no held record is listed as lost");
    }
  }

  void take_samples(std::size_t count) {
    for (std::size_t i = 0; i < count; ++i) {
      box_.set_ticks(box_.ticks_ms() + 60000);
      Sample sample{.flags = static_cast<std::uint16_t>(box_.sequence())};
      sample.raw_counts.fill(static_cast<std::int16_t>(stored_.size()));
      const std::uint32_t lost_before = box_.lost().total;
      require(box_.store_sample(sample) == Status::ok, "a sound memory stores every sample");
      const BoxRecord record{box_.boot(), box_.sequence(), box_.ticks_ms(), sample};
      stored_[record.key()] = record;
      held_.push_back(record.key());
      forget({}, box_.lost().total - lost_before);
    }
  }

  // Plain, or with power failing some bytes into the writes of a sample.
  void restart(fuzz::ByteSource& input) {
    const std::uint32_t lost_before = box_.lost().total;
    const std::uint32_t boot_before = box_.boot();
    const std::uint8_t cut = input.u8();
    std::optional<RecordKey> torn;
    if (cut > 0) {
      torn = sample_into_cut(cut);
    }
    require(box_.start() == Status::ok, "the box starts again");
    require(box_.boot() > boot_before, "every start is a new boot");
    const std::uint32_t lost = box_.lost().total - lost_before;
    // All its bytes may have been written before the cut, though it was not acknowledged.
    if (torn && box_.held() + lost > held_.size()) {
      held_.push_back(*torn);
    }
    read_.clear();
    assembler_ = RequestAssembler{};
    forget({}, lost);
  }

  // The record, unless it was acknowledged: then it is held.
  std::optional<RecordKey> sample_into_cut(std::uint8_t bytes) {
    flash_.cut_after(bytes);
    const BoxRecord record{box_.boot(), box_.sequence() + 1, box_.ticks_ms(), Sample{}};
    const bool acknowledged = box_.store_sample(record.sample) == Status::ok;
    stored_[record.key()] = record;
    if (!flash_.powered()) {
      ask_without_memory();
    }
    flash_.power_up();
    if (acknowledged) {
      held_.push_back(record.key());
    }
    return acknowledged ? std::nullopt : std::optional(record.key());
  }

  void ask_without_memory() {
    std::array<std::uint8_t, kMaxRtuFrame> frame{};
    std::size_t length = 0;
    const Request request{unit(), kReadInputRegisters, kRegWindow, kWindowSize, {}};
    require(build_request(request, frame, length) == FrameStatus::ok, "a good request is built");
    std::array<std::uint8_t, kMaxRtuFrame> answer{};
    std::size_t answered = 0;
    const Status status = box_.answer(std::span(frame).first(length), answer, answered);
    Reply reply;
    const FrameStatus parsed = parse_reply(std::span(answer).first(answered), request, reply);
    require(status == Status::ok ? parsed == FrameStatus::ok && reply.registers.u16(0) == 0
                                 : reply.exception_code == kServerDeviceFailure,
            "memory that does not answer gives no record but exception 04");
  }

  FakeFlash flash_;
  ProbeBox box_;
  RequestAssembler assembler_;
  std::map<RecordKey, BoxRecord> stored_;  // all there ever were
  std::deque<RecordKey> held_;             // increasing
  std::set<RecordKey> read_;               // since the last start
};

}  // namespace
}  // namespace firmware::core

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::ByteSource input({data, size});
  firmware::core::LineRig(firmware::core::settings_from(input)).run(input);
  return 0;
}
