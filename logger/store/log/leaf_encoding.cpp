#include "logger/store/log/leaf_encoding.hpp"

#include <bit>
#include <concepts>
#include <string_view>
#include <type_traits>

namespace logger::store {
namespace {

class LeafBytes {
 public:
  explicit LeafBytes(LeafKind kind) {
    bytes_.reserve(kTypicalBytes);
    put(static_cast<std::uint8_t>(kind));
  }

  // Two's complement, big endian, as wide as its type.
  template <std::integral T>
  LeafBytes& put(T value) {
    const auto bits = static_cast<std::make_unsigned_t<T>>(value);
    for (std::size_t byte = sizeof(T); byte-- > 0;) {
      bytes_.push_back(static_cast<char>((std::uint64_t{bits} >> (8U * byte)) & 0xffU));
    }
    return *this;
  }
  LeafBytes& put(double value) { return put(std::bit_cast<std::uint64_t>(value)); }
  LeafBytes& put(UtcMicros at) { return put(at.value); }
  LeafBytes& put(std::string_view text) {
    put(static_cast<std::uint32_t>(text.size()));
    bytes_.append(text);
    return *this;
  }

  [[nodiscard]] std::string take() { return std::move(bytes_); }

 private:
  static constexpr std::size_t kTypicalBytes = 96;
  std::string bytes_;
};

}  // namespace

const char* name_of(LeafKind kind) {
  switch (kind) {
    case LeafKind::mark:
      return "mark";
    case LeafKind::exchange:
      return "clock exchange";
    case LeafKind::record:
      return "record";
    case LeafKind::gap:
      return "gap";
    case LeafKind::calibration:
      return "calibration";
    case LeafKind::note:
      return "note";
    case LeafKind::event:
      return "event";
    case LeafKind::message:
      return "message";
  }
  return "unknown kind";
}

std::string leaf_from_mark(bool simulated) {
  return LeafBytes(LeafKind::mark).put(static_cast<std::uint8_t>(simulated)).take();
}

std::string leaf_from_exchange(const std::string& box_id, std::uint32_t boot,
                               const ClockExchange& exchange) {
  return LeafBytes(LeafKind::exchange)
      .put(box_id)
      .put(boot)
      .put(exchange.ticks_ms)
      .put(exchange.utc)
      .put(std::int64_t{exchange.error.count()})
      .take();
}

std::string leaf_from_record(const std::string& box_id, const Record& record) {
  LeafBytes leaf(LeafKind::record);
  leaf.put(box_id).put(record.id.boot).put(record.id.sequence).put(record.ticks_ms);
  leaf.put(record.flags);
  for (std::size_t channel = 0; channel < analysis::base::kMaxChannels; ++channel) {
    leaf.put(static_cast<std::uint8_t>(record.statuses[channel])).put(record.raw_counts[channel]);
  }
  return leaf.take();
}

std::string leaf_from_gap(const Gap& gap) {
  return LeafBytes(LeafKind::gap)
      .put(gap.box_id)
      .put(gap.boot)
      .put(gap.first_sequence)
      .put(gap.last_sequence)
      .put(static_cast<std::uint8_t>(gap.reason))
      .put(gap.noted_at)
      .take();
}

std::string leaf_from_calibration(const Calibration& calibration) {
  return LeafBytes(LeafKind::calibration)
      .put(calibration.id)
      .put(calibration.box_id)
      .put(std::int32_t{calibration.channel_index})
      .put(calibration.valid_from)
      .put(calibration.due_at)
      .put(calibration.gain)
      .put(calibration.offset)
      .put(calibration.expanded_uncertainty)
      .put(calibration.by)
      .put(calibration.reference)
      .put(calibration.noted_at)
      .take();
}

std::string leaf_from_note(const Note& note) {
  return LeafBytes(LeafKind::note)
      .put(note.id)
      .put(note.at)
      .put(note.noted_at)
      .put(note.kind)
      .put(note.room_id)
      .put(note.by)
      .put(note.content_json)
      .take();
}

std::string leaf_from_event(const Event& event) {
  return LeafBytes(LeafKind::event)
      .put(event.id)
      .put(event.at)
      .put(event.kind)
      .put(event.subject)
      .put(event.detail_json)
      .take();
}

std::string leaf_from_message(const Message& message) {
  return LeafBytes(LeafKind::message)
      .put(message.id)
      .put(message.at)
      .put(message.alert_key)
      .put(message.transition)
      .put(message.payload_json)
      .take();
}

}  // namespace logger::store
