#include "logger/app/commands/notes/note_contents.hpp"

#include <nlohmann/json.hpp>
#include <string_view>
#include <utility>

#include "analysis/physics/salt_humidity.hpp"
#include "logger/app/commands/notes/note_values.hpp"

namespace logger::app {

using analysis::base::Celsius;
using analysis::base::rh_from_percent;
using analysis::physics::Salt;
using analysis::readiness::FixedPoint;
using analysis::readiness::TwoPointCalibration;
using nlohmann::json;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

struct SaltName {
  std::string_view name;
  Salt salt;
};
constexpr SaltName kSalts[] = {
    {"LiCl", Salt::lithium_chloride},      {"MgCl2", Salt::magnesium_chloride},
    {"Mg(NO3)2", Salt::magnesium_nitrate}, {"NaCl", Salt::sodium_chloride},
    {"KCl", Salt::potassium_chloride},     {"K2SO4", Salt::potassium_sulfate}};

constexpr NoteRange kCartonTemperature{"temperature", "°C", -40.0, 60.0};
constexpr NoteRange kWoodShown{"moisture shown", "%", 6.0, 25.0};
constexpr NoteRange kWoodTemperature{"temperature of the wood", "°C", -10.0, 40.0};
constexpr NoteRange kSpeciesSlope{"slope", "% per %", 0.3, 3.0};
constexpr NoteRange kSpeciesOffset{"offset", "%", -10.0, 10.0};
constexpr NoteRange kShown{"humidity shown", "%RH", 0.0, 100.0};
constexpr NoteRange kSaltTemperature{"temperature of the salt", "°C", 5.0, 50.0};
constexpr NoteRange kSpread{"spread of the reading", "%RH", 0.0, 5.0};

// What the sensor shows over a salt is trusted to this when no spread is given. Our assumption.
constexpr double kDefaultSpreadPercent = 0.2;

Result<std::pair<double, double>> pair_from(const std::string& option, std::string_view text,
                                            const NoteRange& first, const NoteRange& second) {
  const auto parts = note_parts(text);
  if (parts.size() != 2) {
    return failure(ErrorCode::invalid_input, option + ": expected two numbers, the " + first.name +
                                                 " in " + first.unit + " and the " + second.name +
                                                 " in " + second.unit + ", with a comma between");
  }
  const auto one = note_number(option, parts[0], first);
  const auto other = note_number(option, parts[1], second);
  if (!one || !other) {
    return store::Failure{!one ? one.error() : other.error()};
  }
  return std::pair{one.value(), other.value()};
}

Result<FixedPoint> fixed_point_from(const std::string& text) {
  const std::string option = "--fixed-point " + text;
  const auto parts = note_parts(text);
  if (parts.size() != 3 && parts.size() != 4) {
    return failure(ErrorCode::invalid_input,
                   option + ": expected SALT,SHOWN_PERCENT,CELSIUS, such as NaCl,74.1,21.5");
  }
  const SaltName* salt = nullptr;
  for (const SaltName& known : kSalts) {
    salt = known.name == parts[0] ? &known : salt;
  }
  if (salt == nullptr) {
    return failure(ErrorCode::invalid_input, option + ": `" + std::string(parts[0]) +
                                                 "` is no salt known here; expected one of " +
                                                 salt_names());
  }
  const auto shown = note_number(option, parts[1], kShown);
  const auto celsius = note_number(option, parts[2], kSaltTemperature);
  const auto spread = parts.size() == 4 ? note_number(option, parts[3], kSpread)
                                        : Result<double>(kDefaultSpreadPercent);
  for (const auto* part : {&shown, &celsius, &spread}) {
    if (!*part) {
      return store::Failure{part->error()};
    }
  }
  const auto point = analysis::physics::salt_point_at(salt->salt, Celsius{celsius.value()});
  if (!point) {
    return failure(ErrorCode::invalid_input,
                   option + ": nothing is published for that salt at that temperature");
  }
  return FixedPoint{point.value().rh, point.value().expanded_uncertainty,
                    rh_from_percent(shown.value()), rh_from_percent(spread.value())};
}

}  // namespace

std::string salt_names() {
  std::string names;
  for (const SaltName& known : kSalts) {
    names += (names.empty() ? "" : ", ") + std::string(known.name);
  }
  return names;
}

Result<json> delivery_content_from(const NoteOptions& options) {
  json content{{"remark", options.remark}};
  if (options.carton_celsius) {
    const auto celsius =
        checked_note_value("--carton-celsius", *options.carton_celsius, kCartonTemperature);
    if (!celsius) {
      return store::Failure{celsius.error()};
    }
    content["carton_celsius"] = celsius.value();
  }
  return content;
}

Result<json> wood_test_content_from(const NoteOptions& options) {
  if (options.wood_readings.empty()) {
    return failure(ErrorCode::invalid_input,
                   "a wood-test needs --wood SHOWN,CELSIUS for each place, such as 11.5,16");
  }
  json readings = json::array();
  for (const std::string& text : options.wood_readings) {
    const auto pair = pair_from("--wood " + text, text, kWoodShown, kWoodTemperature);
    if (!pair) {
      return store::Failure{pair.error()};
    }
    readings.push_back(
        {{"shown_percent", pair.value().first}, {"wood_celsius", pair.value().second}});
  }
  json content{{"readings", readings},
               {"meter_compensates", options.meter_compensates},
               {"remark", options.remark}};
  if (!options.species.empty()) {
    const auto species =
        pair_from("--species " + options.species, options.species, kSpeciesSlope, kSpeciesOffset);
    if (!species) {
      return store::Failure{species.error()};
    }
    content["species_slope"] = species.value().first;
    content["species_offset_percent"] = species.value().second;
  }
  return content;
}

Result<TwoPointCalibration> fixed_point_calibration_from(const NoteOptions& options) {
  if (options.fixed_points.size() != 2) {
    return failure(ErrorCode::invalid_input,
                   "--fixed-point is given " + std::to_string(options.fixed_points.size()) +
                       " times; expected two salts, one below and one above the humidity in use");
  }
  const auto one = fixed_point_from(options.fixed_points[0]);
  const auto other = fixed_point_from(options.fixed_points[1]);
  if (!one || !other) {
    return store::Failure{!one ? one.error() : other.error()};
  }
  const auto found = analysis::readiness::calibration_from_fixed_points(one.value(), other.value());
  if (found) {
    return found.value();
  }
  return failure(ErrorCode::invalid_input,
                 found.error() == analysis::readiness::CalibrationFault::points_too_close
                     ? "the two --fixed-point lie less than 20 %RH apart"
                     : "the two --fixed-point give a gain outside 0.5 to 2: the salts may be "
                       "swapped, or the sensor is lost");
}

}  // namespace logger::app
