#include "logger/app/commands/notes/slab/stated_hours.hpp"

#include <map>
#include <nlohmann/json.hpp>

#include "analysis/readiness/reason_texts.hpp"
#include "analysis/readiness/slab/hours_in_climate.hpp"
#include "analysis/readiness/slab/test_times.hpp"
#include "logger/app/room/channel_value.hpp"

namespace logger::app {

using analysis::base::hours_from;
using analysis::base::TimeRange;
using analysis::readiness::HoursInClimate;
using analysis::readiness::LoggedHours;
using analysis::readiness::text_from_hours_done;
using store::Result;

namespace {

Result<LoggedHours> logged_hours(OpenedJob& opened, const JobRoom& room, const JobRecords& records,
                                 TimeRange during) {
  const auto setup = room_setup_from(opened.job, room, records);
  const Micros apart = room.requirements.longest_interval.value;
  HoursInClimate hours(during, room.service, apart);
  std::map<std::string, analysis::readiness::StillCount> still;
  const auto visited = visit_history(
      *opened.store,
      {boxes_of_room(opened.job, room.id), during.from - apart, during.to + apart, {}},
      [&](const std::string& box_id, const Record& record, DatedTime at) {
        std::optional<analysis::base::Celsius> temperature;
        std::optional<analysis::base::RelativeHumidity> rh;
        bool is_air = false;
        for (const auto& channel : setup.channels) {
          if (channel.box_id != box_id || !is_room_air(channel.scale.role)) {
            continue;
          }
          is_air = true;
          const auto value = value_of(channel, record, at.at, still[channel.channel_id]);
          if (value && channel.scale.role == analysis::base::ChannelRole::room_air_rh) {
            rh = analysis::base::RelativeHumidity{*value};
          } else if (value) {
            temperature = analysis::base::Celsius{*value};
          }
        }
        if (is_air) {
          hours.add(at.at, temperature, rh);
        }
      });
  return visited ? Result<LoggedHours>(hours.logged()) : store::Failure{visited.error()};
}

std::string hours_text(Micros hours) { return text_from_hours_done(hours_from(hours)); }

std::string line_from(const LoggedHours& logged, Micros stated) {
  const std::string begin = "as in use: " + hours_text(stated) + " stated; ";
  if (logged.inside + logged.outside == Micros{0}) {
    return begin + "the log shows nothing of these";
  }
  return begin + "logged " + hours_text(logged.inside) + " of these in the climate to keep, " +
         hours_text(logged.outside) + " outside, " +
         hours_text(stated - logged.inside - logged.outside) + " not known";
}

}  // namespace

Result<StatedHours> stated_hours_from(OpenedJob& opened, const JobRoom& room,
                                      const JobRecords& records, const store::Note& note) {
  StatedHours found;
  const nlohmann::json content = content_of(note);
  if (!content.contains("service_hours")) {
    return found;
  }
  const Micros stated = analysis::base::micros_from_hours(content.value("service_hours", 0.0));
  const auto logged = logged_hours(opened, room, records, {note.at - stated, note.at});
  if (!logged) {
    return store::Failure{logged.error()};
  }
  const Micros asked = note.kind == "rh-test"
                           ? rh_test_rules_from(room.requirements.slab.value_or(
                                                    analysis::readiness::SlabRequirements{}))
                                 .service_conditions
                           : analysis::readiness::DishTestRules{}.service_conditions;
  found.line = line_from(logged.value(), stated);
  found.outside = logged.value().outside;
  // Fewer hours than asked for are refused for themselves.
  found.contradicted = stated >= asked && contradicts(logged.value(), stated, asked);
  if (found.contradicted) {
    found.refusal = "--service-hours " + hours_text(stated) + ": the log shows the room outside " +
                    "the climate to keep for " + hours_text(found.outside) +
                    " of these; expected " + analysis::readiness::text_from_whole_hours(asked) +
                    " inside, a tenth less at most; --as-found keeps it as not counting";
  }
  return found;
}

}  // namespace logger::app
