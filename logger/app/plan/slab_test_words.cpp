// Where, how deep and when the slab is tested, in words.
#include <cmath>
#include <functional>

#include "analysis/base/day_end.hpp"
#include "analysis/readiness/reason_texts.hpp"
#include "analysis/readiness/slab/test_times.hpp"
#include "logger/app/plan/plan_words.hpp"
#include "logger/app/text/listed.hpp"

namespace logger::app {

using analysis::base::Metres;
using analysis::plan::SlabPlace;
using analysis::readiness::SlabRequirements;

namespace {

// Depths are drilled to the millimetre, whatever units people read.
std::string depth_text(Metres depth, bool imperial) {
  const std::string millimetres = analysis::readiness::text_from_millimetres(depth);
  return imperial ? analysis::readiness::text_from_small_length(depth, imperial) + " (" +
                        millimetres + ")"
                  : millimetres;
}

// Nobody sets out a hole to the millimetre.
Metres to_centimetres(Metres length) { return Metres{std::round(length.value() * 100.0) / 100.0}; }

std::string place_text(const SlabPlace& place, bool imperial) {
  std::string text;
  for (const auto& wall : place.walls) {
    text += (text.empty() ? "" : ", ") + plan_length_text(to_centimetres(wall.distance), imperial) +
            " from wall " + std::to_string(wall.from_corner) + "-" + std::to_string(wall.to_corner);
  }
  return text;
}

std::string places_text(const SlabTestsPlan& plan, bool imperial) {
  const std::size_t count = plan.places.places.size();
  std::string text = std::to_string(count) + (count == 1 ? " place" : " places");
  if (plan.by_job) {
    return text + ", as job.json asks (probes_at_least)";
  }
  const std::string area = imperial ? "1000 ft²" : "93 m²";
  text += ": 3 for the first " + area + " and 1 for each " + area +
          " more or part of it (ASTM F2170-09 by a secondary summary)";
  if (plan.shared_with.empty()) {
    return text;
  }
  text += ", " + std::to_string(plan.whole_slab) + " over the whole slab, shared by area with " +
          listed(plan.shared_with, std::identity{}) + " (poured on the same day)";
  if (count < plan.by_area) {
    text += "; say probes_at_least " + std::to_string(count) +
            " in job.json, else this room alone is asked for " + std::to_string(plan.by_area);
  }
  return text;
}

std::string depth_sentence(const SlabTestsPlan& plan, const JobRoom& room, bool imperial) {
  if (!plan.depth) {
    return "0.4 of the thickness where the slab dries from one face, 0.2 where from both; job.json "
           "does not tell the thickness (rooms[].slab_build.thickness_mm)";
  }
  const bool both = room.slab_build->two_sided;
  return depth_text(*plan.depth, imperial) + ": " + (both ? "0.2" : "0.4") + " of " +
         depth_text(room.slab_build->thickness, imperial) + ", since the slab dries from " +
         (both ? "both faces" : "one face");
}

// To the day.
std::string old_enough_text(analysis::base::UtcMicros at) {
  return (analysis::base::is_day_end(at) ? "the end of " : "") +
         analysis::readiness::text_from_date(at);
}

std::string time_sentence(const JobRoom& room) {
  using analysis::readiness::text_from_whole_hours;
  const SlabRequirements& slab = *room.requirements.slab;
  const auto rules = analysis::readiness::rh_test_rules_from(slab);
  const analysis::readiness::DishTestRules dish;
  std::string text = "the room as in use for " + text_from_whole_hours(rules.service_conditions) +
                     " before; probes " + text_from_whole_hours(rules.equilibration) +
                     " after drilling or later, the sleeves closed (" + slab.settle.source +
                     "); dishes after " + text_from_whole_hours(dish.shortest_exposure) + " to " +
                     text_from_whole_hours(dish.longest_exposure);
  if (room.slab_poured_at) {
    text += "; the slab is old enough for the floor from " +
            old_enough_text(*room.slab_poured_at + slab.minimum_age.value) + " on (" +
            slab.minimum_age.source + ")";
  }
  return text;
}

}  // namespace

std::vector<PlanWords> slab_test_words(const PlannedRoom& planned, bool imperial) {
  if (!planned.slab_tests) {
    return {};
  }
  const SlabTestsPlan& plan = *planned.slab_tests;
  const JobRoom& room = *planned.room;
  if (!plan.no_places_because.empty()) {
    return {{"Slab tests", "no places: " + plan.no_places_because}};
  }
  std::vector<PlanWords> lines{{"Slab tests", places_text(plan, imperial)}};
  for (std::size_t i = 0; i < plan.places.places.size(); ++i) {
    lines.push_back({"T" + std::to_string(i + 1), place_text(plan.places.places[i], imperial)});
  }
  for (const std::string& remark : plan.places.remarks) {
    lines.push_back({"Mind", remark});
  }
  lines.push_back({"Depth", depth_sentence(plan, room, imperial)});
  lines.push_back({"When", time_sentence(room)});
  if (plan.carbide_samples) {
    lines.push_back({"Carbide", std::to_string(*plan.carbide_samples) +
                                    " samples of a screed without heating, " +
                                    std::to_string(*plan.carbide_samples_heated) +
                                    " at marked places of a heated one (common practice)"});
  }
  lines.push_back({"Caution",
                   "locate heating pipes, cables and tensioned tendons before drilling: the plan "
                   "knows none of them; drilling makes silica dust, a carbide test flammable gas; "
                   "old floors and black adhesive may hold asbestos, test them first"});
  return lines;
}

}  // namespace logger::app
