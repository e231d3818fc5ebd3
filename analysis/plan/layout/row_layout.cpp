#include "analysis/plan/layout/row_layout.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <memory>
#include <optional>
#include <tuple>

namespace analysis::plan {
namespace {

constexpr double kAlike = 1e-6;           // metres
constexpr std::size_t kBeam = 40;         // arrangements kept after each run of pieces
constexpr std::size_t kMostStarts = 24;   // first pieces tried for each
constexpr std::size_t kMostOffcuts = 10;  // kept of each kind; shorter ones are waste
constexpr std::size_t kMostRows = 2000;
constexpr int kStartGrid = 8;
// A metre of off-cut saves less than a metre of panel: it must meet a row that needs it.
constexpr double kOffcutWorth = 0.6;
constexpr double kBrokenOffsetPrice = 50.0;  // of panels: never for the sake of waste
constexpr double kShortPiecePrice = 0.02;    // of a panel, so that waste decides before looks

// What is left of a panel, with one end as it came from the factory.
struct Offcut {
  double length = 0.0;
  int panel = 0;
};

// One run of pieces that was decided, and what was decided before it.
struct Decision {
  std::shared_ptr<const Decision> before;
  std::size_t row = 0;
  std::vector<Piece> pieces;
  std::optional<double> offset_short_of;  // joints came that near to those of the row before
};

struct Arrangement {
  int panels = 0;
  int short_pieces = 0;
  int broken_offsets = 0;
  std::vector<Offcut> starts;  // right end as it came: they begin a row
  std::vector<Offcut> ends;    // left end as it came: they end one
  std::vector<double> joints_before;
  std::vector<double> joints;
  std::optional<double> left_by_last_row;  // the simple rule begins the next row with it
  bool simple = false;
  double price = 0.0;
  std::shared_ptr<const Decision> last;
};

void keep(std::vector<Offcut>& offcuts, Offcut offcut) {
  offcuts.push_back(offcut);
  std::sort(offcuts.begin(), offcuts.end(),
            [](const Offcut& a, const Offcut& b) { return a.length < b.length; });
  if (offcuts.size() > kMostOffcuts) {
    offcuts.erase(offcuts.begin());
  }
}

// The shortest one that is long enough, taken out.
std::optional<Offcut> take(std::vector<Offcut>& offcuts, double length) {
  const auto found = std::find_if(offcuts.begin(), offcuts.end(), [&](const Offcut& offcut) {
    return offcut.length >= length - kAlike;
  });
  if (found == offcuts.end()) {
    return std::nullopt;
  }
  const Offcut offcut = *found;
  offcuts.erase(found);
  return offcut;
}

class RowSolver {
 public:
  explicit RowSolver(const LayoutRequest& request)
      : request_(request),
        length_(request.panel.length.value()),
        least_(request.rules.least_piece.value()),
        offset_(request.rules.least_offset.value()),
        saw_(request.rules.saw_cut.value()) {}

  RowLayout solve(const std::vector<double>& widths) {
    Arrangement first;
    first.simple = true;
    beam_ = {std::move(first)};
    double low = request_.field.low_y_m;
    for (std::size_t row = 0; row < widths.size(); ++row) {
      const double high = low + widths[row];
      heights_.push_back({low, high, {}});
      begin_row();
      for (const Stretch& run : stretches_between(request_.region, low, high, request_.field)) {
        decide(row, run);
      }
      low = high;
    }
    return result();
  }

 private:
  void begin_row() {
    for (Arrangement& arrangement : beam_) {
      arrangement.joints_before = std::move(arrangement.joints);
      arrangement.joints.clear();
    }
  }

