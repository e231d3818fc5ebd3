#include "logger/store/log/leaf_encoding.hpp"

namespace logger::store {

using analysis::evidence::LeafBytes;

std::string leaf_from_mark(bool simulated) {
  return LeafBytes(LeafKind::mark).put(static_cast<std::uint8_t>(simulated)).take();
}

analysis::evidence::LoggedGap logged_gap_from(const Gap& gap) {
  return {gap.box_id,
          gap.boot,
          gap.first_sequence,
          gap.last_sequence,
          static_cast<std::uint8_t>(gap.reason),
          gap.noted_at};
}

std::string leaf_from_calibration(const Calibration& calibration) {
  return LeafBytes(kind_of(calibration))
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
      .put_raw(calibration.salt)
      .take();
}

std::string leaf_from_note(const Note& note) {
  return LeafBytes(kind_of(note))
      .put(note.id)
      .put(note.at)
      .put(note.noted_at)
      .put(note.kind)
      .put(note.room_id)
      .put(note.by)
      .put(note.content_json)
      .put_raw(note.salt)
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
  return LeafBytes(kind_of(message))
      .put(message.id)
      .put(message.at)
      .put(message.alert_key)
      .put(message.transition)
      .put(message.payload_json)
      .put_raw(message.salt)
      .take();
}

}  // namespace logger::store
