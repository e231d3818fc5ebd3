#include "analysis/plan/layout/run_starts.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <random>

#include "analysis/plan/layout/first_guess.hpp"
#include "analysis/plan/layout/panel_use.hpp"

namespace analysis::plan {
namespace {

// Steps of the search: for each run, and at most.
constexpr int kQuickStepsForRun = 600;
constexpr int kThoroughStepsForRun = 6000;
constexpr int kMostSteps = 400000;
// Prices, in panels. Joints that come too near are never worth a panel; a short piece only decides
// between arrangements that need the same.
constexpr double kNearJoint = 20.0;
constexpr double kShortPiece = 0.02;
constexpr double kMisfit = 0.6;  // of a first and a last piece that are too long for one panel
constexpr double kHot = 0.6;
constexpr double kCold = 0.03;

// Sorted values with their place kept as one is exchanged for another.
class SortedLengths {
 public:
  void add(double value) {
    values_.insert(std::upper_bound(values_.begin(), values_.end(), value), value);
  }
  void remove(double value) {
    values_.erase(std::lower_bound(values_.begin(), values_.end(), value));
  }
  [[nodiscard]] const std::vector<double>& values() const { return values_; }

 private:
  std::vector<double> values_;
};

double misfit_of(const std::vector<double>& firsts, const std::vector<double>& lasts, double room) {
  const std::size_t count = std::min(firsts.size(), lasts.size());
  double misfit = 0.0;
  for (std::size_t i = 0; i < count; ++i) {
    misfit += std::max(0.0, firsts[i] + lasts[count - 1 - i] - room);
  }
  return misfit;
}

struct Worth {
  double near_joints = 0.0;
  int panels = 0;
  int short_pieces = 0;
  double misfit = 0.0;
  [[nodiscard]] double price(const RunRules& rules) const {
    return near_joints * kNearJoint + panels + short_pieces * kShortPiece +
           misfit * kMisfit / rules.panel_m;
  }
  [[nodiscard]] bool is_better_than(const Worth& other) const {
    if (std::abs(near_joints - other.near_joints) > kSameLength) {
      return near_joints < other.near_joints;
    }
    return panels != other.panels ? panels < other.panels : short_pieces < other.short_pieces;
  }
};

class StartSearch {
 public:
  StartSearch(const std::vector<PanelRun>& runs, const RunRules& rules, std::vector<double> starts)
      : runs_(runs), rules_(rules), starts_(std::move(starts)) {
    double length = 0.0;
    for (std::size_t i = 0; i < runs_.size(); ++i) {
      length += runs_[i].length_m();
      if (is_one_piece(runs_[i], rules_)) {
        single_.push_back(runs_[i].length_m());
        continue;
      }
      free_.push_back(i);
      take_in(i);
    }
    std::sort(single_.begin(), single_.end(), std::greater<>());
    least_panels_ = static_cast<int>(std::ceil(length / rules_.panel_m - kSameLength));
    find_neighbours();
    for (const std::size_t i : free_) {
      worth_.near_joints += near_joints_of(i, starts_[i]) / 2.0;
    }
    weigh(worth_);
  }

  [[nodiscard]] const Worth& worth() const { return worth_; }

  std::vector<double> search(LayoutEffort effort) {
    best_ = starts_;
    best_worth_ = worth_;
    const int for_run = effort == LayoutEffort::quick ? kQuickStepsForRun : kThoroughStepsForRun;
    const int steps = std::min(kMostSteps, for_run * static_cast<int>(free_.size()));
    for (int step = 0; step < steps && !is_perfect(); ++step) {
      const double heat = kHot * std::pow(kCold / kHot, static_cast<double>(step) / steps);
      try_change(heat);
    }
    leave_whole();
    return best_;
  }

 private:
  [[nodiscard]] bool is_perfect() const {
    return best_worth_.near_joints <= kSameLength && best_worth_.panels <= least_panels_ &&
           best_worth_.short_pieces == 0;
  }

