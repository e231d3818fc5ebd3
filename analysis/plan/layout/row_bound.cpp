#include "analysis/plan/layout/row_bound.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/base/golden_section.hpp"
#include "analysis/plan/layout/row_widths.hpp"

namespace analysis::plan {
namespace {

constexpr double kSpare = 1e-3;  // panels: how far the search for the least length may miss it

class LengthSearch {
 public:
  explicit LengthSearch(const LayoutRequest& request)
      : request_(request),
        panel_(request.panel.width.value()),
        height_(request.field.high_y_m - request.field.low_y_m),
        least_(std::min(request.rules.least_row_width.value(), panel_)) {}

  double least_m() {
    shortest_ = length_of_rows_m(request_, balanced_widths_m(height_, panel_));
    std::vector<double> firsts = turning_widths();
    std::for_each(firsts.begin(), firsts.end(), [&](double first) { length_with(first); });
    if (has_slants_) {
      for (std::size_t i = 0; i + 1 < firsts.size(); ++i) {
        search_between(firsts[i], firsts[i + 1]);
      }
    }
    return shortest_;
  }

 private:
  // By increase.
  std::vector<double> turning_widths() {
    std::vector<double> firsts = firsts_to_corners_m(request_);
    look_for_slants(request_.region.outer, firsts);
    for (const Outline& hole : request_.region.holes) {
      look_for_slants(hole, firsts);
    }
    firsts.push_back(least_);
    firsts.push_back(panel_);
    firsts.push_back(first_width_to_m(height_ - least_, panel_));
    std::sort(firsts.begin(), firsts.end());
    return firsts;
  }
  void look_for_slants(const Outline& outline, std::vector<double>& firsts) {
    for (std::size_t i = 0; i < outline.size(); ++i) {
      const Wall wall = wall_of(outline, i);
      const double dx = wall.to.x_m - wall.from.x_m;
      const double dy = wall.to.y_m - wall.from.y_m;
      if (std::abs(dx) <= kSameLength || std::abs(dy) <= kSameLength) {
        continue;
      }
      has_slants_ = true;
      for (const double side : {request_.field.low_x_m, request_.field.high_x_m}) {
        const double y = wall.from.y_m + (side - wall.from.x_m) / dx * dy;
        firsts.push_back(first_width_to_m(y - request_.field.low_y_m, panel_));
      }
    }
  }

  // Infinite where a row would be narrower than the rules allow.
  double length_with(double first) {
    constexpr double kNever = 1e300;
    if (first < least_ - kSameLength || first > panel_ + kSameLength || first > height_) {
      return kNever;
    }
    const auto widths = widths_from_first_m(height_, panel_, first);
    if (widths.back() < least_ - kSameLength) {
      return kNever;
    }
    const double length = length_of_rows_m(request_, widths);
    shortest_ = std::min(shortest_, length);
    return length;
  }

  // The ends are known already; what is found on the way stands in shortest_.
  void search_between(double low, double high) {
    constexpr double kNear = 1e-5;  // metres of first width
    const double width = high - low;
    const int sections =
        width > kNear
            ? static_cast<int>(std::ceil(std::log(kNear / width) / std::log(base::kGoldenShare)))
            : 0;
    static_cast<void>(
        base::lowest_of(low, high, sections, [this](double first) { return length_with(first); }));
  }

  const LayoutRequest& request_;
  double panel_;
  double height_;
  double least_;
  bool has_slants_ = false;
  double shortest_ = 0.0;
};

}  // namespace

int least_panels_for(const LayoutRequest& request) {
  const double length = LengthSearch(request).least_m();
  return static_cast<int>(std::ceil(length / request.panel.length.value() - kSpare));
}

}  // namespace analysis::plan
