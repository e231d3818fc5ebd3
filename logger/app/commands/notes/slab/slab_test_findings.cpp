#include "logger/app/commands/notes/slab/slab_test_findings.hpp"

#include <algorithm>
#include <optional>

#include "analysis/readiness/gates/gates.hpp"
#include "analysis/readiness/reason_texts.hpp"
#include "analysis/readiness/slab/test_times.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

using analysis::base::hours_from;
using analysis::base::Micros;
using analysis::base::UtcMicros;
using analysis::readiness::SlabRequirements;
using analysis::readiness::SubfloorTests;
using analysis::readiness::text_from_hours_done;
using analysis::readiness::text_from_millimetres;
using analysis::readiness::text_from_number;
using analysis::readiness::text_from_whole_hours;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

using Sentences = std::vector<std::string>;
namespace readiness = analysis::readiness;

constexpr const char* kKeep = "; --as-found keeps it as not counting";

// To the minute, never earlier.
std::string minute_from(UtcMicros at) {
  constexpr Micros kMinute{60'000'000};
  return analysis::base::minute_text_from_utc(at + (kMinute - Micros{1}));
}

// Dishes and probes alike: the room was as in use for long enough before.
Result<void> check_service(Micros held, Micros asked, UtcMicros at) {
  if (held >= asked) {
    return {};
  }
  return failure(ErrorCode::invalid_input,
                 "--service-hours " + text_from_hours_done(hours_from(held)) +
                     ": the room has to be as in use for " + text_from_whole_hours(asked) +
                     " before the test; not before " + minute_from(at + (asked - held)) + kKeep);
}

Result<void> check_probe_times(const readiness::RhTestNote& note,
                               const readiness::RhTestRules& rules, const std::string& source) {
  const Micros waited = note.test.places.front().equilibrated_for;
  if (waited < rules.equilibration) {
    return failure(ErrorCode::invalid_input,
                   "read " + text_from_hours_done(hours_from(waited)) +
                       " after drilling; expected " + text_from_whole_hours(rules.equilibration) +
                       " or more in the closed sleeve (" + source + "): may be read from " +
                       minute_from(note.at - waited + rules.equilibration) + kKeep);
  }
  return check_service(note.test.service_conditions_held, rules.service_conditions, note.at);
}

Result<void> check_dish_times(const readiness::DishTestNote& note) {
  const readiness::DishTestRules rules;
  for (const readiness::DishTest& dish : note.survey.dishes) {
    const bool early = dish.exposure < rules.shortest_exposure;
    if (early || dish.exposure > rules.longest_exposure) {
      return failure(ErrorCode::invalid_input,
                     "a dish stood for " + text_from_hours_done(hours_from(dish.exposure)) +
                         "; expected " + text_from_whole_hours(rules.shortest_exposure) + " to " +
                         text_from_whole_hours(rules.longest_exposure) +
                         (early ? ": may be weighed from " +
                                      minute_from(note.at - dish.exposure + rules.shortest_exposure)
                                : std::string(": too late, set a fresh dish")) +
                         kKeep);
    }
  }
  return check_service(note.survey.service_conditions_held, rules.service_conditions, note.at);
}

// No dish stood longer than since they were set, which may have been noted a little late.
Result<void> check_dish_begun(const readiness::DishTestNote& note,
                              const std::vector<readiness::TestBegun>& begun) {
  constexpr Micros kNotedLate = analysis::base::micros_from_hours(2);
  for (const readiness::TestBegun& test : begun) {
    for (const readiness::DishTest& dish : note.survey.dishes) {
      if (test.test == readiness::TimedTest::dish &&
          dish.exposure > note.at - test.at + kNotedLate) {
        return failure(ErrorCode::invalid_input,
                       "a dish stood for " + text_from_hours_done(hours_from(dish.exposure)) +
                           ", but the dishes were noted as set " + minute_from(test.at) + ", " +
                           text_from_hours_done(hours_from(note.at - test.at)) + " before");
      }
    }
  }
  return {};
}

