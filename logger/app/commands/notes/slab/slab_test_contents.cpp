#include "logger/app/commands/notes/slab/slab_test_contents.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "analysis/base/day_end.hpp"
#include "analysis/base/time.hpp"
#include "analysis/readiness/reason_texts.hpp"
#include "analysis/readiness/slab/test_times.hpp"
#include "logger/app/commands/notes/note_values.hpp"

namespace logger::app {

using nlohmann::json;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr NoteRange kMassGain{"mass gained", "g", -5.0, 100.0};
constexpr NoteRange kDishArea{"covered area", "m²", 0.001, 1.0};
constexpr NoteRange kExposure{"exposure", "h", 1.0, 500.0};
constexpr NoteRange kServiceTime{"time", "h", 0.0, 100000.0};
constexpr NoteRange kCarbide{"sample", "CM-%", 0.0, 15.0};
constexpr NoteRange kHoleDepth{"depth of the hole", "mm", 1.0, 1000.0};
constexpr NoteRange kProbeShown{"humidity shown", "%RH", 1.0, 105.0};
constexpr NoteRange kProbeTemperature{"temperature shown", "°C", -10.0, 60.0};
constexpr NoteRange kThickness{"thickness of the slab", "mm", 20.0, 1000.0};

constexpr double kMillimetresInMetre = 1000.0;
constexpr double kThicknessApartMm = 0.5;  // of --thickness and job.json: rounding

Result<json> dish_from(const std::string& text) {
  const std::string option = "--dish " + text;
  const auto parts = note_parts(text);
  if (parts.size() != 3) {
    return failure(ErrorCode::invalid_input,
                   option + ": expected GAIN,AREA,HOURS in g, m² and h, such as 6.0,0.0427,66");
  }
  const auto gain = note_number(option, parts[0], kMassGain);
  const auto area = note_number(option, parts[1], kDishArea);
  const auto hours = note_number(option, parts[2], kExposure);
  for (const auto* part : {&gain, &area, &hours}) {
    if (!*part) {
      return store::Failure{part->error()};
    }
  }
  return json{
      {"mass_gain_g", gain.value()}, {"area_m2", area.value()}, {"exposure_hours", hours.value()}};
}

Result<json> hole_from(const std::string& text) {
  const std::string option = "--hole " + text;
  const auto parts = note_parts(text);
  if (parts.size() != 2 && parts.size() != 3) {
    return failure(ErrorCode::invalid_input,
                   option +
                       ": expected DEPTH,RH or DEPTH,RH,CELSIUS in mm, %RH and °C, such as "
                       "40,74.5,19.5");
  }
  const auto depth = note_number(option, parts[0], kHoleDepth);
  const auto rh = note_number(option, parts[1], kProbeShown);
  const auto celsius =
      parts.size() == 3 ? note_number(option, parts[2], kProbeTemperature) : Result<double>(0.0);
  for (const auto* part : {&depth, &rh, &celsius}) {
    if (!*part) {
      return store::Failure{part->error()};
    }
  }
  json hole{{"depth_mm", depth.value()}, {"rh_percent", rh.value()}};
  if (parts.size() == 3) {
    hole["slab_celsius"] = celsius.value();
  }
  return hole;
}

// One entry for each typed option; the first that is not in order refuses.
Result<json> list_from(const std::vector<std::string>& texts,
                       Result<json> (*one_from)(const std::string&)) {
  json list = json::array();
  for (const std::string& text : texts) {
    auto one = one_from(text);
    if (!one) {
      return one;
    }
    list.push_back(std::move(one).value());
  }
  return list;
}

Result<double> service_hours_from(const NoteOptions& options) {
  return checked_note_value("--service-hours", *options.service_hours, kServiceTime);
}

void add_as_found(json& content, const NoteOptions& options) {
  if (options.as_found) {
    content["as_found"] = true;
  }
}

Result<UtcMicros> drilled_at_from(const NoteOptions& options, const RhTestSite& site) {
  const auto typed = moment_from_option("--drilled", options.drilled);
  if (!typed) {
    return store::Failure{typed.error()};
  }
  const auto drilled = typed.value() ? typed.value() : site.sleeves_noted_at;
  if (!drilled) {
    return failure(
        ErrorCode::invalid_input,
        "an rh-test needs --drilled, when the holes were drilled and the sleeves closed, "
        "or an earlier note test-begun rh");
  }
  if (*drilled > site.read_at) {
    return failure(ErrorCode::invalid_input, "--drilled " +
                                                 analysis::base::rfc3339_from_utc(*drilled) +
                                                 " is after the reading at " +
                                                 analysis::base::rfc3339_from_utc(site.read_at));
  }
  if (site.slab_poured_at && *drilled < *site.slab_poured_at) {
    return failure(ErrorCode::invalid_input,
                   "--drilled " + analysis::base::rfc3339_from_utc(*drilled) +
                       " is before the slab was poured (slab_poured_at of job.json, " +
                       analysis::base::day_or_minute_text(*site.slab_poured_at) + ")");
  }
  if (site.sleeves_noted_at && *drilled < *site.sleeves_noted_at) {
    return failure(ErrorCode::invalid_input,
                   "--drilled " + analysis::base::rfc3339_from_utc(*drilled) +
                       " is before the drilling as noted (test-begun rh), " +
                       analysis::base::rfc3339_from_utc(*site.sleeves_noted_at) +
                       "; leave it out, or note test-begun rh anew where that is wrong");
  }
  return *drilled;
}

Result<void> check_depths(const json& holes, double thickness_mm) {
  for (const json& hole : holes) {
    const double depth_mm = hole.value("depth_mm", 0.0);
    if (depth_mm >= thickness_mm) {
      using analysis::readiness::text_from_number;
      return failure(ErrorCode::invalid_input, "--hole: a depth of " + text_from_number(depth_mm) +
                                                   " mm; the slab is " +
                                                   text_from_number(thickness_mm) + " mm thick");
    }
  }
  return {};
}

}  // namespace

