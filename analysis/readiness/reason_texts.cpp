#include "analysis/readiness/reason_texts.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "analysis/base/shown_hours.hpp"
#include "analysis/readiness/requirements.hpp"

namespace analysis::readiness {
namespace {

struct Template {
  std::string_view reason;
  std::string_view action;
};

// In the order of ReasonKey.
constexpr Template kTemplates[] = {
    // delivery
    {"The cartons have been in the room since {since}.", ""},
    {"Nobody has noted when the cartons came into the room.",
     "Note the delivery once the cartons lie closed and flat in the room."},
    {"The delivery is noted for {since}, which is still ahead.",
     "Wait for the cartons, or note the delivery again with the right time."},
    // dwell
    {"The hours count from the delivery, which nobody has noted.",
     "Note the delivery once the cartons lie closed and flat in the room."},
    {"There is no reading of the room air since the delivery.",
     "Look at the box with the room air sensors: supply, cable, address."},
    {"The room air has been in its band for {done} of the {required} required ({source}).{guard}",
     ""},
    {"The room air has been in its band for {done} of the {required} required ({source}); {left} "
     "are missing.{guard}",
     "{advice}"},
    {"The hours were complete at {done_at}, but the run broke later: the room air has been in its "
     "band for {done} of the {required} required ({source}).",
     "{advice}"},
    {"The room air had been in its band for {done} of the {required} required ({source}) when the "
     "readings stopped {age} ago; what happened since is not known.",
     "Bring the box back on the line: the readings it holds may settle it."},
    {"Guarded decisions draw the band in by {temperature} and {rh} at each end for the uncertainty "
     "of the room air sensors, which leaves nothing of it ({source}).",
     "Calibrate the sensors against a better reference, use better ones, or decide simply."},
    // stack_core
    {"Stack core {channel} is at {core} beside room air at {air}: within {within}{guard} of it and "
     "not below {lowest} ({source}).",
     ""},
    {"No probe measures the core of the stack, and one is required.",
     "Put a probe into a carton in the middle of the stack and enter its channel."},
    {"Stack core {channel} has given no good value for {age}, longer than {longest} ({source}); "
     "its "
     "status is {status}.",
     "Look at the probe in the stack: cable, connector, box."},
    {"Stack core {channel} and the room air have too few readings in the last {core_window} and "
     "{air_window} for a mean.",
     "Wait for more readings; if they stay away look at the box."},
    {"Stack core {channel} at {core} is {difference} away from the room air at {air}, more than "
     "the {within}{guard} allowed ({source}).",
     "{advice}"},
    {"Stack core {channel} at {core} is below {lowest} ({source}).",
     "Warm the room; cartons spread out with air between them follow it sooner."},
    {"No probe lies in the stack; computed from the room air its core is at {lowest} to {highest} "
     "beside air at {air}, within {within} of it even if the stack warms slowly ({source}).",
     ""},
    {"No probe lies in the stack; computed from the room air its core is at {lowest} to {highest} "
     "beside air at {air}: within {within} of it only if the stack warms fast ({source}).",
     "Give it time, or put a probe into a carton in the middle of the stack."},
    {"No probe lies in the stack; computed from the room air its core is at {lowest} to {highest} "
     "beside air at {air}, more than the {within} allowed away from it ({source}).",
     "{advice}"},
    {"No probe lies in the stack, and the room air is not known well enough to compute its core "
     "({unknown} unknown since the delivery).",
     "Put a probe into a carton in the middle of the stack, or keep the box on the line."},
    // slab
    {"Slab RH {channel} is at {value} (mean of the last {averaging}), the limit is "
     "{limit}{guard} ({source}).",
     ""},
    {"No probe measures the RH in the slab, and the floor has a limit of {limit} ({source}).",
     "Set a probe into its sleeve in the slab and enter its channel, or read probes by hand and "
     "note an rh-test; before drilling locate pipes, cables and tendons."},
    {"Nobody has entered when slab RH probe {channel} was put in its sleeve; it has to settle for "
     "{settle} ({source}).",
     "Enter the time at which the probe was placed."},
    {"Slab RH probe {channel} has been in its sleeve for {age} and has to settle for {settle} "
     "({source}).",
     "Leave the probe in its closed sleeve."},
    {"Slab RH {channel} has given no good value for {age}, longer than {longest} ({source}); its "
     "status is {status}.",
     "Look at the slab probe: cable, connector, box."},
    {"Slab RH {channel} has settled readings for less than half of the {averaging} that are "
     "averaged "
     "({source}).",
     "Wait for more readings with the sleeve closed."},
    {"Slab RH {channel} is at {value} (mean of the last {averaging}), above the limit of "
     "{limit}{guard} ({source}).",
     "Let the slab dry: warm and dry the air, keep it moving, close off new water."},
    {"{probes} slab RH probes measure, at least {limit} are required ({source}).",
     "Set more probes; before drilling locate pipes, cables and tendons."},
    {"The room has been in its band for {done}; a slab reading counts after {limit} ({source}).",
     "Keep the room in its band, as it will be in use."},
    {" The probe test of {date} gave {value}.", ""},
    {" The probe test of {date} gave {value}, not higher.", ""},
    {" The probe test of {date} does not count: {problems}.", ""},
    {" The probes that stay in the slab show {value} at most, not higher.", ""},
    // slab tests
    {"The {test} of {date} gave {value} at the wettest place (U {uncertainty}), the limit is "
     "{limit}{guard} ({source}).",
     ""},
    {"Nobody has noted a {test}, and the floor has a limit of {limit} for it ({source}).",
     "Make the test and note it."},
    {"The {test} of {date} can't be used: {problems}.", "Make the test again and note it."},
    {"The {test} of {date} gave {value} at the wettest place (U {uncertainty}), above the limit of "
     "{limit}{guard} ({source}).",
     "{drying}"},
    // slab_age
    {"The slab is {age} old, at least {limit} are required ({source}).", ""},
    {"Nobody has entered when the slab was poured; at least {limit} are required ({source}).",
     "Enter the date of the pour."},
    {"The slab is {age} old, less than the {limit} required ({source}).",
     "Wait until {date}, when the slab is old enough."},
    // condensation
    {"Slab surface {channel} at its coldest, {surface}, is {margin} above the dew point {dew} of "
     "the "
     "room air; at least {limit}{guard} are required ({source}).",
     ""},
    {"No probe measures the temperature of the slab surface; it has to stay {limit} above the dew "
     "point ({source}).",
     "Fix a temperature probe to the slab surface and enter its channel."},
    {"Slab surface {channel} and the room air have too few readings in the last {window} for a dew "
     "point margin of {limit} ({source}).",
     "Wait for more readings; if they stay away look at the box."},
    {"The room air at {air} and {rh} gives no dew point to compare slab surface {channel} with; "
     "{limit} are required ({source}).",
     "Look at the room air sensors."},
    {"Slab surface {channel} at its coldest, {surface}, less the dew point {dew} of the room air "
     "leaves {margin}, under the {limit}{guard} required ({source}).",
     "Warm the slab or dry the air before anything is laid."},
    // evidence
    {"Of the time since {from} {share} is unknown, at most {limit} is allowed ({source}); every "
     "sensor used is in calibration.",
     ""},
    {"There is no reading of the room air since the delivery to judge.",
     "Look at the box with the room air sensors: supply, cable, address."},
    {"Box {box} has been silent for {age}, longer than {longest} ({source}); how the room is now "
     "can't be told.",
     "Look at the box: supply, cable, address."},
    {"Box {box} has never reported.", "Look at the box: supply, cable, address."},
    {"No channel of this room measures {role}.", "Enter a channel for it."},
    {"Room air {channel} has given no good value for {age}, longer than {longest} ({source}); its "
     "status is {status}.",
     "Look at the sensor: cable, connector, box."},
    {"The calibration of {channels} ran out on {date}.",
     "Check the sensor against a reference and note the calibration."},
    {"No calibration of {channels} is on record.",
     "Check the sensor against a reference, or enter until when its paper is valid."},
    {"Of the time since {from} {share} is unknown, more than the {limit} allowed ({source}).",
     "Keep the box on the line; known time brings the share down."},
    // site
    {"Noted as met by {by} on {date}{remark}.", ""},
    {"Nobody has noted the answer to: {question}", "Look at the site and note what you found."},
    {"Noted as not met by {by} on {date}{remark}; asked was: {question}",
     "Put it right, look again and note it."},
    {"Still open, as noted by {by} on {date}{remark}.", "{to_do}"},
    // accuracy and guard
    {"Guarded decisions need to know how accurate {channels} is, and nothing says so ({source}).",
     "Enter the accuracy on the sensor's paper in job.json, or calibrate it and note that."},
    {" less {guard} of uncertainty = {rest}", ""},
    {" plus {guard} of uncertainty = {rest}", ""},
    {" The band is drawn in by {temperature} and {rh} at each end for the uncertainty of the "
     "sensors ({decision_source}).",
     ""},
    // what is wrong with a slab test
    {"too few places for this floor, {required} are asked for", ""},
    {"the room was not as in use for at least {required} before", ""},
    {"a dish stood for less than 60 h", ""},
    {"a dish stood for more than 72 h", ""},
    {"a dish gained no mass, so its seal leaked or it was spent", ""},
    {"a hole is not at the depth asked for, {required}", ""},
    {"a probe was read less than {required} after its hole was drilled", ""},
    {"its values are outside what such a test can give", ""},
    // advice
    {"",
     "Let the slab dry, then test again: warm and dry the air, keep it moving, close off new "
     "water."},
    {"",
     "Find where the water comes from (ground, leak, crawl space) and let the wood dry, then test "
     "again."},
    {"", "Heat the room: the cartons follow it, and it is below the band itself."},
    {"", "Give it time; cartons spread out with air between them follow the room sooner."},
    {"", "Keep the room air at {low} to {high} and {rh_low} to {rh_high} for {left} more."},
    {"", "Heat the room: the air was last at {value}, at least {limit} is required."},
    {"", "Cool the room: the air was last at {value}, at most {limit} is allowed."},
    {"", "Humidify the air: it was last at {value}, at least {limit} is required."},
    {"", "Dry the air: it was last at {value}, at most {limit} is allowed."},
    {"", "Restore the readings of the room air: unknown time does not count."},
};
static_assert(std::size(kTemplates) == static_cast<std::size_t>(kLastReasonKey) + 1);

struct Question {
  SiteGate gate;
  std::string_view text;
};
constexpr Question kQuestions[] = {
    {SiteGate::room_kind,
     "Is this a dry room: no bathroom, no sauna, no floor drain, no risk of flooding?"},
    {SiteGate::heating_kind,
     "Is the heating suitable: no electric heating in the floor, and for water heating the floor "
     "supplier's instructions obtained and followed?"},
    {SiteGate::flat, "Is the subfloor flat within {within} mm under a straightedge of {length} m?"},
    {SiteGate::clean, "Is the subfloor clean and free of dust?"},
    {SiteGate::solid, "Is the subfloor solid, with nothing loose, springy or cracked?"},
    {SiteGate::old_glue_removed, "Are old glue, staples and old resilient coverings removed?"},
    {SiteGate::vapour_barrier,
     "Is there a vapour barrier over concrete or over a crawl space, lapped and turned up at the "
     "walls?"},
    {SiteGate::conditioned,
     "Is the building closed, and are heating and ventilation running for good?"},
};

std::string filled(std::string_view text, std::initializer_list<TextArgument> arguments) {
  std::string result;
  while (!text.empty()) {
    const std::size_t open = text.find('{');
    const std::size_t close = text.find('}', open == std::string_view::npos ? 0 : open);
    result += text.substr(0, open);
    if (open == std::string_view::npos || close == std::string_view::npos) {
      break;
    }
    const std::string_view name = text.substr(open + 1, close - open - 1);
    std::string value = "{" + std::string(name) + "}";
    for (const TextArgument& argument : arguments) {
      if (argument.name == name) {
        value = argument.value;
      }
    }
    result += value;
    text.remove_prefix(close + 1);
  }
  return result;
}

}  // namespace

std::string question_of(SiteGate gate, const FlatnessLimit& flatness) {
  for (const Question& question : kQuestions) {
    if (question.gate == gate) {
      return filled(question.text, {{"within", text_as_entered(flatness.within_mm)},
                                    {"length", text_as_entered(flatness.straightedge_m)}});
    }
  }
  return "unknown question";
}

ReasonText text_from(ReasonKey key, std::initializer_list<TextArgument> arguments) {
  const Template& found = kTemplates[static_cast<std::size_t>(key)];
  return {filled(found.reason, arguments), filled(found.action, arguments)};
}

std::string text_from_number(double value, int decimals) {
  std::array<char, 400> buffer{};  // the longest double in fixed notation has 309 digits before '.'
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value,
                                 std::chars_format::fixed, decimals);
  std::string text(buffer.data(), end.ptr);
  if (text.starts_with('-') && text.find_first_not_of("-0.") == std::string::npos) {
    text.erase(0, 1);
  }
  return text;
}

