#include "analysis/plan/layout/panel_use.hpp"

#include <algorithm>
#include <cmath>

namespace analysis::plan {
namespace {

constexpr int kMostPasses = 8;

// A cut piece: where it lies and how long it is.
struct Cut {
  std::size_t run = 0;
  double length = 0.0;
};
struct Couple {
  Cut first;
  Cut last;
};

std::vector<double> lengths_of(const std::vector<Cut>& cuts) {
  std::vector<double> lengths;
  for (const Cut& cut : cuts) {
    lengths.push_back(cut.length);
  }
  return lengths;
}

class PanelSharing {
 public:
  PanelSharing(const std::vector<PanelRun>& runs, const std::vector<double>& starts,
               const RunRules& rules)
      : runs_(runs), starts_(starts), rules_(rules) {
    for (std::size_t i = 0; i < runs_.size(); ++i) {
      take_in(i);
    }
    const auto shorter = [](const Cut& a, const Cut& b) { return a.length < b.length; };
    std::stable_sort(firsts_.begin(), firsts_.end(), shorter);
    std::stable_sort(lasts_.begin(), lasts_.end(), shorter);
    std::stable_sort(single_.begin(), single_.end(),
                     [](const Cut& a, const Cut& b) { return a.length > b.length; });
    begin_panel_.resize(runs_.size());
    end_panel_.resize(runs_.size());
  }

  PanelUse share() {
    pair_up(
        lengths_of(firsts_), lengths_of(lasts_), rules_.room_m(),
        [&](std::size_t i, std::size_t j) {
          couples_.push_back({firsts_[i], lasts_[j]});
        },
        [&](std::size_t i) { alone(firsts_[i], begin_panel_); },
        [&](std::size_t i) { alone(lasts_[i], end_panel_); });
    bring_couples_together();
    for (const Couple& couple : couples_) {
      ++panels_;
      begin_panel_[couple.first.run] = panels_;
      end_panel_[couple.last.run] = panels_;
    }
    place_single();
    return numbered();
  }

 private:
  void take_in(std::size_t run) {
    const RunPieces pieces = pieces_from_start(runs_[run], rules_, starts_[run]);
    if (is_one_piece(runs_[run], rules_)) {
      single_.push_back({run, pieces.start_m});
      return;
    }
    if (!is_whole(pieces.start_m, rules_)) {
      firsts_.push_back({run, pieces.start_m});
    }
    if (!is_whole(pieces.end_m, rules_)) {
      lasts_.push_back({run, pieces.end_m});
    }
  }

  void alone(const Cut& cut, std::vector<int>& panel_of) {
    panel_of[cut.run] = ++panels_;
    alone_.push_back(panels_);
    rests_.push_back(rules_.room_m() - cut.length);
  }

  [[nodiscard]] double apart(const Cut& a, const Cut& b) const {
    const auto row = [&](const Cut& cut) { return static_cast<double>(runs_[cut.run].row); };
    return std::abs(row(a) - row(b));
  }

  // Couples exchange partners while that brings them nearer to each other.
  void bring_couples_together() {
    bool changed = true;
    for (int pass = 0; pass < kMostPasses && changed; ++pass) {
      changed = false;
      for (std::size_t i = 0; i < couples_.size(); ++i) {
        for (std::size_t j = i + 1; j < couples_.size(); ++j) {
          Couple& a = couples_[i];
          Couple& b = couples_[j];
          const bool fits = a.first.length + b.last.length <= rules_.room_m() + kSameLength &&
                            b.first.length + a.last.length <= rules_.room_m() + kSameLength;
          if (fits && apart(a.first, b.last) + apart(b.first, a.last) <
                          apart(a.first, a.last) + apart(b.first, b.last)) {
            std::swap(a.last, b.last);
            changed = true;
          }
        }
      }
    }
  }

  void place_single() {
    place_in_rests(lengths_of(single_), rests_, rules_, [&](std::size_t i, std::size_t rest) {
      if (rest == alone_.size()) {
        alone_.push_back(++panels_);
      }
      begin_panel_[single_[i].run] = alone_[rest];
    });
  }

  PanelUse numbered() {
    PanelUse use;
    std::vector<int> number_of(static_cast<std::size_t>(panels_) + 1);
    const auto number = [&](int panel) {  // 0 = a whole one
      int& found = number_of[static_cast<std::size_t>(panel)];
      if (panel == 0 || found == 0) {
        found = ++use.panels;
      }
      return found;
    };
    for (std::size_t i = 0; i < runs_.size(); ++i) {
      const RunPieces pieces = pieces_from_start(runs_[i], rules_, starts_[i]);
      std::vector<Piece> laid;
      double x = runs_[i].low_x_m;
      const auto lay = [&](double to, int panel) {
        const bool whole = is_whole(to - x, rules_);
        laid.push_back({x, to, number(whole ? 0 : panel), whole});
        x = to;
      };
      if (is_one_piece(runs_[i], rules_)) {
        lay(runs_[i].high_x_m, begin_panel_[i]);
      } else {
        lay(x + pieces.start_m, begin_panel_[i]);
        for (int k = 0; k < pieces.whole; ++k) {
          lay(x + rules_.panel_m, 0);
        }
        lay(runs_[i].high_x_m, end_panel_[i]);
      }
      use.runs.push_back(std::move(laid));
    }
    return use;
  }

  const std::vector<PanelRun>& runs_;
  const std::vector<double>& starts_;
  const RunRules& rules_;
  std::vector<Cut> firsts_;
  std::vector<Cut> lasts_;
  std::vector<Cut> single_;
  std::vector<Couple> couples_;
  std::vector<double> rests_;     // of the panels without a couple
  std::vector<int> alone_;        // those panels
  std::vector<int> begin_panel_;  // of each run's first or only piece
  std::vector<int> end_panel_;
  int panels_ = 0;
};

}  // namespace

PanelUse panel_use_from(const std::vector<PanelRun>& runs, const std::vector<double>& starts_m,
                        const RunRules& rules) {
  return PanelSharing(runs, starts_m, rules).share();
}

}  // namespace analysis::plan