Result<json> dish_test_content_from(const NoteOptions& options) {
  if (options.dishes.empty() || !options.service_hours) {
    return failure(ErrorCode::invalid_input,
                   "a dish-test needs --dish GAIN,AREA,HOURS for each dish and --service-hours");
  }
  const auto service = service_hours_from(options);
  const auto dishes = list_from(options.dishes, dish_from);
  if (!service || !dishes) {
    return store::Failure{!service ? service.error() : dishes.error()};
  }
  json content{
      {"dishes", dishes.value()}, {"service_hours", service.value()}, {"remark", options.remark}};
  add_as_found(content, options);
  return content;
}

Result<json> carbide_test_content_from(const NoteOptions& options) {
  if (options.samples_cm_percent.empty()) {
    return failure(ErrorCode::invalid_input,
                   "a carbide-test needs --sample CM_PERCENT for each sample");
  }
  for (const double sample : options.samples_cm_percent) {
    if (const auto fine = checked_note_value("--sample", sample, kCarbide); !fine) {
      return store::Failure{fine.error()};
    }
  }
  return json{{"samples_percent", options.samples_cm_percent},
              {"heated", options.heated},
              {"remark", options.remark}};
}

Result<json> test_begun_content_from(const NoteOptions& options) {
  if (!analysis::readiness::timed_test_from_name(options.subject)) {
    return failure(ErrorCode::invalid_input,
                   "test-begun: `" + options.subject +
                       "`; expected rh (sleeves drilled and closed) or dish (dishes set)");
  }
  return json{{"test", options.subject}, {"remark", options.remark}};
}

Result<json> rh_test_content_from(const NoteOptions& options, const RhTestSite& site) {
  if (options.holes.empty() || !options.service_hours) {
    return failure(ErrorCode::invalid_input,
                   "an rh-test needs --hole DEPTH,RH[,CELSIUS] for each hole and --service-hours");
  }
  if (!options.thickness_mm && !site.slab_build) {
    return failure(ErrorCode::invalid_input,
                   "an rh-test needs --thickness in mm, or rooms[].slab_build.thickness_mm in "
                   "job.json");
  }
  if (options.thickness_mm && site.slab_build) {
    const double built_mm = site.slab_build->thickness.value() * kMillimetresInMetre;
    if (std::abs(*options.thickness_mm - built_mm) > kThicknessApartMm) {
      using analysis::readiness::text_from_number;
      return failure(ErrorCode::invalid_input,
                     "--thickness " + text_from_number(*options.thickness_mm) +
                         " mm: slab_build.thickness_mm in job.json is " +
                         text_from_number(built_mm) + " mm; leave it out, or mend job.json");
    }
  }
  const auto thickness = checked_note_value(
      "--thickness",
      options.thickness_mm ? *options.thickness_mm
                           : site.slab_build->thickness.value() * kMillimetresInMetre,
      kThickness);
  const auto service = service_hours_from(options);
  const auto holes = list_from(options.holes, hole_from);
  const auto drilled = drilled_at_from(options, site);
  if (!thickness || !service) {
    return store::Failure{!thickness ? thickness.error() : service.error()};
  }
  if (!holes || !drilled) {
    return store::Failure{!holes ? holes.error() : drilled.error()};
  }
  if (const auto inside = check_depths(holes.value(), thickness.value()); !inside) {
    return store::Failure{inside.error()};
  }
  json content{
      {"holes", holes.value()},
      {"drilled_at_utc", analysis::base::rfc3339_from_utc(drilled.value())},
      {"thickness_mm", thickness.value()},
      {"both_faces", options.both_faces || (site.slab_build && site.slab_build->two_sided)},
      {"service_hours", service.value()},
      {"remark", options.remark}};
  add_as_found(content, options);
  return content;
}

}  // namespace logger::app