std::string text_as_entered(double value) {
  std::array<char, 32> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value);
  return {buffer.data(), end.ptr};
}

std::string text_from_celsius(base::Celsius value, int decimals) {
  return text_from_number(value.value(), decimals) + " °C";
}
std::string text_from_rh(base::RelativeHumidity value, int decimals) {
  return text_from_number(base::percent_from_rh(value), decimals) + " %RH";
}
std::string text_from_kelvin(base::KelvinDelta value, int decimals) {
  return text_from_number(value.value(), decimals) + " K";
}
std::string text_from_share(double fraction, int decimals) {
  return text_from_number(fraction * 100.0, decimals) + " %";
}
std::string text_from_upper_share(double fraction) {
  constexpr double kTenths = 1000.0;  // of a percent
  return text_from_share(std::max(std::ceil(fraction * kTenths - base::kRoundingTenths), 1.0) /
                         kTenths);
}
std::string text_from_millimetres(base::Metres value, int decimals) {
  return text_from_number(value.value() * 1000.0, decimals) + " mm";
}
std::string text_from_small_length(base::Metres value, bool imperial) {
  constexpr double kMetresPerInch = 0.0254;
  return imperial ? text_from_number(value.value() / kMetresPerInch, 2) + " in"
                  : text_from_millimetres(value, 1);
}
std::string text_from_whole_hours(base::Micros value) {
  return text_from_number(base::hours_from(value), 0) + " h";
}
std::string text_from_days(base::Micros value) {
  return text_from_number(std::floor(base::hours_from(value) / 2.4 + base::kRoundingTenths) /
                          10.0) +
         " days";
}
std::string text_from_hours_done(double hours) {
  return text_from_number(base::shown_hours_done(hours)) + " h";
}
std::string text_from_hours_left(double hours) {
  return text_from_number(base::shown_hours_left(hours)) + " h";
}
std::string text_from_date(base::UtcMicros at) { return base::rfc3339_from_utc(at).substr(0, 10); }

std::string text_from_age(const std::optional<base::SeriesPoint>& last_good, base::UtcMicros now) {
  return last_good ? base::text_from_duration(now - last_good->at) : "as long as is recorded here";
}

int decimals_between(double value, double limit) {
  constexpr int kMostDecimals = 3;
  int decimals = 1;
  while (decimals < kMostDecimals &&
         text_from_number(value, decimals) == text_from_number(limit, decimals)) {
    ++decimals;
  }
  return decimals;
}

}  // namespace analysis::readiness
