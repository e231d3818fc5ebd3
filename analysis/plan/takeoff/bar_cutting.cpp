#include "analysis/plan/takeoff/bar_cutting.hpp"

#include <algorithm>
#include <cmath>
#include <functional>

namespace analysis::plan {
namespace {

constexpr double kLoose = 1e-9;
constexpr int kMostBranches = 100'000;

int first_fit(const std::vector<double>& lengths, double bar) {
  std::vector<double> rests;
  for (const double length : lengths) {
    const auto fits = std::find_if(rests.begin(), rests.end(),
                                   [&](double rest) { return rest >= length - kLoose; });
    if (fits != rests.end()) {
      *fits -= length;
    } else {
      rests.push_back(bar - length);
    }
  }
  return static_cast<int>(rests.size());
}

// Whether falling `lengths` fit into `most` bars; gives up silently when the steps run out.
class BarSearch {
 public:
  BarSearch(const std::vector<double>& lengths, double bar, int most)
      : lengths_(lengths), bar_(bar), most_(static_cast<std::size_t>(most)) {}
  bool fits() { return place(0); }

 private:
  bool place(std::size_t next) {
    if (next == lengths_.size()) {
      return true;
    }
    if (++steps_ > kMostBranches) {
      return false;
    }
    const double length = lengths_[next];
    for (std::size_t i = 0; i < rests_.size(); ++i) {
      // Two bars with the same rest are the same choice.
      const auto end = rests_.begin() + static_cast<std::ptrdiff_t>(i);
      const bool tried = std::any_of(
          rests_.begin(), end, [&](double rest) { return std::abs(rest - rests_[i]) <= kLoose; });
      if (tried || rests_[i] < length - kLoose) {
        continue;
      }
      rests_[i] -= length;
      if (place(next + 1)) {
        return true;
      }
      rests_[i] += length;
    }
    if (rests_.size() < most_) {
      rests_.push_back(bar_ - length);
      if (place(next + 1)) {
        return true;
      }
      rests_.pop_back();
    }
    return false;
  }

  const std::vector<double>& lengths_;
  double bar_;
  std::size_t most_;
  std::vector<double> rests_;
  int steps_ = 0;
};

}  // namespace

int least_bars_from(const std::vector<base::Metres>& lengths, base::Metres bar,
                    base::Metres saw_cut) {
  int whole_bars = 0;
  double sum = 0.0;
  // Each length and each bar with one saw cut more, so that n lengths in a bar lose n - 1 cuts.
  std::vector<double> rests;
  const double room = bar.value() + saw_cut.value();
  for (const base::Metres length : lengths) {
    const double whole = std::floor(length.value() / bar.value() + kLoose);
    whole_bars += static_cast<int>(whole);
    const double rest = length.value() - whole * bar.value();
    if (rest > kLoose) {
      rests.push_back(rest + saw_cut.value());
      sum += rests.back();
    }
  }
  std::sort(rests.begin(), rests.end(), std::greater<>());
  int bars = first_fit(rests, room);
  const int least = static_cast<int>(std::ceil(sum / room - kLoose));
  while (bars > least && BarSearch(rests, room, bars - 1).fits()) {
    --bars;
  }
  return whole_bars + bars;
}

}  // namespace analysis::plan