  void find_neighbours() {
    neighbours_.resize(runs_.size());
    for (std::size_t i = 0; i < runs_.size(); ++i) {
      for (std::size_t j = i + 1; j < runs_.size() && runs_[j].row <= runs_[i].row + 1; ++j) {
        if (runs_[j].row == runs_[i].row + 1 && !is_one_piece(runs_[i], rules_) &&
            !is_one_piece(runs_[j], rules_)) {
          neighbours_[i].push_back(j);
          neighbours_[j].push_back(i);
        }
      }
    }
  }

  // 1 for each run beside it whose joints come too near, and up to 1 more for how near.
  [[nodiscard]] double near_joints_of(std::size_t run, double start) const {
    double near = 0.0;
    for (const std::size_t other : neighbours_[run]) {
      const double distance =
          joint_distance_m(runs_[run], start, runs_[other], starts_[other], rules_);
      if (distance < rules_.least_offset_m - kSameLength) {
        near += 2.0 - distance / rules_.least_offset_m;
      }
    }
    return near;
  }

  void count(std::size_t run, int sign) {
    const RunPieces pieces = pieces_from_start(runs_[run], rules_, starts_[run]);
    whole_ += sign * pieces.whole;
    const auto count_piece = [&](double length, SortedLengths& lengths) {
      if (is_whole(length, rules_)) {
        whole_ += sign;
      } else if (sign > 0) {
        lengths.add(length);
      } else {
        lengths.remove(length);
      }
      short_pieces_ += length < 1.5 * rules_.least_piece_m ? sign : 0;
    };
    count_piece(pieces.start_m, firsts_);
    count_piece(pieces.end_m, lasts_);
  }
  void take_in(std::size_t run) { count(run, 1); }
  void take_out(std::size_t run) { count(run, -1); }

  void weigh(Worth& worth) {
    const double room = rules_.room_m();
    const auto& firsts = firsts_.values();
    const auto& lasts = lasts_.values();
    rests_.clear();
    const int pairs = pair_up(
        firsts, lasts, room, [](std::size_t, std::size_t) {},
        [&](std::size_t i) { rests_.push_back(room - firsts[i]); },
        [&](std::size_t i) { rests_.push_back(room - lasts[i]); });
    const std::size_t alone = rests_.size();
    place_in_rests(single_, rests_, rules_, [](std::size_t, std::size_t) {});
    worth.panels = whole_ + pairs + static_cast<int>(std::max(alone, rests_.size()));
    worth.misfit = misfit_of(firsts, lasts, room);
    worth.short_pieces = short_pieces_;
  }

  void try_change(double heat) {
    const std::size_t run = free_[pick(free_.size())];
    const double old_start = starts_[run];
    const double start = proposed(run);
    if (!is_allowed_start(runs_[run], start, rules_) ||
        std::abs(start - old_start) <= kSameLength) {
      return;
    }
    Worth worth = worth_;
    worth.near_joints += near_joints_of(run, start) - near_joints_of(run, old_start);
    const double budget = worth_.price(rules_) - heat * std::log(unit());
    // No change of one run saves more than three panels.
    if (worth.near_joints * kNearJoint > worth_.near_joints * kNearJoint + 3.0 + 5.0 * heat) {
      return;
    }
    take_out(run);
    starts_[run] = start;
    take_in(run);
    weigh(worth);
    if (worth.price(rules_) <= budget) {
      worth_ = worth;
      if (worth_.is_better_than(best_worth_)) {
        best_worth_ = worth_;
        best_ = starts_;
      }
      return;
    }
    take_out(run);
    starts_[run] = old_start;
    take_in(run);
  }

