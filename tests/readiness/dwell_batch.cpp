#include "tests/readiness/dwell_batch.hpp"

#include <algorithm>

namespace dwell_batch {
namespace {

using analysis::readiness::DwellPolicy;
using analysis::readiness::ResetReason;

enum class Kind { in, out, unknown };
struct Piece {
  Kind kind;
  Exact from, to;
};
struct ExcursionSpan {
  Exact from, to;            // first to last time out of band, unknown time between included
  std::vector<Piece> parts;  // out of band only
};

Exact exact_from(analysis::base::Micros d) { return d.count() * kPerMicrosecond; }

// Crossings of `limit` strictly inside an interval of `length` that runs from v0 to v1.
void append_crossing(std::vector<Exact>& cuts, Exact length, int v0, int v1, int limit) {
  if ((v0 < limit && limit < v1) || (v1 < limit && limit < v0)) {
    cuts.push_back(length / (v1 - v0) * (limit - v0));
  }
}

bool within(Exact twice_at, Exact length, int v0, int v1, int low, int high) {
  const Exact scaled = 2 * length * v0 + (v1 - v0) * twice_at;
  return scaled >= 2 * length * low && scaled <= 2 * length * high;
}

void append(std::vector<Piece>& pieces, const Piece& piece) {
  if (!pieces.empty() && pieces.back().kind == piece.kind) {
    pieces.back().to = piece.to;
  } else {
    pieces.push_back(piece);
  }
}

std::vector<Piece> pieces_from(const std::vector<GridReading>& log, const DwellPolicy& policy) {
  std::vector<Piece> pieces;
  for (std::size_t i = 1; i < log.size(); ++i) {
    const GridReading& p = log[i - 1];
    const GridReading& q = log[i];
    const Exact start = (p.at_us - log[0].at_us) * kPerMicrosecond;
    const Exact length = (q.at_us - p.at_us) * kPerMicrosecond;
    if (q.at_us - p.at_us > policy.longest_interval.count() || !p.celsius || !q.celsius ||
        !p.rh_steps || !q.rh_steps) {
      append(pieces, {Kind::unknown, start, start + length});
      continue;
    }
    std::vector<Exact> cuts{0, length};
    append_crossing(cuts, length, *p.celsius, *q.celsius, kTemperatureLow);
    append_crossing(cuts, length, *p.celsius, *q.celsius, kTemperatureHigh);
    append_crossing(cuts, length, *p.rh_steps, *q.rh_steps, kRhLow);
    append_crossing(cuts, length, *p.rh_steps, *q.rh_steps, kRhHigh);
    std::sort(cuts.begin(), cuts.end());
    for (std::size_t k = 1; k < cuts.size(); ++k) {
      const Exact middle = cuts[k - 1] + cuts[k];
      if (cuts[k] > cuts[k - 1]) {
        const bool in =
            within(middle, length, *p.celsius, *q.celsius, kTemperatureLow, kTemperatureHigh) &&
            within(middle, length, *p.rh_steps, *q.rh_steps, kRhLow, kRhHigh);
        append(pieces, {in ? Kind::in : Kind::out, start + cuts[k - 1], start + cuts[k]});
      }
    }
  }
  return pieces;
}

std::vector<ExcursionSpan> excursions_from(const std::vector<Piece>& pieces) {
  std::vector<ExcursionSpan> spans;
  bool open = false;
  for (const Piece& piece : pieces) {
    if (piece.kind == Kind::in) {
      open = false;
    } else if (piece.kind == Kind::out) {
      if (!open) {
        spans.push_back({piece.from, piece.to, {}});
        open = true;
      }
      spans.back().to = piece.to;
      spans.back().parts.push_back(piece);
    }
  }
  return spans;
}

Exact measure(const std::vector<Piece>& pieces, Kind kind, Exact from, Exact to) {
  Exact sum = 0;
  for (const Piece& piece : pieces) {
    if (piece.kind == kind) {
      sum += std::max<Exact>(0, std::min(piece.to, to) - std::max(piece.from, from));
    }
  }
  return sum;
}

// The instant at which `kind` since `from` adds up to `amount`; nullopt where `strictly` more is
// wanted and the log never has more, or it has less.
std::optional<Exact> instant_of(const std::vector<Piece>& pieces, Kind kind, Exact from,
                                Exact amount, bool strictly) {
  for (const Piece& piece : pieces) {
    if (piece.kind != kind || piece.to <= from) {
      continue;
    }
    const Exact before = measure(pieces, kind, from, piece.from);
    const Exact after = before + piece.to - std::max(piece.from, from);
    if (strictly ? after > amount : after >= amount) {
      return std::max(piece.from, from) + amount - before;
    }
  }
  return std::nullopt;
}

std::optional<Break> break_of_run(const std::vector<Piece>& pieces,
                                  const std::vector<ExcursionSpan>& excursions, Exact run_start,
                                  const DwellPolicy& policy) {
  if (policy.cumulative) {
    return std::nullopt;
  }
  std::optional<Break> found;
  const auto unknown =
      instant_of(pieces, Kind::unknown, run_start, exact_from(policy.longest_unknown), true);
  if (unknown) {
    found = Break{*unknown, *unknown, ResetReason::unknown};
  }
  Exact left = exact_from(policy.excursion_budget);
  const Exact grace = exact_from(policy.grace);
  for (const ExcursionSpan& span : excursions) {
    if (span.from < run_start) {
      continue;
    }
    const Exact limit = span.from + std::min(grace, left);
    for (const Piece& part : span.parts) {
      if (part.to > limit) {
        const Exact known = std::max(limit, part.from);
        if (!found || known < found->known) {
          found = Break{limit, known,
                        left < grace ? ResetReason::excursion_budget : ResetReason::excursion};
        }
        return found;
      }
    }
    left -= span.to - span.from;
  }
  return found;
}

}  // namespace

Outcome outcome_from_log(const std::vector<GridReading>& log, const DwellPolicy& policy) {
  const std::vector<Piece> pieces = pieces_from(log, policy);
  const std::vector<ExcursionSpan> excursions = excursions_from(pieces);
  const Exact end = pieces.empty() ? 0 : pieces.back().to;
  Outcome outcome;
  outcome.total_in = measure(pieces, Kind::in, 0, end);
  outcome.total_out = measure(pieces, Kind::out, 0, end);
  outcome.total_unknown = measure(pieces, Kind::unknown, 0, end);
  Exact from = 0;
  while (true) {
    const auto start = std::find_if(pieces.begin(), pieces.end(), [&](const Piece& piece) {
      return piece.kind == Kind::in && piece.from >= from;
    });
    if (start == pieces.end()) {
      return outcome;
    }
    const auto broken = break_of_run(pieces, excursions, start->from, policy);
    const Exact run_end = broken ? broken->known : end;
    if (!outcome.done) {
      const auto done =
          instant_of(pieces, Kind::in, start->from, exact_from(policy.required), false);
      if (done && *done <= run_end) {
        outcome.done = done;
      }
    }
    if (!broken) {
      outcome.in_run = measure(pieces, Kind::in, start->from, end);
      return outcome;
    }
    outcome.breaks.push_back(*broken);
    from = broken->known;
  }
}

}  // namespace dwell_batch