Sentences probe_lines(const readiness::RhTestNote& note) {
  const auto depth =
      readiness::rh_test_depth_from(note.test.thickness, note.test.dries_from_both_faces);
  Sentences lines;
  if (depth) {
    lines.push_back(std::string("depth asked for: ") +
                    (note.test.dries_from_both_faces ? "0.2" : "0.4") + " x " +
                    text_from_millimetres(note.test.thickness) + " = " +
                    text_from_millimetres(depth.value()) + ", since the slab dries from " +
                    (note.test.dries_from_both_faces ? "both faces" : "one face"));
  }
  for (const readiness::RhTestPlace& place : note.test.places) {
    lines.push_back("at " + text_from_millimetres(place.depth) + ": " +
                    text_from_number(analysis::base::percent_from_rh(place.rh)) + " %RH" +
                    (place.slab ? " at " + readiness::text_from_celsius(*place.slab) : "") +
                    ", read " + text_from_hours_done(hours_from(place.equilibrated_for)) +
                    " after drilling");
  }
  return lines;
}

Sentences dish_lines(const readiness::DishTestNote& note) {
  Sentences lines;
  for (const readiness::DishTest& dish : note.survey.dishes) {
    const auto rate = readiness::emission_rate_from(dish);
    if (!rate) {
      continue;
    }
    lines.push_back(
        text_from_number(dish.mass_gain.value() * 1000.0, 2) + " g / (" +
        text_from_number(dish.covered_area.value(), 4) + " m² x " +
        text_from_hours_done(hours_from(dish.exposure)) +
        ") = " + text_from_number(readiness::grams_per_square_metre_day_from(rate.value())) +
        " g/m² in 24 h = " +
        text_from_number(readiness::pounds_per_1000_square_feet_day_from(rate.value())) +
        " lb/1000 ft² in 24 h");
  }
  return lines;
}

// The gate's own sentence, from this test alone.
std::string meaning_of(const JobRoom& room, const SubfloorTests& tests) {
  readiness::RoomEvidence evidence;
  evidence.subfloor_tests = tests;
  const auto& r = room.requirements;
  const auto gate = tests.rh     ? readiness::gates::slab_gate(r, evidence)
                    : tests.dish ? readiness::gates::slab_emission_gate(r, evidence)
                                 : readiness::gates::slab_carbide_gate(r, evidence);
  if (gate) {
    return gate->id + ": " + std::string(name_of(gate->state)) + ". " + gate->reason;
  }
  return "job.json sets no limit for it (rooms[].requirements.slab" +
         std::string(tests.dish      ? ".emission_high_g_per_m2_day"
                     : tests.carbide ? ".carbide_high_percent"
                                     : "") +
         "), so it is not judged";
}

}  // namespace

Result<Sentences> slab_test_findings_from(const store::Note& note, const JobRoom& room,
                                          const std::vector<readiness::TestBegun>& begun,
                                          bool as_found) {
  const SubfloorTests tests = room_notes_from({{note}, {}}, room).subfloor_tests;
  const SlabRequirements slab = room.requirements.slab.value_or(SlabRequirements{});
  Sentences lines;
  Result<void> read_in_time;
  if (tests.rh) {
    read_in_time =
        check_probe_times(*tests.rh, readiness::rh_test_rules_from(slab), slab.settle.source);
    lines = probe_lines(*tests.rh);
  } else if (tests.dish) {
    if (const auto possible = check_dish_begun(*tests.dish, begun); !possible) {
      return store::Failure{possible.error()};
    }
    read_in_time = check_dish_times(*tests.dish);
    lines = dish_lines(*tests.dish);
  } else if (!tests.carbide) {
    return lines;
  }
  if (!read_in_time && !as_found) {
    return store::Failure{read_in_time.error()};
  }
  lines.push_back(meaning_of(room, tests));
  return lines;
}

}  // namespace logger::app