  void decide(std::size_t row, const Stretch& run) {
    std::vector<Arrangement> next;
    for (const Arrangement& arrangement : beam_) {
      const std::vector<double> starts = starts_for(arrangement, run);
      const std::optional<double> simple =
          arrangement.simple ? simple_start(arrangement, starts) : std::nullopt;
      for (const double start : starts) {
        Arrangement laid = lay(arrangement, row, run, start);
        laid.simple = arrangement.simple && simple && std::abs(*simple - start) <= kAlike;
        next.push_back(std::move(laid));
      }
    }
    std::stable_sort(next.begin(), next.end(),
                     [](const Arrangement& a, const Arrangement& b) { return a.price < b.price; });
    // The same joints and off-cuts lead to the same rows: one of them is enough.
    next.erase(std::unique(next.begin(), next.end(), is_same), next.end());
    const auto simple =
        std::find_if(next.begin(), next.end(), [](const Arrangement& each) { return each.simple; });
    if (next.size() > kBeam) {
      if (simple - next.begin() >= static_cast<std::ptrdiff_t>(kBeam)) {
        std::iter_swap(next.begin() + kBeam - 1, simple);
      }
      next.resize(kBeam);
    }
    beam_ = std::move(next);
  }

  static bool is_same(const Arrangement& a, const Arrangement& b) {
    const auto alike = [](const std::vector<Offcut>& x, const std::vector<Offcut>& y) {
      return std::equal(
          x.begin(), x.end(), y.begin(), y.end(),
          [](const Offcut& m, const Offcut& n) { return std::abs(m.length - n.length) <= kAlike; });
    };
    return a.simple == b.simple && std::abs(a.price - b.price) <= kAlike && a.panels == b.panels &&
           a.joints == b.joints && alike(a.starts, b.starts) && alike(a.ends, b.ends);
  }

  // Lengths of the last piece and of the joints for a first piece.
  [[nodiscard]] double last_piece(double run_length, double start) const {
    const double rest = run_length - start;
    return rest - (std::ceil(rest / length_ - kAlike) - 1.0) * length_;
  }
  [[nodiscard]] double nearest_joint(const Arrangement& arrangement, const Stretch& run,
                                     double start) const {
    double nearest = length_;
    for (double joint = run.low_x_m + start; joint < run.high_x_m - kAlike; joint += length_) {
      for (const double other : arrangement.joints_before) {
        nearest = std::min(nearest, std::abs(joint - other));
      }
    }
    return nearest;
  }

  // First pieces worth a try, all of them within the rules where there is any; else the one whose
  // joints keep furthest from those of the row before.
  [[nodiscard]] std::vector<double> starts_for(const Arrangement& arrangement,
                                               const Stretch& run) const {
    const double run_length = run.high_x_m - run.low_x_m;
    if (run_length <= length_ + kAlike) {
      return {run_length};
    }
    std::vector<double> kept;
    double best = 0.0;
    double best_distance = -1.0;
    for (const double start : tries_for(arrangement, run)) {
      const double last = last_piece(run_length, start);
      if (start < least_ - kAlike || start > length_ + kAlike || last < least_ - kAlike) {
        continue;
      }
      const double distance = nearest_joint(arrangement, run, start);
      const bool is_new = std::none_of(kept.begin(), kept.end(), [&](double other) {
        return std::abs(other - start) <= kAlike;
      });
      if (distance >= offset_ - kAlike && is_new && kept.size() < kMostStarts) {
        kept.push_back(start);
      }
      if (distance > best_distance + kAlike) {
        best = start;
        best_distance = distance;
      }
    }
    return kept.empty() ? std::vector<double>{best} : kept;
  }

  [[nodiscard]] std::vector<double> tries_for(const Arrangement& arrangement,
                                              const Stretch& run) const {
    const double run_length = run.high_x_m - run.low_x_m;
    const auto wrapped = [&](double start) {
      const double rest = std::fmod(start, length_);
      return rest <= kAlike ? rest + length_ : rest;
    };
    std::vector<double> tries;
    if (arrangement.left_by_last_row) {
      tries.push_back(*arrangement.left_by_last_row);
    }
    tries.push_back(length_);
    for (const Offcut& offcut : arrangement.starts) {
      tries.push_back(offcut.length);
    }
    for (const Offcut& offcut : arrangement.ends) {
      tries.push_back(wrapped(run_length - offcut.length));
    }
    tries.push_back(wrapped(run_length - length_));  // the last one whole
    tries.push_back(least_);
    tries.push_back(wrapped(run_length - least_));
    for (const double joint : arrangement.joints_before) {
      tries.push_back(wrapped(joint + offset_ - run.low_x_m + length_ * 1000.0));
      tries.push_back(wrapped(joint - offset_ - run.low_x_m + length_ * 1000.0));
    }
    // What the last piece leaves of its panel begins another row: halves and thirds meet again.
    for (int part = kStartGrid - 1; part >= 1; --part) {
      tries.push_back(length_ * part / kStartGrid);
    }
    tries.push_back(run_length / 2.0 - std::floor(run_length / 2.0 / length_) * length_);
    tries.push_back(wrapped(run_length / 2.0 + length_ / 2.0));
    return tries;
  }

