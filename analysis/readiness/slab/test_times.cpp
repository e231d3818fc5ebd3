#include "analysis/readiness/slab/test_times.hpp"

#include <algorithm>

#include "analysis/base/day_end.hpp"
#include "analysis/readiness/reason_texts.hpp"

namespace analysis::readiness {

RhTestRules rh_test_rules_from(const SlabRequirements& slab) {
  RhTestRules rules;
  rules.equilibration = slab.settle.value;
  if (slab.service_conditions) {
    rules.service_conditions = slab.service_conditions->value;
  }
  return rules;
}

std::optional<std::size_t> places_asked_from(const SlabRequirements& slab) {
  return slab.probes_at_least ? std::optional(static_cast<std::size_t>(slab.probes_at_least->value))
                              : std::nullopt;
}

std::string_view name_of(TimedTest test) { return test == TimedTest::rh ? "rh" : "dish"; }

std::optional<TimedTest> timed_test_from_name(std::string_view name) {
  for (const TimedTest test : {TimedTest::rh, TimedTest::dish}) {
    if (name == name_of(test)) {
      return test;
    }
  }
  return std::nullopt;
}

ReadTime read_time_from(const TestBegun& begun, const SlabRequirements& slab,
                        const SiteTimes& site) {
  ReadTime time;
  if (begun.test == TimedTest::rh) {
    const RhTestRules rules = rh_test_rules_from(slab);
    time.earliest = begun.at + rules.equilibration;
    time.because.push_back(text_from_whole_hours(rules.equilibration) + " in closed sleeves (" +
                           slab.settle.source + ")");
    const Micros missing =
        std::max(Micros{0}, rules.service_conditions - std::max(Micros{0}, site.as_in_use_for));
    if (site.now + missing > time.earliest) {
      time.earliest = site.now + missing;
      time.because.push_back(
          "the room as in use for " + text_from_whole_hours(rules.service_conditions) +
          " before, of which " + text_from_hours_left(base::hours_from(missing)) +
          " are missing (" +
          (slab.service_conditions ? slab.service_conditions->source : kCommonPractice) + ")");
    }
  } else {
    const DishTestRules rules;
    time.earliest = begun.at + rules.shortest_exposure;
    time.latest = begun.at + rules.longest_exposure;
    time.because.push_back(text_from_whole_hours(rules.shortest_exposure) + " to " +
                           text_from_whole_hours(rules.longest_exposure) + " under the cover (" +
                           kCommonPractice + ")");
  }
  if (site.slab_poured_at && *site.slab_poured_at + slab.minimum_age.value > time.earliest) {
    time.because.push_back(
        "the slab is old enough for the floor only from " +
        base::day_end_or_minute_text(*site.slab_poured_at + slab.minimum_age.value) + " (" +
        slab.minimum_age.source + ")");
  }
  return time;
}

}  // namespace analysis::readiness
