#include "analysis/readiness/stack/stacking_sentences.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <cstdio>

namespace analysis::readiness {
namespace {

using physics::StackBottom;

std::string number_text(int number) {
  constexpr std::array<const char*, 13> kWords{"no",   "one",    "two",   "three", "four",
                                               "five", "six",    "seven", "eight", "nine",
                                               "ten",  "eleven", "twelve"};
  const auto index = static_cast<std::size_t>(number);
  return index < kWords.size() ? kWords[index] : std::to_string(number);
}

std::string with_capital(std::string text) {
  text.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(text.front())));
  return text;
}

std::string hours_text(Micros duration) {
  return std::to_string(std::llround(std::ceil(base::hours_from(duration))));
}

std::string hours_text(const std::optional<Micros>& duration) {
  return duration ? hours_text(*duration) : "over " + hours_text(kStackingHorizon);
}

// "171 h (118 to 254 h)"
std::string time_text(const StackTimeToWarm& time) {
  return hours_text(time.mid) + " h (" + hours_text(time.fast) + " to " + hours_text(time.slow) +
         " h)";
}

std::string compact(const char* format, double value) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), format, value);
  return text.data();
}

bool single(const StackArrangement& a) { return a.cartons_high == 1 && a.cartons_wide == 1; }

// "ten high and two wide on the floor"
std::string arrangement_text(const StackArrangement& a) {
  const std::string bottom = a.bottom == StackBottom::on_floor ? " on the floor" : " on battens";
  if (single(a)) {
    return "single cartons" + bottom;
  }
  return number_text(a.cartons_high) + " high and " + number_text(a.cartons_wide) + " wide" +
         bottom;
}

std::string planned_sentence(const StackingPlan& plan, const StackingAdvice& advice) {
  const StackingOption& planned = advice.planned;
  const std::string available = hours_text(plan.available) + " h";
  std::string text = with_capital(arrangement_text(planned.arrangement)) +
                     (single(planned.arrangement) ? " take " : " takes ") +
                     time_text(planned.time) + " to come within " +
                     compact("%.3g", plan.within.value()) + " K of the room; ";
  if (planned.grade == StackingGrade::whole_range) {
    return text + "by this calculation " + available + " is enough, also for a slow material.";
  }
  if (planned.grade == StackingGrade::usual_only) {
    return text + available + " is enough for the usual material, not for a slow one.";
  }
  const bool even_fast = planned.time.fast && *planned.time.fast <= plan.available;
  return text + "in " + available +
         (even_fast ? " only a fast material warms through." : " it can't warm through.");
}

std::string better_sentence(const StackingOption& option) {
  const StackArrangement& a = option.arrangement;
  std::string text = with_capital(arrangement_text(a));
  const std::string area = " on " + compact("%.1f", option.floor_area.value()) + " m2 of floor.";
  if (single(a)) {
    text += " take " + time_text(option.time) + " and need " + number_text(a.stacks) + " places";
  } else {
    text += " takes " + time_text(option.time) + " and needs " + number_text(a.stacks) +
            (a.stacks == 1 ? " stack" : " stacks");
  }
  text += area;
  if (option.grade == StackingGrade::usual_only) {
    text += " A slow material would need longer: measure the core with a probe.";
  }
  return text;
}

std::string load_sentence(const StackingOption& option) {
  return with_capital(arrangement_text(option.arrangement)) + ": the floor carries " +
         compact("%.0f", *option.floor_load_kg_per_m2) + " kg/m2 where a stack stands.";
}

}  // namespace

std::vector<std::string> sentences_from_advice(const StackingPlan& plan,
                                               const StackingAdvice& advice) {
  std::vector<std::string> sentences{planned_sentence(plan, advice)};
  std::vector<StackingOption> named{advice.planned};
  for (const StackingOption& option : advice.better) {
    sentences.push_back(better_sentence(option));
    named.push_back(option);
  }
  if (advice.planned.grade == StackingGrade::not_in_time && advice.better.empty()) {
    sentences.push_back("No way of stacking these cartons warms them through in " +
                        hours_text(plan.available) + " h: even single cartons on battens take " +
                        time_text(advice.quickest.time) + ". Plan more time.");
  }
  sentences.push_back("Leave at least " + compact("%.0f", 100.0 * kAirBetweenStacks.value()) +
                      " cm of air between stacks and to the walls.");
  for (const StackingOption& option : named) {
    if (option.floor_load_kg_per_m2) {
      sentences.push_back(load_sentence(option));
    }
  }
  if (std::any_of(named.begin(), named.end(), [](const auto& option) { return option.tall; })) {
    sentences.push_back(
        "A stack more than three times as high as it is wide can tip: secure it or build it "
        "lower.");
  }
  sentences.push_back(
      "This is about warmth only: moisture hardly moves in closed cartons in that time.");
  return sentences;
}

}  // namespace analysis::readiness
