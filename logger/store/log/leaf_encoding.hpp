// The leaves of the rows that only a store knows; the others are in
// analysis/evidence/log/leaf_encoding.hpp, where a verifier finds them too. Layout byte for byte:
// docs/evidence-log.md. Pure; any thread.
#pragma once

#include <string>

#include "analysis/evidence/log/leaf_encoding.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::store {

using analysis::evidence::leaf_from_exchange;
using analysis::evidence::leaf_from_record;
using analysis::evidence::LeafKind;
using analysis::evidence::name_of;

[[nodiscard]] std::string leaf_from_mark(bool simulated);
[[nodiscard]] analysis::evidence::LoggedGap logged_gap_from(const Gap& gap);
[[nodiscard]] inline std::string leaf_from_gap(const Gap& gap) {
  return analysis::evidence::leaf_from_gap(logged_gap_from(gap));
}
// With the salt where the row has one.
[[nodiscard]] std::string leaf_from_calibration(const Calibration& calibration);
[[nodiscard]] std::string leaf_from_note(const Note& note);
[[nodiscard]] std::string leaf_from_event(const Event& event);
// The same; its delivery is no part of the leaf.
[[nodiscard]] std::string leaf_from_message(const Message& message);

// Which kind of leaf the row is.
[[nodiscard]] inline LeafKind kind_of(const Note& note) {
  return note.salt.empty() ? LeafKind::note : LeafKind::salted_note;
}
[[nodiscard]] inline LeafKind kind_of(const Calibration& calibration) {
  return calibration.salt.empty() ? LeafKind::calibration : LeafKind::salted_calibration;
}

[[nodiscard]] inline LeafKind kind_of(const Message& message) {
  return message.salt.empty() ? LeafKind::message : LeafKind::salted_message;
}

}  // namespace logger::store