  // A run begins or ends with a whole panel where that costs no panel, breaks no rule and saves a
  // saw cut: a panel that is only trimmed by some millimetres leaves nothing that is of use.
  void leave_whole() {
    for (const std::size_t run : free_) {
      take_out(run);
      starts_[run] = best_[run];
      take_in(run);
    }
    worth_ = best_worth_;
    for (const std::size_t run : free_) {
      for (const double start : {rules_.panel_m, wrapped_start(runs_[run].length_m(), rules_)}) {
        leave_whole(run, start);
      }
    }
    best_ = starts_;
  }
  void leave_whole(std::size_t run, double start) {
    const double old_start = starts_[run];
    if (!is_allowed_start(runs_[run], start, rules_)) {
      return;
    }
    const std::size_t old_cuts = firsts_.values().size() + lasts_.values().size();
    Worth worth = worth_;
    worth.near_joints += near_joints_of(run, start) - near_joints_of(run, old_start);
    take_out(run);
    starts_[run] = start;
    take_in(run);
    weigh(worth);
    if (firsts_.values().size() + lasts_.values().size() < old_cuts &&
        worth.near_joints <= worth_.near_joints + kSameLength && worth.panels <= worth_.panels &&
        worth.short_pieces <= worth_.short_pieces) {
      worth_ = worth;
      return;
    }
    take_out(run);
    starts_[run] = old_start;
    take_in(run);
  }

  [[nodiscard]] double proposed(std::size_t run) {
    const double length = runs_[run].length_m();
    const double room = rules_.room_m();
    const std::size_t other = free_[pick(free_.size())];
    switch (pick(8)) {
      case 0:
      case 1:  // what the last piece of another run leaves over
        return room - pieces_from_start(runs_[other], rules_, starts_[other]).end_m;
      case 2:
      case 3:  // a last piece out of what the first one of another run leaves over
        return wrapped_start(length - (room - starts_[other]), rules_);
      case 4:  // whole at one end, or the shortest that is allowed
        return std::array{rules_.panel_m, wrapped_start(length, rules_), rules_.least_piece_m,
                          wrapped_start(length - rules_.least_piece_m, rules_)}[pick(4)];
      case 5: {  // as near to the joints beside it as is allowed
        if (neighbours_[run].empty()) {
          return rules_.panel_m * unit();
        }
        const std::size_t beside = neighbours_[run][pick(neighbours_[run].size())];
        const double joint = runs_[beside].low_x_m + starts_[beside] - runs_[run].low_x_m;
        return wrapped_start(joint + (pick(2) == 0 ? 1.0 : -1.0) * rules_.least_offset_m, rules_);
      }
      case 6:  // a little aside
        return starts_[run] + (unit() - 0.5) * 0.2 * rules_.panel_m;
      default:
        return rules_.panel_m * unit();
    }
  }

  std::size_t pick(std::size_t count) { return random_() % count; }
  double unit() { return (static_cast<double>(random_()) + 0.5) / 4294967296.0; }

  const std::vector<PanelRun>& runs_;
  const RunRules& rules_;
  std::vector<double> starts_;
  std::vector<std::size_t> free_;  // runs of more than one piece
  std::vector<double> single_;     // lengths of the others, the longest first
  std::vector<std::vector<std::size_t>> neighbours_;
  SortedLengths firsts_;
  SortedLengths lasts_;
  std::vector<double> rests_;
  int whole_ = 0;
  int short_pieces_ = 0;
  int least_panels_ = 0;
  Worth worth_;
  Worth best_worth_;
  std::vector<double> best_;
  std::mt19937 random_{20260301};
};

}  // namespace

std::vector<double> starts_from(const std::vector<PanelRun>& runs, const RunRules& rules,
                                LayoutEffort effort) {
  if (runs.empty()) {
    return {};
  }
  StartSearch simple(runs, rules, starts_by_simple_rule(runs, rules));
  StartSearch phases(runs, rules, starts_by_phases(runs, rules));
  return (phases.worth().is_better_than(simple.worth()) ? phases : simple).search(effort);
}

}  // namespace analysis::plan
