// What read_plans finds once a plan is read: openings, what can't be planned, prices that
// differ, and what the plan says otherwise than the rest of its room.
#include <cmath>

#include "analysis/plan/opening_faults.hpp"
#include "analysis/plan/room/length_text.hpp"
#include "analysis/readiness/reason_texts.hpp"
#include "logger/app/job/reader/job_parts.hpp"
#include "logger/app/job/reader/keys/key_check.hpp"

namespace logger::app {
namespace {

using namespace analysis::plan;
using analysis::readiness::SubfloorKind;

// What two rooms order as one thing has one price.
struct PricedThing {
  std::string_view key;
  std::optional<double> Prices::*price;
  bool (*is_same)(const JobPlan&, const JobPlan&);
};
bool is_same_roll(const std::optional<RollSize>& a, const std::optional<RollSize>& b) {
  return a && b && a->width == b->width && a->length == b->length;
}
constexpr PricedThing kPricedThings[] = {
    {"pack", &Prices::pack,
     [](const JobPlan& a, const JobPlan& b) {
       return a.pack.panels == b.pack.panels && a.pack.coverage == b.pack.coverage &&
              a.request.panel.length == b.request.panel.length &&
              a.request.panel.width == b.request.panel.width;
     }},
    {"underlay_roll", &Prices::underlay_roll,
     [](const JobPlan& a, const JobPlan& b) {
       return is_same_roll(a.request.underlay, b.request.underlay);
     }},
    {"barrier_roll", &Prices::barrier_roll,
     [](const JobPlan& a, const JobPlan& b) {
       return is_same_roll(a.request.barrier, b.request.barrier);
     }},
    {"tape_roll", &Prices::tape_roll,
     [](const JobPlan& a, const JobPlan& b) { return a.terms.tape_roll == b.terms.tape_roll; }},
    {"trim_bar", &Prices::trim_bar,
     [](const JobPlan& a, const JobPlan& b) { return a.request.trim_bar == b.request.trim_bar; }},
    {"profile_bar", &Prices::profile_bar,
     [](const JobPlan& a, const JobPlan& b) { return a.terms.profile_bar == b.terms.profile_bar; }},
    {"spacer", &Prices::spacer, [](const JobPlan&, const JobPlan&) { return true; }}};

struct PlannedEntry {
  ObjectView view;  // of the room
  std::string path;
  const JobRoom& room;  // has a plan
};
void check_prices(const PlannedEntry& first, const PlannedEntry& later, Findings& findings) {
  const Prices& a = first.room.plan->terms.prices;
  const Prices& b = later.room.plan->terms.prices;
  const ObjectView prices = later.view.object("plan").object("prices");
  const std::string path = key_path(key_path(later.path, "plan"), "prices");
  if (!a.currency.empty() && !b.currency.empty() && a.currency != b.currency) {
    findings.add_error(prices.line_of("currency"), key_path(path, "currency"),
                       in_quotes(b.currency) + " is not " + in_quotes(a.currency) + " of " +
                           first.path + "; one order has one currency");
  }
  const bool same_product = first.room.floor_product == later.room.floor_product;
  for (const PricedThing& thing : kPricedThings) {
    if (a.*thing.price && b.*thing.price && a.*thing.price != b.*thing.price &&
        thing.is_same(*first.room.plan, *later.room.plan) &&
        (thing.key != "pack" || same_product)) {
      findings.add_error(prices.line_of(thing.key), key_path(path, thing.key),
                         "is not the price that " + first.path +
                             " gives for the same thing; leave one of them out");
    }
  }
}

// All but the first under the plan's own keys, by which `dwellog plan` knows them.
void warn_of_plan(const PlannedEntry& entry, Findings& findings) {
  const ObjectView view = entry.view.object("plan");
  const std::string path = key_path(entry.path, "plan");
  const JobRoom& room = entry.room;
  const JobPlan& plan = *room.plan;
  const auto below = room.subfloor_kind;
  if ((below == SubfloorKind::timber || below == SubfloorKind::crawl_space) &&
      room.requirements.slab) {
    findings.add_warning(entry.view.line_of("subfloor_kind"), key_path(entry.path, "subfloor_kind"),
                         in_quotes(name_of(*below)) +
                             " has no slab to test, yet the room is asked for slab readings; "
                             "\"slab\": null in requirements leaves them out");
  }
  const auto warn = [&](std::string_view key, const std::string& text) {
    findings.add_warning(view.line_of(key), key_path(path, key), text);
  };
  if (room.slab_poured_at && plan.laying_on && *plan.laying_on < *room.slab_poured_at) {
    warn("laying_on",
         analysis::readiness::text_from_date(*plan.laying_on) + " is before the slab was poured, " +
             analysis::readiness::text_from_date(*room.slab_poured_at) + " (slab_poured_at)");
  }
  constexpr double kAreaApart = 0.05;  // of the plan's: our assumption
  const double area = area_of(plan.request.room).value();
  if (std::abs(room.floor_area_m2 - area) > kAreaApart * area) {
    warn(view.has("size") ? "size" : "outline",
         "holds " + value_text(std::round(area * 100.0) / 100.0, "floor_area_m2") + ", not the " +
             value_text(room.floor_area_m2, "floor_area_m2") +
             " of floor_area_m2, which verdicts and certificates say");
  }
  if (room.stack && room.stack->carton_length < plan.request.panel.length) {
    warn("panel", "a panel of " + metric_text_from(plan.request.panel.length) +
                      " is longer than its carton of " +
                      value_text(room.stack->carton_length.value(), "carton_length_m") +
                      " (stack.carton_length_m)");
  }
  const double gap_mm = plan.request.wall_gap.value() * 1000.0;
  const auto moving_mm = entry.view.object("movement").number("gap_mm");
  if (moving_mm && std::abs(*moving_mm - gap_mm) > 0.05) {
    warn("wall_gap", value_text(gap_mm, "gap_mm") + " is not the " +
                         value_text(*moving_mm, "gap_mm") +
                         " of movement.gap_mm, which the outlook takes");
  }
  const auto& low = room.requirements.temperature_low.value;
  const auto& high = room.requirements.temperature_high.value;
  if (plan.kept_at && (*plan.kept_at < low || *plan.kept_at > high)) {
    warn("kept_at_celsius", value_text(plan.kept_at->value(), "kept_at_celsius") +
                                " lies outside the room's own band, " +
                                value_text(low.value(), "low_celsius") + " to " +
                                value_text(high.value(), "high_celsius"));
  }
}

}  // namespace

void read_plans(const ObjectView& root, Job& job, Findings& findings) {
  const auto& rooms = root.items("rooms");
  std::vector<PlannedEntry> planned;
  for (std::size_t i = 0; i < rooms.size(); ++i) {
    const ObjectView room(&rooms[i]);
    const ObjectView view = room.object("plan");
    const std::string path = item_path("rooms", i);
    auto& plan = job.rooms[i].plan;
    plan = plan_from(view, key_path(path, "plan"), findings);
    if (!plan || findings.has_errors()) {
      continue;
    }
    // Gaps and rows: what can't be planned is an error of the job, not of the command.
    if (const auto fault = opening_fault(plan->request)) {
      const std::string list = key_path(key_path(path, "plan"), fault->list);
      findings.add_error(ObjectView(&view.items(fault->list)[fault->index]).line_of(fault->key),
                         key_path(item_path(list, fault->index), fault->key),
                         "can't be planned: " + fault->text);
    } else if (const auto other = room_plan_fault(plan->request)) {
      findings.add_error(view.line_of("panel"), key_path(path, "plan"),
                         "can't be planned: " + *other);
    }
    const PlannedEntry entry{room, path, job.rooms[i]};
    warn_of_plan(entry, findings);
    for (const PlannedEntry& earlier : planned) {
      check_prices(earlier, entry, findings);
    }
    planned.push_back(entry);
  }
}

}  // namespace logger::app
