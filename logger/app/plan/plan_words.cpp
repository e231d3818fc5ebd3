#include "logger/app/plan/plan_words.hpp"

#include <algorithm>

#include "analysis/plan/room/length_text.hpp"
#include "analysis/plan/sheet/plan_drawing.hpp"
#include "analysis/readiness/reason_texts.hpp"
#include "analysis/readiness/site/site_answers.hpp"
#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::base::Metres;
using analysis::plan::SheetLay;
using analysis::plan::SheetNeed;
using analysis::plan::Stacking;

namespace {

constexpr double kPlanFoot = 0.3048;                // metres, exactly
constexpr double kSquareFeet = 10.763910416709722;  // in a square metre: (1 / 0.3048)^2
// lb/ft2 in a kg/m2: 0.3048^2 / 0.45359237 (international yard and pound agreement of 1959).
constexpr double kPoundsPerSquareFoot = 0.20481614;
constexpr std::size_t kOtherWays = 2;

std::string count(int number, const std::string& what) {
  return std::to_string(number) + " " + what + (number == 1 ? "" : "s");
}

class RoomWords {
 public:
  RoomWords(const PlannedRoom& planned, bool imperial) : planned_(planned), imperial_(imperial) {}

  std::vector<PlanWords> laying() {
    const auto& plan = planned_.plan;
    for (std::size_t i = 0; i < plan.parts.size(); ++i) {
      const auto& rows = plan.parts[i].layout.rows;
      const auto width = [&](const analysis::plan::Row& row) {
        return analysis::plan::sawn_text_from(Metres{row.high_y_m - row.low_y_m}, imperial_);
      };
      add(plan.parts.size() == 1 ? "Rows" : "Rows " + analysis::plan::part_name(plan, i),
          count(static_cast<int>(rows.size()), "row") + ", the first " + width(rows.front()) +
              " wide" + (i == 0 ? " " + plan.first_row : "") + ", the last " + width(rows.back()) +
              "; " + count(plan.parts[i].layout.panels, "panel"));
    }
    add_waste();
    for (const auto& check : plan.gaps) {
      if (check.at_limit.fits) {  // else it is among what to mind
        add("Gap", analysis::plan::remark_of(check, planned_.climate).text(imperial_));
      }
    }
    for (const auto& remark : plan.remarks) {
      add("Mind", remark.text(imperial_));
    }
    add_sheets();
    add_trim();
    add("Source", planned_.room->plan->source);
    return std::move(words_);
  }

  std::vector<PlanWords> stacking() {
    if (planned_.stackings.empty()) {
      add("Stacking", planned_.no_stacking_because);
      return std::move(words_);
    }
    const Stacking& best = planned_.stackings.front();
    add("Stacking", count(planned_.cartons, "carton") + " as " + shape(best) +
                        (imperial_ ? ", 4\" or more" : ", 10 cm or more") + " of air round each; " +
                        load(best.load_kg_per_m2) + " under a stack, of " +
                        load(planned_.room->plan->floor_bears_kg_per_m2) + " that the floor bears");
    const int came = std::min(planned_.room->plan->packs_delivered, planned_.cartons);
    add("Bring them",
        lead_words(best) + (came > 0 ? "; " + std::to_string(came) + " of them came already" : ""));
    if (planned_.room->plan->laying_on) {
      add("Laying",
          "on " + analysis::readiness::text_from_date(*planned_.room->plan->laying_on) +
              (planned_.deliver_by ? ": cartons there and stacked by " +
                                         analysis::base::minute_text_from_utc(*planned_.deliver_by)
                                   : ""));
    }
    add_other_ways(best);
    return std::move(words_);
  }

 private:
  void add(std::string label, std::string text) {
    words_.push_back({std::move(label), std::move(text)});
  }
  [[nodiscard]] std::string length(Metres metres) const {
    return plan_length_text(metres, imperial_);
  }
  // Of what is added up, which need not be told to the millimetre.
  [[nodiscard]] std::string sum(Metres metres) const {
    return imperial_ ? fixed(metres.value() / kPlanFoot, 1) + " ft"
                     : fixed(metres.value(), 2) + " m";
  }
  [[nodiscard]] std::string load(double kg_per_m2) const {
    return imperial_ ? fixed(kg_per_m2 * kPoundsPerSquareFoot, 0) + " lb/ft²"
                     : fixed(kg_per_m2, 0) + " kg/m²";
  }

  void add_waste() {
    const auto& plan = planned_.plan;
    add("Waste", fixed(100.0 * panel_waste_fraction(planned_), 1) +
                     " % more panel than floor: " + count(plan.panels, "panel") + "; " +
                     (plan.panels > plan.least_panels
                          ? "straight rows this way take " + std::to_string(plan.least_panels) +
                                " at least, however they are cut"
                          : "no straight rows this way take fewer"));
  }

