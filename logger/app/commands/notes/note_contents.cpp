#include "logger/app/commands/notes/note_contents.hpp"

#include <array>
#include <charconv>
#include <nlohmann/json.hpp>
#include <string_view>
#include <utility>

#include "analysis/physics/salt_humidity.hpp"
#include "analysis/readiness/reason_texts.hpp"

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

// A number that may be typed for an option, with the unit that the refusal names.
struct Range {
  const char* name;
  const char* unit;
  double low;
  double high;
};

std::vector<std::string_view> parts_of(std::string_view text) {
  std::vector<std::string_view> parts;
  while (true) {
    const std::size_t comma = text.find(',');
    parts.push_back(text.substr(0, comma));
    if (comma == std::string_view::npos) {
      return parts;
    }
    text.remove_prefix(comma + 1);
  }
}

Result<double> checked(const std::string& option, double value, const Range& range) {
  if (value >= range.low && value <= range.high) {
    return value;
  }
  using analysis::readiness::text_from_number;
  return failure(ErrorCode::invalid_input,
                 option + ": " + range.name + " " + text_from_number(value, 4) + " " + range.unit +
                     "; expected " + text_from_number(range.low, 4) + " to " +
                     text_from_number(range.high, 4) + " " + range.unit);
}

Result<double> number_from(const std::string& option, std::string_view text, const Range& range) {
  double value = 0.0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (fault != std::errc() || end != text.data() + text.size()) {
    return failure(ErrorCode::invalid_input, option + ": `" + std::string(text) +
                                                 "` is no number; expected the " + range.name +
                                                 " in " + range.unit);
  }
  return checked(option, value, range);
}

constexpr Range kCartonTemperature{"temperature", "°C", -40.0, 60.0};
constexpr Range kMassGain{"mass gained", "g", -5.0, 100.0};
constexpr Range kDishArea{"covered area", "m²", 0.001, 1.0};
constexpr Range kExposure{"exposure", "h", 1.0, 500.0};
constexpr Range kServiceTime{"time", "h", 0.0, 100000.0};
constexpr Range kCarbide{"sample", "CM-%", 0.0, 15.0};
constexpr Range kWoodShown{"moisture shown", "%", 6.0, 25.0};
constexpr Range kWoodTemperature{"temperature of the wood", "°C", -10.0, 40.0};
constexpr Range kSpeciesSlope{"slope", "% per %", 0.3, 3.0};
constexpr Range kSpeciesOffset{"offset", "%", -10.0, 10.0};
constexpr Range kShown{"humidity shown", "%RH", 0.0, 100.0};
constexpr Range kSaltTemperature{"temperature of the salt", "°C", 5.0, 50.0};
constexpr Range kSpread{"spread of the reading", "%RH", 0.0, 5.0};

// What the sensor shows over a salt is trusted to this when no spread is given. Our assumption.
constexpr double kDefaultSpreadPercent = 0.2;

Result<json> dish_from(const std::string& text) {
  const std::string option = "--dish " + text;
  const auto parts = parts_of(text);
  if (parts.size() != 3) {
    return failure(ErrorCode::invalid_input,
                   option + ": expected GAIN,AREA,HOURS in g, m² and h, such as 6.0,0.0427,66");
  }
  const auto gain = number_from(option, parts[0], kMassGain);
  const auto area = number_from(option, parts[1], kDishArea);
  const auto hours = number_from(option, parts[2], kExposure);
  for (const auto* part : {&gain, &area, &hours}) {
    if (!*part) {
      return store::Failure{part->error()};
    }
  }
  return json{
      {"mass_gain_g", gain.value()}, {"area_m2", area.value()}, {"exposure_hours", hours.value()}};
}

Result<std::pair<double, double>> pair_from(const std::string& option, std::string_view text,
                                            const Range& first, const Range& second) {
  const auto parts = parts_of(text);
  if (parts.size() != 2) {
    return failure(ErrorCode::invalid_input, option + ": expected two numbers, the " + first.name +
                                                 " in " + first.unit + " and the " + second.name +
                                                 " in " + second.unit + ", with a comma between");
  }
  const auto one = number_from(option, parts[0], first);
  const auto other = number_from(option, parts[1], second);
  if (!one || !other) {
    return store::Failure{!one ? one.error() : other.error()};
  }
  return std::pair{one.value(), other.value()};
}

Result<FixedPoint> fixed_point_from(const std::string& text) {
  const std::string option = "--fixed-point " + text;
  const auto parts = parts_of(text);
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
  const auto shown = number_from(option, parts[1], kShown);
  const auto celsius = number_from(option, parts[2], kSaltTemperature);
  const auto spread = parts.size() == 4 ? number_from(option, parts[3], kSpread)
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
    const auto celsius = checked("--carton-celsius", *options.carton_celsius, kCartonTemperature);
    if (!celsius) {
      return store::Failure{celsius.error()};
    }
    content["carton_celsius"] = celsius.value();
  }
  return content;
}

Result<json> dish_test_content_from(const NoteOptions& options) {
  if (options.dishes.empty() || !options.service_hours) {
    return failure(ErrorCode::invalid_input,
                   "a dish-test needs --dish GAIN,AREA,HOURS for each dish and --service-hours");
  }
  const auto service = checked("--service-hours", *options.service_hours, kServiceTime);
  if (!service) {
    return store::Failure{service.error()};
  }
  json dishes = json::array();
  for (const std::string& text : options.dishes) {
    auto dish = dish_from(text);
    if (!dish) {
      return dish;
    }
    dishes.push_back(std::move(dish).value());
  }
  return json{{"dishes", dishes}, {"service_hours", service.value()}, {"remark", options.remark}};
}

Result<json> carbide_test_content_from(const NoteOptions& options) {
  if (options.samples_cm_percent.empty()) {
    return failure(ErrorCode::invalid_input,
                   "a carbide-test needs --sample CM_PERCENT for each sample");
  }
  for (const double sample : options.samples_cm_percent) {
    if (const auto fine = checked("--sample", sample, kCarbide); !fine) {
      return store::Failure{fine.error()};
    }
  }
  return json{{"samples_percent", options.samples_cm_percent},
              {"heated", options.heated},
              {"remark", options.remark}};
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
