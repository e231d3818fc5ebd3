#include "analysis/plan/layout/row_layout.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/plan/layout/panel_use.hpp"
#include "analysis/plan/layout/row_bound.hpp"
#include "analysis/plan/layout/row_widths.hpp"
#include "analysis/plan/layout/run_starts.hpp"
#include "analysis/plan/room/length_text.hpp"

namespace analysis::plan {
namespace {

constexpr std::size_t kMostRows = 2000;

RowLayout layout_of_rows(const LayoutRequest& request, const std::vector<double>& widths) {
  const RunRules rules{request.panel.length.value(), request.rules.least_piece.value(),
                       request.rules.least_offset.value(), request.rules.saw_cut.value()};
  const std::vector<PanelRun> runs = runs_of_rows(request, widths);
  PanelUse use = panel_use_from(runs, starts_from(runs, rules, request.effort), rules);
  RowLayout layout;
  layout.panels = use.panels;
  double low = request.field.low_y_m;
  for (const double width : widths) {
    layout.rows.push_back({low, low + width, {}});
    low += width;
  }
  for (std::size_t i = 0; i < runs.size(); ++i) {
    layout.rows[runs[i].row].runs.push_back(std::move(use.runs[i]));
  }
  return layout;
}

// Collects what is broken, row by row.
class RuleCheck {
 public:
  explicit RuleCheck(const LayoutRequest& request) : request_(request) {}

  std::vector<RuleBreak> check(const RowLayout& layout) {
    std::vector<double> before;
    for (std::size_t i = 0; i < layout.rows.size(); ++i) {
      const Row& row = layout.rows[i];
      row_ = static_cast<int>(i) + 1;
      add_if_below(RowRule::row_width, 0.0, row.high_y_m - row.low_y_m,
                   request_.rules.least_row_width);
      std::vector<double> joints;
      for (const auto& run : row.runs) {
        for (std::size_t k = 0; k < run.size(); ++k) {
          add_if_below(RowRule::piece_length, run[k].low_x_m, run[k].length_m(),
                       request_.rules.least_piece);
          if (k > 0) {
            joints.push_back(run[k].low_x_m);
          }
        }
      }
      check_joints(joints, before);
      before = std::move(joints);
    }
    return std::move(breaks_);
  }

 private:
  void add_if_below(RowRule rule, double x, double value, Metres limit) {
    if (value < limit.value() - kSameLength) {
      breaks_.push_back({rule, row_, Metres{x - request_.field.low_x_m}, Metres{value}, limit});
    }
  }

  // The nearest pair only.
  void check_joints(const std::vector<double>& joints, const std::vector<double>& before) {
    double nearest = request_.rules.least_offset.value();
    double where = 0.0;
    for (const double joint : joints) {
      for (const double other : before) {
        if (std::abs(joint - other) < nearest) {
          nearest = std::abs(joint - other);
          where = joint;
        }
      }
    }
    add_if_below(RowRule::end_joints, where, nearest, request_.rules.least_offset);
  }

  const LayoutRequest& request_;
  int row_ = 0;
  std::vector<RuleBreak> breaks_;
};

}  // namespace

std::optional<std::string> layout_fault(const LayoutRequest& request) {
  const LayoutRules& rules = request.rules;
  if (!(request.panel.length.value() > 0.0 && request.panel.width.value() > 0.0 &&
        rules.least_piece.value() > 0.0 && rules.least_offset.value() >= 0.0 &&
        rules.saw_cut.value() >= 0.0)) {
    return "a length that is not positive";
  }
  if (request.panel.length.value() < 2.0 * rules.least_piece.value()) {
    return "panels shorter than two pieces of the least length";
  }
  const double height = request.field.high_y_m - request.field.low_y_m;
  if (!(height > kSameLength)) {
    return "the floor has no width";
  }
  if (height / request.panel.width.value() > static_cast<double>(kMostRows)) {
    return "more than " + std::to_string(kMostRows) + " rows";
  }
  return std::nullopt;
}

base::Result<RowLayout, std::string> row_layout_from(const LayoutRequest& request) {
  if (auto fault = layout_fault(request)) {
    return base::Failure{std::move(*fault)};
  }
  const double height = request.field.high_y_m - request.field.low_y_m;
  const auto laid_in = [&](const std::vector<double>& widths) {
    RowLayout layout = layout_of_rows(request, widths);
    layout.breaks = RuleCheck(request).check(layout);
    return layout;
  };
  RowLayout best = laid_in(balanced_widths_m(height, request.panel.width.value()));
  if (const auto widths = shorter_widths_m(request)) {
    RowLayout other = laid_in(*widths);
    if (other.panels < best.panels && other.breaks.size() <= best.breaks.size()) {
      other.saved_by_widths = best.panels - other.panels;
      best = std::move(other);
    }
  }
  best.least_panels = least_panels_for(request);
  return best;
}

std::string text_from(const RuleBreak& broken, bool imperial) {
  const auto length = [&](Metres metres) { return sawn_text_from(metres, imperial); };
  const std::string row = "row " + std::to_string(broken.row);
  const std::string place = row + ", " + length(broken.from_side) + " from the left: ";
  switch (broken.rule) {
    case RowRule::end_joints:
      return place + "end joints only " + length(broken.value) + " from those of the row before, " +
             length(broken.limit) + " asked for; no cut found that keeps it with the least piece";
    case RowRule::piece_length:
      return place + "a piece of " + length(broken.value) + ", " + length(broken.limit) +
             " asked for; the floor is no longer there";
    case RowRule::row_width:
      return row + " is " + length(broken.value) + " wide, " + length(broken.limit) +
             " asked for; the floor is no wider there";
  }
  return row;
}

}  // namespace analysis::plan