  // The off-cut of the row before, else a whole panel, else the longest that the rules allow.
  static std::optional<double> simple_start(const Arrangement& arrangement,
                                            const std::vector<double>& starts) {
    const auto is_there = [&](double wanted) {
      return std::any_of(starts.begin(), starts.end(),
                         [&](double start) { return std::abs(start - wanted) <= kAlike; });
    };
    if (arrangement.left_by_last_row && is_there(*arrangement.left_by_last_row)) {
      return arrangement.left_by_last_row;
    }
    return *std::max_element(starts.begin(), starts.end());
  }

  int cut_new(Arrangement& laid) { return ++laid.panels; }

  [[nodiscard]] Arrangement lay(const Arrangement& before, std::size_t row, const Stretch& run,
                                double start) {
    Arrangement laid = before;
    auto decision = std::make_shared<Decision>();
    decision->before = before.last;
    decision->row = row;
    if (nearest_joint(before, run, start) < offset_ - kAlike &&
        start < run.high_x_m - run.low_x_m - kAlike) {
      decision->offset_short_of = nearest_joint(before, run, start);
      ++laid.broken_offsets;
    }
    laid.left_by_last_row.reset();
    double x = run.low_x_m;
    if (start >= run.high_x_m - x - kAlike) {
      decision->pieces.push_back(only_piece(laid, x, run.high_x_m));
    } else {
      decision->pieces.push_back(first_piece(laid, x, start));
      x += start;
      for (; run.high_x_m - x > length_ + kAlike; x += length_) {
        laid.joints.push_back(x);
        decision->pieces.push_back({x, x + length_, cut_new(laid), true});
      }
      laid.joints.push_back(x);
      decision->pieces.push_back(end_piece(laid, x, run.high_x_m));
    }
    for (const Piece& piece : decision->pieces) {
      laid.short_pieces += piece.length_m() < 1.5 * least_ ? 1 : 0;
    }
    laid.last = std::move(decision);
    laid.price = price_of(laid);
    return laid;
  }

  // Both ends at walls, so an off-cut of either kind will do.
  Piece only_piece(Arrangement& laid, double low, double high) {
    const double length = high - low;
    if (length >= length_ - kAlike) {
      return {low, high, cut_new(laid), true};
    }
    if (const auto offcut = take(laid.ends, length)) {
      return {low, high, offcut->panel, false};
    }
    if (const auto offcut = take(laid.starts, length)) {
      return {low, high, offcut->panel, false};
    }
    const Piece piece{low, high, cut_new(laid), false};
    leave_start(laid, length_ - length - saw_, piece.panel);
    return piece;
  }
  Piece first_piece(Arrangement& laid, double low, double length) {
    if (length >= length_ - kAlike) {
      return {low, low + length, cut_new(laid), true};
    }
    if (const auto offcut = take(laid.starts, length)) {
      return {low, low + length, offcut->panel, false};
    }
    const Piece piece{low, low + length, cut_new(laid), false};
    const double left = length_ - length - saw_;
    if (left >= least_) {
      keep(laid.ends, {left, piece.panel});
    }
    return piece;
  }
  Piece end_piece(Arrangement& laid, double low, double high) {
    const double length = high - low;
    if (length >= length_ - kAlike) {
      return {low, high, cut_new(laid), true};
    }
    if (const auto offcut = take(laid.ends, length)) {
      return {low, high, offcut->panel, false};
    }
    const Piece piece{low, high, cut_new(laid), false};
    leave_start(laid, length_ - length - saw_, piece.panel);
    return piece;
  }
  void leave_start(Arrangement& laid, double left, int panel) {
    if (left >= least_) {
      keep(laid.starts, {left, panel});
      laid.left_by_last_row = left;
    }
  }

