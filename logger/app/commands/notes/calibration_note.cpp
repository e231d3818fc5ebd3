#include "logger/app/commands/notes/calibration_note.hpp"

#include <nlohmann/json.hpp>
#include <tuple>

#include "analysis/readiness/reason_texts.hpp"
#include "logger/app/commands/notes/counts_from.hpp"
#include "logger/app/commands/notes/note_contents.hpp"
#include "logger/app/daemon/real_clock.hpp"

namespace logger::app {

using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

struct CalibrationFactors {
  double gain;
  double offset;
  double expanded_uncertainty;
};

// As typed, or from two fixed points; the latter for humidity only, and not beside typed factors.
Result<CalibrationFactors> factors_from(const NoteOptions& options, const JobChannel& channel) {
  const CalibrationFactors typed{options.gain, options.offset, options.expanded_uncertainty};
  if (options.fixed_points.empty()) {
    return typed;
  }
  if (analysis::base::file_unit_of(channel.scale.role) != "percent_rh") {
    return failure(ErrorCode::invalid_input,
                   "--fixed-point: channel `" + channel.id + "` measures no humidity");
  }
  if (typed.gain != 1.0 || typed.offset != 0.0 || typed.expanded_uncertainty != 0.0) {
    return failure(ErrorCode::invalid_input,
                   "--fixed-point gives gain, offset and uncertainty; leave out --gain, --offset "
                   "and --uncertainty");
  }
  const auto found = fixed_point_calibration_from(options);
  if (!found) {
    return store::Failure{found.error()};
  }
  const auto& c = found.value();
  return CalibrationFactors{c.gain, c.offset_percent_rh, c.expanded_uncertainty_percent_rh};
}

std::string factors_text(const CalibrationFactors& factors) {
  using analysis::readiness::text_from_number;
  return ", gain " + text_from_number(factors.gain, 4) + ", offset " +
         text_from_number(factors.offset, 2) + " %RH, U " +
         text_from_number(factors.expanded_uncertainty, 2) + " %RH (k = 2)";
}

}  // namespace

Result<ChannelPlace> find_channel(const Job& job, const std::string& id) {
  std::string known;
  for (const JobBox& box : job.boxes) {
    for (const JobChannel& channel : box.channels) {
      if (channel.id == id) {
        return ChannelPlace{&box, &channel};
      }
      known += (known.empty() ? "" : ", ") + channel.id;
    }
  }
  return failure(ErrorCode::invalid_input,
                 "channel `" + id + "` is not in job.json; it has " + known);
}

Result<NotedRow> record_calibration(OpenedJob& opened, const NoteOptions& options, UtcMicros at) {
  const auto place = find_channel(opened.job, options.subject);
  if (!place) {
    return store::Failure{place.error()};
  }
  const auto due = moment_from_option("--due", options.due);
  if (!due) {
    return store::Failure{due.error()};
  }
  if (!due.value() || *due.value() <= at) {
    return failure(ErrorCode::invalid_input,
                   "--due `" + options.due + "`; expected when the calibration expires, after " +
                       analysis::base::rfc3339_from_utc(at));
  }
  const auto factors = factors_from(options, *place.value().channel);
  if (!factors) {
    return store::Failure{factors.error()};
  }
  const auto& [gain, offset, expanded_uncertainty] = factors.value();
  for (const auto& [option, value, low, high] :
       {std::tuple{"--gain", gain, 0.5, 2.0}, std::tuple{"--offset", offset, -20.0, 20.0},
        std::tuple{"--uncertainty", expanded_uncertainty, 1e-6, 20.0}}) {
    if (!(value >= low && value <= high)) {
      return failure(ErrorCode::invalid_input,
                     std::string(option) + " " + std::to_string(value) + ": expected " +
                         std::to_string(low) + " to " + std::to_string(high) +
                         (option == std::string("--gain") ? "" : " in the channel's unit"));
    }
  }
  const auto reference = check_text("--reference", options.reference, 1, 200);
  if (!reference) {
    return store::Failure{reference.error()};
  }
  store::Calibration row;
  row.box_id = place.value().box->id;
  row.channel_index = place.value().channel->index;
  row.valid_from = at;
  row.due_at = *due.value();
  row.gain = gain;
  row.offset = offset;
  row.expanded_uncertainty = expanded_uncertainty;
  row.by = options.by;
  row.reference = options.reference;
  row.noted_at = utc_of_this_machine();
  const auto stored = opened.store->append_calibration(row);
  if (!stored) {
    return store::Failure{stored.error()};
  }
  NotedRow noted{stored.value(),
                 at,
                 options.fixed_points.empty() ? std::string() : factors_text(factors.value()),
                 {counts_from_text(at, row.noted_at)}};
  const std::string stays = issued_stays_text(place.value().channel->room_id, at,
                                              certificates_in(opened.folder.certificates()));
  if (!stays.empty()) {
    noted.told.push_back(stays);
  }
  return noted;
}

}  // namespace logger::app
