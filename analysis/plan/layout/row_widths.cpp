#include "analysis/plan/layout/row_widths.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/plan/room/stretches.hpp"

namespace analysis::plan {
std::vector<double> widths_from_first_m(double height_m, double panel_width_m, double first_m) {
  std::vector<double> widths{first_m};
  double left = height_m - first_m;
  for (; left > panel_width_m + kSameLength; left -= panel_width_m) {
    widths.push_back(panel_width_m);
  }
  if (left > kSameLength) {
    widths.push_back(left);
  }
  return widths;
}

double first_width_to_m(double height_m, double panel_width_m) {
  const double rest = height_m - std::floor(height_m / panel_width_m) * panel_width_m;
  return rest <= kSameLength ? panel_width_m : rest;
}

std::vector<double> firsts_to_corners_m(const LayoutRequest& request) {
  std::vector<double> firsts;
  const auto take = [&](const Outline& outline) {
    for (const PlanPoint corner : outline) {
      firsts.push_back(
          first_width_to_m(corner.y_m - request.field.low_y_m, request.panel.width.value()));
    }
  };
  take(request.region.outer);
  std::for_each(request.region.holes.begin(), request.region.holes.end(), take);
  return firsts;
}

double length_of_rows_m(const LayoutRequest& request, const std::vector<double>& widths_m) {
  double length = 0.0;
  for (const PanelRun& run : runs_of_rows(request, widths_m)) {
    length += run.length_m();
  }
  return length;
}

std::vector<double> balanced_widths_m(double height_m, double panel_width_m) {
  const double whole = std::floor(height_m / panel_width_m + kSameLength);
  const double rest = height_m - whole * panel_width_m;
  if (rest <= kSameLength) {
    return std::vector<double>(static_cast<std::size_t>(whole), panel_width_m);
  }
  if (whole < 1.0) {
    return {height_m};
  }
  std::vector<double> widths(static_cast<std::size_t>(whole) + 1, panel_width_m);
  widths.front() = (panel_width_m + rest) / 2.0;
  widths.back() = widths.front();
  return widths;
}

std::vector<PanelRun> runs_of_rows(const LayoutRequest& request,
                                   const std::vector<double>& widths_m) {
  std::vector<PanelRun> runs;
  double low = request.field.low_y_m;
  for (std::size_t row = 0; row < widths_m.size(); ++row) {
    const double high = low + widths_m[row];
    for (const Stretch& run : stretches_between(request.region, low, high, request.field)) {
      runs.push_back({row, run.low_x_m, run.high_x_m});
    }
    low = high;
  }
  return runs;
}

std::optional<std::vector<double>> shorter_widths_m(const LayoutRequest& request) {
  const double height = request.field.high_y_m - request.field.low_y_m;
  const double panel = request.panel.width.value();
  const double least = std::max(panel / 2.0, request.rules.least_row_width.value());
  double shortest = length_of_rows_m(request, balanced_widths_m(height, panel));
  std::optional<std::vector<double>> best;
  for (const double first : firsts_to_corners_m(request)) {
    if (first < least - kSameLength || first > panel + kSameLength || first > height) {
      continue;
    }
    std::vector<double> widths = widths_from_first_m(height, panel, first);
    const double length = length_of_rows_m(request, widths);
    if (widths.back() >= least - kSameLength && length < shortest - kSameLength) {
      shortest = length;
      best = std::move(widths);
    }
  }
  return best;
}

}  // namespace analysis::plan
