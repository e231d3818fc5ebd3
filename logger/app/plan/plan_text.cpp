// The plan for people: what to order, how rows lie, how to stack.
#include "analysis/certificate/cautions.hpp"
#include "analysis/plan/room/length_text.hpp"
#include "logger/app/plan/plan_report.hpp"
#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::base::Metres;
using analysis::base::SquareMetres;
using analysis::plan::SheetNeed;
using analysis::plan::Stacking;

namespace {

constexpr std::size_t kPlanIndent = 13;
constexpr double kSquareFeet = 10.763910416709722;  // in a square metre: (1 / 0.3048)^2

class PlanText {
 public:
  PlanText(const PlanReport& report, bool imperial) : report_(report), imperial_(imperial) {}

  std::string whole() {
    for (const PlannedRoom& room : report_.rooms) {
      add_room(room);
    }
    text_ += "Order\n";
    for (const Order& order : report_.orders) {
      add_order(order);
    }
    for (const std::string& id : report_.rooms_without_plan) {
      line("", "room " + id + " has no \"plan\" in job.json");
    }
    text_ += "\nCautions\n";
    for (const std::string& caution : analysis::certificate::site_cautions()) {
      text_ += "  - " + wrapped(caution, 4) + "\n";
    }
    return text_;
  }

 private:
  void line(const std::string& label, const std::string& value) {
    text_ += "  " + padded(label, kPlanIndent - 2) + wrapped(value, kPlanIndent) + "\n";
  }
  [[nodiscard]] std::string length(Metres metres) const {
    return imperial_ ? analysis::plan::imperial_text_from(metres)
                     : analysis::plan::metric_text_from(metres);
  }
  [[nodiscard]] std::string area(SquareMetres square) const {
    return imperial_ ? fixed(square.value() * kSquareFeet, 0) + " ft²"
                     : fixed(square.value(), 2) + " m²";
  }
  static std::string count(int number, const char* what) {
    return std::to_string(number) + " " + what + (number == 1 ? "" : "s");
  }

  void add_room(const PlannedRoom& planned) {
    const JobRoom& room = *planned.room;
    const auto& plan = planned.plan;
    text_ +=
        heading_text({room.name, room.id, plan.floor_area.value(), room.floor_product}, imperial_);
    for (std::size_t i = 0; i < plan.parts.size(); ++i) {
      const auto& rows = plan.parts[i].layout.rows;
      const auto width = [&](const analysis::plan::Row& row) {
        return length(Metres{row.high_y_m - row.low_y_m});
      };
      line(plan.parts.size() == 1 ? "Rows" : "Rows, " + std::to_string(i + 1),
           count(static_cast<int>(rows.size()), "row") + ", the first " + width(rows.front()) +
               " and the last " + width(rows.back()) + " wide; " +
               count(plan.parts[i].layout.panels, "panel"));
    }
    for (const std::string& remark : plan.remarks) {
      line("Mind", remark);
    }
    add_sheets(planned);
    add_trim(planned);
    add_stacking(planned);
    line("Source", room.plan->source);
    text_ += "\n";
  }

  [[nodiscard]] std::string sheet_text(const SheetNeed& need) const {
    return count(need.rolls, "roll") + ": " + count(static_cast<int>(need.strips.size()), "strip") +
           (need.along_panels ? " along" : " across") + " the panels, " + area(need.sheet) + "; " +
           length(need.seams) + " of seams to tape";
  }
  void add_sheets(const PlannedRoom& planned) {
    if (planned.plan.underlay) {
      line("Underlay", sheet_text(*planned.plan.underlay) + "; butted, not lapped");
    }
    if (planned.plan.barrier) {
      const auto& rules = planned.room->plan->request.barrier_rules;
      line("Barrier", sheet_text(*planned.plan.barrier) + "; lapped " + length(rules.lap) +
                          ", turned up " + length(rules.upturn) + " at the walls");
    } else if (planned.room->plan->underlay_has_barrier) {
      line("Barrier", "built into the underlay: no separate sheet");
    }
  }
  void add_trim(const PlannedRoom& planned) {
    const auto& trim = planned.plan.trim;
    line("Trim", count(trim.wall_lengths, "bar") + " of " +
                     length(planned.room->plan->request.trim_bar) + " for " + length(trim.wall) +
                     " of wall, 10 % for mitres; " + count(trim.spacers, "spacer"));
    const std::pair<const char*, Metres> kinds[] = {
        {"between floors of one height", trim.t_moulding},
        {"to a lower floor", trim.reducer},
        {"to an edge", trim.edge},
        {"between parts of the floor", planned.plan.joints}};
    for (const auto& [where, metres] : kinds) {
      if (metres.value() > 0.0) {
        line("Profile", length(metres) + " " + where + ", with its track");
      }
    }
  }
  void add_stacking(const PlannedRoom& planned) {
    if (planned.stackings.empty()) {
      line("Stacking", planned.no_stacking_because);
      return;
    }
    const Stacking& best = planned.stackings.front();
    const double hours = analysis::base::hours_from(best.lead);
    line("Stacking",
         count(planned.cartons, "carton") + " as " + count(best.stacks, "stack") + ", " +
             std::to_string(best.cartons_high) + " high and " + std::to_string(best.cartons_wide) +
             " wide, " + (best.on_battens ? "on battens" : "flat on the floor") +
             ", air round each; " + fixed(best.load_kg_per_m2, 0) + " kg/m² under them");
    line("Bring them",
         best.warms_up
             ? "at least " + fixed(hours, 0) + " h before laying: " +
                   (best.warm_up > best.lead - analysis::base::Micros{1}
                        ? "so long the core takes to warm through"
                        : "the hours in the band decide; the core needs " +
                              fixed(analysis::base::hours_from(best.warm_up), 0) + " h")
             : std::string("the core does not come within its limit of the room in 60 days"));
  }

  void add_order(const Order& order) {
    std::string rooms;
    for (const std::string& id : order.rooms) {
      rooms += (rooms.empty() ? "" : ", ") + id;
    }
    const auto& need = order.need;
    line("Cartons",
         std::to_string(need.cartons_to_order) + " of " + order.product + " for " + rooms + ": " +
             area(need.floor) + "; by the rule of " + fixed(need.waste_rule_fraction * 100.0, 0) +
             " % waste " + std::to_string(need.cartons_by_rule) + ", by the rows " +
             std::to_string(need.cartons_by_layout) + " (" + count(need.panels_by_layout, "panel") +
             ", " + fixed(need.waste_by_layout_fraction * 100.0, 1) + " % waste)" +
             (need.delivered > 0 ? ", less " + std::to_string(need.delivered) + " delivered" : ""));
  }

  const PlanReport& report_;
  bool imperial_;
  std::string text_;
};

}  // namespace

std::string text_from_plan(const PlanReport& report, bool imperial) {
  return PlanText(report, imperial).whole();
}

}  // namespace logger::app
