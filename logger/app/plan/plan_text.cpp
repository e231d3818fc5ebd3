// The plan for people: what to order, how rows lie, how to stack.
#include <algorithm>

#include "analysis/certificate/cautions.hpp"
#include "analysis/plan/layout/cut_list.hpp"
#include "analysis/plan/room/length_text.hpp"
#include "analysis/plan/sheet/plan_drawing.hpp"
#include "logger/app/plan/plan_words.hpp"
#include "logger/app/text/terminal_text.hpp"

namespace logger::app {
namespace {

constexpr std::size_t kPlanIndent = 13;

class PlanText {
 public:
  PlanText(const PlanReport& report, bool imperial) : report_(report), imperial_(imperial) {}

  std::string whole() {
    for (const PlannedRoom& planned : report_.rooms) {
      const JobRoom& room = *planned.room;
      text_ += heading_text(
          {room.name, room.id, planned.plan.floor_area.value(), room.floor_product}, imperial_);
      lines(laying_words(planned, imperial_));
      lines(stacking_words(planned, imperial_));
      lines(slab_test_words(planned, imperial_));
      add_cuts(planned);
      text_ += "\n";
    }
    add_order();
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
    const std::size_t column = std::max(kPlanIndent - 2, columns_of(label) + 1);
    text_ += "  " + padded(label, column) + wrapped(value, column + 2) + "\n";
  }
  void lines(const std::vector<PlanWords>& words) {
    for (const PlanWords& each : words) {
      line(each.label, each.text);
    }
  }

  void add_cuts(const PlannedRoom& planned) {
    const auto& request = planned.room->plan->request;
    line("Cut list",
         "pieces from left to right, with the first row in front of you; a rest that begins a row "
         "keeps its right end as it came, one that ends a row its left");
    const auto& parts = planned.plan.parts;
    for (std::size_t i = 0; i < parts.size(); ++i) {
      if (parts.size() > 1) {
        line("  part " + analysis::plan::part_name(planned.plan, i), "");
      }
      for (const auto& row : analysis::plan::cut_list_from(
               parts[i].layout, {planned.plan.floor, request.panel, request.rules})) {
        const std::string rip = analysis::plan::rip_text_from(row, imperial_);
        line("  row " + std::to_string(row.row), analysis::plan::pieces_text_from(row, imperial_));
        if (rip != analysis::plan::kFullWidth) {
          line("", "rip to: " + rip);
        }
      }
    }
  }

  void add_order() {
    text_ += "Order\n";
    const auto list = order_from_plan(report_, imperial_);
    for (const auto& order : list.lines) {
      line(quantity_text(order), order.item);
      line("", order.reckoning);
      if (const std::string price = price_text(order, list.currency); !price.empty()) {
        line("", analysis::plan::unit_price_text(order) + " = " + price);
      }
    }
    if (const std::string total = total_text(list); !total.empty()) {
      line("Total", total);
    }
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
