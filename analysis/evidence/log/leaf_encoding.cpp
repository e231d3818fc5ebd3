#include "analysis/evidence/log/leaf_encoding.hpp"

namespace analysis::evidence {
namespace {

constexpr std::uint8_t kHighestStatus = 15;

// Takes the fields of a leaf one after the other; bad() once it was shorter than asked for.
class LeafFields {
 public:
  explicit LeafFields(std::string_view bytes) : bytes_(bytes) {}

  template <std::integral T>
  T take() {
    std::uint64_t bits = 0;
    for (const char byte : take_bytes(sizeof(T))) {
      bits = (bits << 8U) | static_cast<std::uint8_t>(byte);
    }
    return static_cast<T>(bits);
  }
  std::string_view take_text() { return take_bytes(take<std::uint32_t>()); }

  [[nodiscard]] bool bad() const { return bad_; }
  [[nodiscard]] bool ended() const { return bytes_.empty(); }

 private:
  std::string_view take_bytes(std::size_t count) {
    bad_ = bad_ || count > bytes_.size();
    const std::string_view taken = bad_ ? std::string_view{} : bytes_.substr(0, count);
    bytes_.remove_prefix(taken.size());
    return taken;
  }

  std::string_view bytes_;
  bool bad_ = false;
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
    case LeafKind::salted_calibration:
      return "calibration";
    case LeafKind::note:
    case LeafKind::salted_note:
      return "note";
    case LeafKind::event:
      return "event";
    case LeafKind::message:
    case LeafKind::salted_message:
      return "message";
  }
  return "unknown kind";
}

std::string leaf_from_exchange(std::string_view box_id, std::uint32_t boot,
                               const base::ClockExchange& exchange) {
  return LeafBytes(LeafKind::exchange)
      .put(box_id)
      .put(boot)
      .put(exchange.ticks_ms)
      .put(exchange.utc)
      .put(std::int64_t{exchange.error.count()})
      .take();
}

std::string leaf_from_record(std::string_view box_id, const base::Record& record) {
  LeafBytes leaf(LeafKind::record);
  leaf.put(box_id).put(record.id.boot).put(record.id.sequence).put(record.ticks_ms);
  leaf.put(record.flags);
  for (std::size_t channel = 0; channel < base::kMaxChannels; ++channel) {
    leaf.put(static_cast<std::uint8_t>(record.statuses[channel])).put(record.raw_counts[channel]);
  }
  return leaf.take();
}

std::string leaf_from_gap(const LoggedGap& gap) {
  return LeafBytes(LeafKind::gap)
      .put(gap.box_id)
      .put(gap.boot)
      .put(gap.first_sequence)
      .put(gap.last_sequence)
      .put(gap.reason)
      .put(gap.noted_at)
      .take();
}

base::Result<LoggedRecord, Fault> record_from_leaf(std::string_view leaf) {
  LeafFields fields(leaf);
  const bool is_record = fields.take<std::uint8_t>() == static_cast<std::uint8_t>(LeafKind::record);
  LoggedRecord logged;
  base::Record& record = logged.record;
  logged.box_id = fields.take_text();
  record.id.boot = fields.take<std::uint32_t>();
  record.id.sequence = fields.take<std::int64_t>();
  record.ticks_ms = fields.take<std::int64_t>();
  record.flags = fields.take<std::uint16_t>();
  bool statuses_fit = true;
  for (std::size_t channel = 0; channel < base::kMaxChannels; ++channel) {
    const auto status = fields.take<std::uint8_t>();
    statuses_fit = statuses_fit && status <= kHighestStatus;
    record.statuses[channel] = static_cast<base::ChannelStatus>(status);
    record.raw_counts[channel] = fields.take<std::int32_t>();
  }
  if (!is_record || fields.bad() || !fields.ended() || !statuses_fit) {
    return base::Failure{
        Fault{"the " + std::to_string(leaf.size()) + " bytes are not those of a record's entry"}};
  }
  return logged;
}

}  // namespace analysis::evidence
