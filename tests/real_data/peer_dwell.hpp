// Dwell accounting worked out a second time over a whole log at once. Header of the tests.
#pragma once

#include <algorithm>
#include <cstddef>
#include <optional>
#include <vector>

#include "tests/real_data/real_log.hpp"

namespace real_data {

struct PeerBand {
  double celsius_low = 17.0;
  double celsius_high = 23.0;
  double percent_low = 45.0;
  double percent_high = 60.0;

  [[nodiscard]] bool holds(double celsius, double percent) const {
    return celsius >= celsius_low && celsius <= celsius_high && percent >= percent_low &&
           percent <= percent_high;
  }
};

enum class PeerKind { in, out, unknown };

struct PeerPiece {
  PeerKind kind = PeerKind::out;
  double seconds = 0.0;
};

// Every interval is cut where a line meets a limit, and each part is judged by its middle.
inline std::vector<PeerPiece> peer_pieces(const std::vector<LogRow>& rows, const PeerBand& band,
                                          double longest_interval_s) {
  std::vector<PeerPiece> pieces;
  const auto append = [&](PeerKind kind, double seconds) {
    if (seconds <= 0.0) {
      return;
    }
    if (pieces.empty() || pieces.back().kind != kind) {
      pieces.push_back({kind, 0.0});
    }
    pieces.back().seconds += seconds;
  };
  for (std::size_t i = 1; i < rows.size(); ++i) {
    const LogRow& a = rows[i - 1];
    const LogRow& b = rows[i];
    const double seconds = static_cast<double>((b.at - a.at).count()) / 1e6;
    if (seconds > longest_interval_s) {
      append(PeerKind::unknown, seconds);
      continue;
    }
    std::vector<double> cuts{0.0, 1.0};
    const auto cut_at = [&](double limit, double from, double to) {
      if ((from - limit) * (to - limit) < 0.0) {
        cuts.push_back((limit - from) / (to - from));
      }
    };
    cut_at(band.celsius_low, a.celsius, b.celsius);
    cut_at(band.celsius_high, a.celsius, b.celsius);
    cut_at(band.percent_low, a.percent_rh, b.percent_rh);
    cut_at(band.percent_high, a.percent_rh, b.percent_rh);
    std::sort(cuts.begin(), cuts.end());
    for (std::size_t c = 1; c < cuts.size(); ++c) {
      const double middle = 0.5 * (cuts[c - 1] + cuts[c]);
      const bool in = band.holds(a.celsius + middle * (b.celsius - a.celsius),
                                 a.percent_rh + middle * (b.percent_rh - a.percent_rh));
      append(in ? PeerKind::in : PeerKind::out, (cuts[c] - cuts[c - 1]) * seconds);
    }
  }
  return pieces;
}

inline double peer_total(const std::vector<PeerPiece>& pieces, PeerKind kind) {
  double total = 0.0;
  for (const PeerPiece& piece : pieces) {
    total += piece.kind == kind ? piece.seconds : 0.0;
  }
  return total;
}

struct PeerRuns {
  double longest_seconds = 0.0;
  int resets_by_excursion = 0;
  int resets_by_budget = 0;
  std::optional<double> done_after_seconds;  // since the first reading
};

struct PeerRules {
  double grace_hours = 0.25;
  double budget_hours = 1.0;
};

// With 48 h required. REQUIRES: no unknown piece.
inline PeerRuns peer_runs(const std::vector<PeerPiece>& pieces, const PeerRules& rules) {
  const double grace = 3600.0 * rules.grace_hours;
  PeerRuns runs;
  double run = 0.0;
  double forgiven = 0.0;
  double elapsed = 0.0;
  for (const PeerPiece& piece : pieces) {
    if (piece.kind == PeerKind::in) {
      if (!runs.done_after_seconds && run + piece.seconds >= 48 * 3600.0) {
        runs.done_after_seconds = elapsed + 48 * 3600.0 - run;
      }
      run += piece.seconds;
      runs.longest_seconds = std::max(runs.longest_seconds, run);
    } else if (run > 0.0) {
      // The rule that is broken first gives the reason.
      const double budget_left = 3600.0 * rules.budget_hours - forgiven;
      if (piece.seconds > std::min(grace, budget_left)) {
        ++(budget_left < grace ? runs.resets_by_budget : runs.resets_by_excursion);
        run = 0.0;
        forgiven = 0.0;
      } else {
        forgiven += piece.seconds;
      }
    }
    elapsed += piece.seconds;
  }
  return runs;
}

}  // namespace real_data