  [[nodiscard]] double price_of(const Arrangement& laid) const {
    double price = (laid.panels + laid.short_pieces * kShortPiecePrice +
                    laid.broken_offsets * kBrokenOffsetPrice) *
                   length_;
    for (const auto* offcuts : {&laid.starts, &laid.ends}) {
      for (const Offcut& offcut : *offcuts) {
        price -= kOffcutWorth * offcut.length;
      }
    }
    return price;
  }

  [[nodiscard]] RowLayout result() const {
    // What is left over at the end is worth nothing.
    const Arrangement& best =
        *std::min_element(beam_.begin(), beam_.end(), [](const auto& a, const auto& b) {
          return std::tie(a.broken_offsets, a.panels, a.short_pieces) <
                 std::tie(b.broken_offsets, b.panels, b.short_pieces);
        });
    RowLayout layout;
    layout.rows = heights_;
    layout.panels = best.panels;
    std::vector<std::string> offsets;
    for (const Decision* decision = best.last.get(); decision != nullptr;
         decision = decision->before.get()) {
      auto& runs = layout.rows[decision->row].runs;
      runs.insert(runs.begin(), decision->pieces);
      if (decision->offset_short_of) {
        offsets.insert(offsets.begin(), offset_text(decision->row, *decision->offset_short_of));
      }
    }
    layout.exceptions = size_texts(layout);
    layout.exceptions.insert(layout.exceptions.end(), offsets.begin(), offsets.end());
    return layout;
  }

  static std::string centimetres(double metres) {
    std::array<char, 32> text{};
    std::snprintf(text.data(), text.size(), "%.1f cm", metres * 100.0);
    return text.data();
  }
  [[nodiscard]] std::string offset_text(std::size_t row, double distance) const {
    return "row " + std::to_string(row + 1) + ": its end joints are " + centimetres(distance) +
           " from those of the row before; no cut gives the " + centimetres(offset_) +
           " asked for with pieces of " + centimetres(least_) + " or more";
  }
  [[nodiscard]] std::vector<std::string> size_texts(const RowLayout& layout) const {
    std::vector<std::string> texts;
    for (std::size_t row = 0; row < layout.rows.size(); ++row) {
      const Row& each = layout.rows[row];
      const double width = each.high_y_m - each.low_y_m;
      if (width < request_.rules.least_row_width.value() - kAlike) {
        texts.push_back("row " + std::to_string(row + 1) + " is " + centimetres(width) +
                        " wide; the floor is no wider there");
      }
      for (const auto& run : each.runs) {
        for (const Piece& piece : run) {
          if (piece.length_m() < least_ - kAlike) {
            texts.push_back("row " + std::to_string(row + 1) + " has a piece of " +
                            centimetres(piece.length_m()) + "; the room is no longer there");
          }
        }
      }
    }
    return texts;
  }

  const LayoutRequest& request_;
  double length_;
  double least_;
  double offset_;
  double saw_;
  std::vector<Arrangement> beam_;
  std::vector<Row> heights_;
};

std::optional<std::string> fault_of(const LayoutRequest& request) {
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
  if (!(height > kAlike)) {
    return "the floor has no width";
  }
  if (height / request.panel.width.value() > static_cast<double>(kMostRows)) {
    return "more than " + std::to_string(kMostRows) + " rows";
  }
  return std::nullopt;
}

}  // namespace

std::vector<double> row_widths_m(double height_m, double panel_width_m) {
  const double whole = std::floor(height_m / panel_width_m + kAlike);
  const double rest = height_m - whole * panel_width_m;
  if (rest <= kAlike) {
    return std::vector<double>(static_cast<std::size_t>(whole), panel_width_m);
  }
  if (whole < 1.0) {
    return {height_m};
  }
  // Two rows share what does not come out even, so that neither is less than half a panel.
  std::vector<double> widths(static_cast<std::size_t>(whole) + 1, panel_width_m);
  widths.front() = (panel_width_m + rest) / 2.0;
  widths.back() = widths.front();
  return widths;
}

base::Result<RowLayout, std::string> row_layout_from(const LayoutRequest& request) {
  if (auto fault = fault_of(request)) {
    return base::Failure{std::move(*fault)};
  }
  const double height = request.field.high_y_m - request.field.low_y_m;
  return RowSolver(request).solve(row_widths_m(height, request.panel.width.value()));
}

}  // namespace analysis::plan