  [[nodiscard]] std::string sheet_text(const SheetNeed& need) const {
    return count(need.rolls, "roll") + ": " + count(static_cast<int>(need.strips.size()), "strip") +
           (need.lay == SheetLay::along_panels    ? " along the panels, "
            : need.lay == SheetLay::across_panels ? " across the panels, "
                                                  : " along the walls, ") +
           plan_area_text(need.sheet, imperial_) + "; " + sum(need.seams) + " of seams to tape";
  }
  void add_sheets() {
    const auto& plan = planned_.plan;
    if (plan.underlay) {
      add("Underlay", sheet_text(*plan.underlay) + "; butted, not lapped");
    }
    if (plan.barrier) {
      const auto& rules = planned_.room->plan->request.barrier_rules;
      add("Barrier", sheet_text(*plan.barrier) + "; lapped " + length(rules.lap) + ", turned up " +
                         length(rules.upturn) + " at the walls");
    } else if (planned_.room->plan->underlay_has_barrier) {
      add("Barrier", "built into the underlay: no separate sheet");
    }
    add_barrier_need();
  }
  // Whether one belongs there, by what lies below.
  void add_barrier_need() {
    const auto& kind = planned_.room->subfloor_kind;
    const bool has_one = planned_.plan.barrier || planned_.room->plan->underlay_has_barrier;
    if (!kind) {
      if (!has_one) {
        add("Barrier",
            "none in the plan; say what lies below (rooms[].subfloor_kind) to be told "
            "whether one belongs there");
      }
      return;
    }
    const auto need = analysis::readiness::barrier_over(*kind);
    const std::string why = std::string(need.why) + " (" + std::string(need.source) + ")";
    if (need.needed && !has_one) {
      add("Missing", "a vapour barrier: " + why);
    } else if (!need.needed) {
      add("Barrier", std::string(has_one ? "practice asks for none here" : "none") + ": " + why);
    }
  }
  void add_trim() {
    const auto& trim = planned_.plan.trim;
    add("Trim", count(trim.wall_lengths, "bar") + " of " +
                    length(planned_.room->plan->request.trim_bar) + " for " + sum(trim.wall) +
                    " of wall, 10 % for mitres; " + count(trim.spacers, "spacer"));
    using analysis::plan::Transition;
    add_profile(trim.t_moulding, "T-moulding between floors of one height", Transition::same_level);
    add_profile(trim.reducer, "reducer to a lower floor", Transition::to_lower);
    add_profile(trim.edge, "edge profile to a sill or edge", Transition::to_edge);
    add_profile(planned_.plan.joints, "T-moulding between parts of the floor", std::nullopt);
  }
  void add_profile(Metres metres, const std::string& what,
                   std::optional<analysis::plan::Transition> at_doors) {
    if (!(metres.value() > 0.0)) {
      return;
    }
    std::string elsewhere;
    for (const auto& door : planned_.doors_elsewhere) {
      if (at_doors == door.transition) {
        elsewhere += "; " + sum(door.width) + " of it counted with " + door.with;
      }
    }
    add("Profile", sum(metres) + " of " + what + ", with its track" + elsewhere);
  }

  [[nodiscard]] static std::string shape(const Stacking& stacking) {
    return count(stacking.stacks, "stack") + ", " + std::to_string(stacking.cartons_high) +
           " high and " + std::to_string(stacking.cartons_wide) + " wide, " +
           (stacking.on_battens ? "on battens" : "flat on the floor");
  }
  [[nodiscard]] static std::string lead_words(const Stacking& stacking) {
    if (!stacking.warms_up) {
      return "the core does not come within its limit of the room in 60 days";
    }
    return "at least " + fixed(analysis::base::hours_from(stacking.lead), 0) +
           " h before laying: " +
           (stacking.warm_up > stacking.lead - analysis::base::Micros{1}
                ? "so long the core takes to warm through"
                : "the hours in the band decide; the core needs " +
                      fixed(analysis::base::hours_from(stacking.warm_up), 0) + " h");
  }
  // Fewer stacks, heavier or for a longer wait; each with fewer than the one before.
  void add_other_ways(const Stacking& best) {
    int stacks = best.stacks;
    std::size_t shown = 0;
    for (const Stacking& other : planned_.stackings) {
      if (other.stacks < stacks && other.warms_up && shown < kOtherWays) {
        stacks = other.stacks;
        ++shown;
        add("Or", shape(other) + ": at least " + fixed(analysis::base::hours_from(other.lead), 0) +
                      " h before laying; " + load(other.load_kg_per_m2));
      }
    }
  }

  const PlannedRoom& planned_;
  bool imperial_;
  std::vector<PlanWords> words_;
};

}  // namespace

double panel_waste_fraction(const PlannedRoom& planned) {
  const auto& panel = planned.room->plan->request.panel;
  return planned.plan.panels * panel.length.value() * panel.width.value() /
             planned.plan.floor_area.value() -
         1.0;
}

std::vector<PlanWords> laying_words(const PlannedRoom& planned, bool imperial) {
  return RoomWords(planned, imperial).laying();
}

std::vector<PlanWords> stacking_words(const PlannedRoom& planned, bool imperial) {
  return RoomWords(planned, imperial).stacking();
}

std::string plan_length_text(Metres metres, bool imperial) {
  return imperial ? analysis::plan::imperial_text_from(metres)
                  : analysis::plan::metric_text_from(metres);
}

std::string plan_area_text(analysis::base::SquareMetres area, bool imperial) {
  return imperial ? fixed(area.value() * kSquareFeet, 0) + " ft²" : fixed(area.value(), 2) + " m²";
}

}  // namespace logger::app
