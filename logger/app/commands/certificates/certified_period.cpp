#include "logger/app/commands/certificates/certified_period.hpp"

#include <optional>

#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

using store::ErrorCode;
using store::failure;
using store::Result;

Result<analysis::base::TimeRange> period_of(OpenedJob& opened, const JobRoom& room,
                                            const CertifyOptions& options) {
  const auto from = moment_from_option("--from", options.from);
  const auto to = moment_from_option("--to", options.to);
  if (!from || !to) {
    return store::Failure{!from ? from.error() : to.error()};
  }
  std::optional<UtcMicros> first;
  std::optional<UtcMicros> last;
  for (const std::string& box_id : boxes_of_room(opened.job, room.id)) {
    const auto newest = opened.store->last_record(box_id);
    const auto boots = opened.store->boots(box_id);
    if (!newest || !boots) {
      return store::Failure{!newest ? newest.error() : boots.error()};
    }
    if (!newest.value()) {
      continue;
    }
    const auto begin = dated_record(
        *opened.store, box_id, {boots.value().front().boot, boots.value().front().first_sequence});
    const auto end = dated_record(*opened.store, box_id, newest.value()->id);
    if (!begin || !end) {
      return store::Failure{!begin ? begin.error() : end.error()};
    }
    if (begin.value() && (!first || begin.value()->at < *first)) {
      first = begin.value()->at;
    }
    if (end.value() && (!last || end.value()->at > *last)) {
      last = end.value()->at;
    }
  }
  if (!first || !last) {
    return failure(ErrorCode::invalid_input, "room " + room.id + " has no dated readings yet");
  }
  // While the box is heard the period ends now, so that what was just noted counts.
  const bool heard = opened.now - *last <= room.requirements.longest_interval.value;
  const analysis::base::TimeRange period{from.value().value_or(*first),
                                         to.value().value_or(heard ? opened.now : *last)};
  if (period.from >= period.to || period.to > opened.now) {
    return failure(ErrorCode::invalid_input,
                   "the period " + analysis::base::rfc3339_from_utc(period.from) + " to " +
                       analysis::base::rfc3339_from_utc(period.to) +
                       " must run forwards and not end after now, " +
                       analysis::base::rfc3339_from_utc(opened.now));
  }
  return period;
}

}  // namespace logger::app
