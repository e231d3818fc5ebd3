// Dwell accounting, guarded decisions and the probability of a wrong ready over the logs.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "analysis/readiness/gates/gates.hpp"
#include "analysis/readiness/room_replay.hpp"
#include "tests/real_data/peer_dwell.hpp"
#include "tests/real_data/real_log.hpp"

using namespace analysis::readiness;
using namespace real_data;
using analysis::base::ChannelRole;
using analysis::base::micros_from_hours;
using analysis::base::rh_from_percent;

namespace {

const std::string kBox = "box-1";
constexpr double kTemperatureAccuracy = 0.3;  // half width, K
constexpr double kHumidityAccuracy = 2.0;     // half width, %RH

ChannelSetup channel(int index, const std::string& id, ChannelRole role, double accuracy) {
  ChannelSetup setup;
  setup.box_id = kBox;
  setup.channel_index = index;
  setup.channel_id = id;
  setup.scale.role = role;
  setup.specification = SensorSpecification{accuracy, 0.0, 0.0, "stated for the test"};
  return setup;
}

// Longer than three intervals of the log = unknown.
double longest_interval_s(const RoomLog& log) { return 3.0 * 3600.0 / log.rows_an_hour; }

FloorRequirements requirements_of(const RoomLog& log, const PeerBand& band, DecisionRule rule) {
  FloorRequirements r;
  r.temperature_low.value = Celsius{band.celsius_low};
  r.temperature_high.value = Celsius{band.celsius_high};
  r.rh_low.value = rh_from_percent(band.percent_low);
  r.rh_high.value = rh_from_percent(band.percent_high);
  r.longest_interval.value = micros_from_hours(longest_interval_s(log) / 3600.0);
  r.decision.value = rule;
  return r;
}

RoomReplay replay_from(const FloorRequirements& requirements, UtcMicros delivered) {
  RoomSetup setup;
  setup.room_id = "room";
  setup.requirements = requirements;
  setup.channels = {channel(0, "air-t", ChannelRole::room_air_temperature, kTemperatureAccuracy),
                    channel(1, "air-rh", ChannelRole::room_air_rh, kHumidityAccuracy)};
  setup.delivered_at = delivered;
  return RoomReplay(setup);
}

analysis::base::Record record_of(const LogRow& row) {
  analysis::base::Record record;
  record.raw_counts[0] = static_cast<std::int32_t>(std::lround(row.celsius * 100.0));
  record.raw_counts[1] = static_cast<std::int32_t>(std::lround(row.percent_rh * 100.0));
  return record;
}

struct Outcome {
  DwellState state;
  double longest_run_seconds = 0.0;
  int resets_by_excursion = 0;
  int resets_by_budget = 0;
  int resets_by_unknown = 0;

  [[nodiscard]] std::string text() const {
    const double span =
        state.total_in_seconds + state.total_out_seconds + state.total_unknown_seconds;
    return text_of(state.total_in_seconds / 3600.0, 1) + " h in band of " +
           text_of(span / 3600.0, 1) + " h, longest run " +
           text_of(longest_run_seconds / 3600.0, 1) + " h, resets " +
           std::to_string(resets_by_excursion) + " excursion + " +
           std::to_string(resets_by_budget) + " budget + " + std::to_string(resets_by_unknown) +
           " unknown, 48 h " + (state.done_at ? "reached" : "never reached");
  }
};

Outcome outcome_of(const std::vector<LogRow>& rows, const FloorRequirements& requirements) {
  RoomReplay replay = replay_from(requirements, rows.front().at);
  Outcome outcome;
  for (const LogRow& row : rows) {
    for (const DwellReset& reset : replay.add(kBox, record_of(row), row.at).resets) {
      outcome.longest_run_seconds = std::max(outcome.longest_run_seconds, reset.lost_seconds);
      outcome.resets_by_excursion += reset.reason == ResetReason::excursion ? 1 : 0;
      outcome.resets_by_budget += reset.reason == ResetReason::excursion_budget ? 1 : 0;
      outcome.resets_by_unknown += reset.reason == ResetReason::unknown ? 1 : 0;
    }
  }
  outcome.state = replay.dwell();
  outcome.longest_run_seconds =
      std::max(outcome.longest_run_seconds, outcome.state.in_band_seconds);
  return outcome;
}

double span_seconds(const std::vector<LogRow>& rows) {
  return static_cast<double>((rows.back().at - rows.front().at).count()) / 1e6;
}

void check_totals(const Outcome& outcome, const std::vector<LogRow>& rows,
                  const std::vector<PeerPiece>& pieces) {
  const DwellState& state = outcome.state;
  CHECK(state.rejected == 0);
  CHECK(state.total_in_seconds + state.total_out_seconds + state.total_unknown_seconds ==
        Approx(span_seconds(rows)).epsilon(0).margin(1e-3));
  CHECK(state.total_in_seconds == Approx(peer_total(pieces, PeerKind::in)).epsilon(0).margin(1e-3));
  CHECK(state.total_out_seconds ==
        Approx(peer_total(pieces, PeerKind::out)).epsilon(0).margin(1e-3));
  CHECK(state.total_unknown_seconds ==
        Approx(peer_total(pieces, PeerKind::unknown)).epsilon(0).margin(1e-3));
}

void check_runs(const Outcome& outcome, const std::vector<LogRow>& rows,
                const std::vector<PeerPiece>& pieces, const PeerRules& rules = {}) {
  check_totals(outcome, rows, pieces);
  const PeerRuns runs = peer_runs(pieces, rules);
  CHECK(outcome.longest_run_seconds == Approx(runs.longest_seconds).epsilon(0).margin(1e-3));
  CHECK(outcome.resets_by_excursion == runs.resets_by_excursion);
  CHECK(outcome.resets_by_budget == runs.resets_by_budget);
  CHECK(outcome.resets_by_unknown == 0);
  REQUIRE(outcome.state.done_at.has_value() == runs.done_after_seconds.has_value());
  if (runs.done_after_seconds) {
    CHECK(static_cast<double>((*outcome.state.done_at - rows.front().at).count()) / 1e6 ==
          Approx(*runs.done_after_seconds).epsilon(0).margin(1e-3));
  }
}

// Limits of equal likelihood for the accuracy, and half a count each way; k = 2 of both together.
double guard_of(double accuracy) {
  return 2.0 * std::sqrt((accuracy * accuracy + 0.005 * 0.005) / 3.0);
}

PeerBand guarded(const PeerBand& band) {
  const double kelvin = guard_of(kTemperatureAccuracy);
  const double percent = guard_of(kHumidityAccuracy);
  return {band.celsius_low + kelvin, band.celsius_high - kelvin, band.percent_low + percent,
          band.percent_high - percent};
}

// The default band, and one that each house keeps for days on end.
PeerBand wide_band_of(const RoomLog& log) {
  return log.rows_an_hour == 6 ? PeerBand{12.0, 24.0, 30.0, 60.0}
                               : PeerBand{20.0, 25.0, 20.0, 50.0};
}

struct CompletedRun {
  PeerBand band;  // the limits that the truth has to keep
  std::vector<LogRow> counted;
  bool crossed_limit = false;  // it began by entering the band, or holds a forgiven excursion
  double stated = 0.0;
};

// One run after the other: each begins with the reading after the last was complete.
std::vector<CompletedRun> completed_runs(const RoomLog& log, DecisionRule rule) {
  const PeerBand band = wide_band_of(log);
  const PeerBand counts = rule == DecisionRule::guarded ? guarded(band) : band;
  const FloorRequirements requirements = requirements_of(log, band, rule);
  std::vector<CompletedRun> runs;
  RoomReplay replay = replay_from(requirements, log.rows.front().at);
  for (std::size_t i = 0; i < log.rows.size(); ++i) {
    const LogRow& row = log.rows[i];
    replay.add(kBox, record_of(row), row.at);
    if (!replay.dwell().done_at) {
      continue;
    }
    const GateResult gate = gates::dwell_gate(requirements, replay.evidence(row.at));
    CompletedRun run{band, {}, false, -1.0};
    if (gate.state == GateState::met) {
      REQUIRE(gate.wrong_probability.has_value());
      run.stated = *gate.wrong_probability;
      for (std::size_t j = i + 1; j-- > 0 && log.rows[j].at >= *replay.dwell().run_started_at;) {
        const bool in = counts.holds(log.rows[j].celsius, log.rows[j].percent_rh);
        run.crossed_limit = run.crossed_limit || !in;
        if (in) {
          run.counted.push_back(log.rows[j]);
        }
      }
      // The crossing is part of the run, and lies between two readings.
      run.crossed_limit =
          run.crossed_limit || run.counted.back().at != *replay.dwell().run_started_at;
      runs.push_back(run);
    }
    if (i + 1 < log.rows.size()) {
      replay = replay_from(requirements, log.rows[i + 1].at);
    }
  }
  return runs;
}

constexpr int kDraws = 1000;

struct Simulated {
  double wrong = 0.0;      // share of draws in which some counted reading was truly out of band
  double out_hours = 0.0;  // of the 48 in those draws, mean
};

// Draws of the two common errors.
Simulated simulated_from(const CompletedRun& run, std::mt19937& random) {
  std::normal_distribution<double> kelvin{0.0, guard_of(kTemperatureAccuracy) / 2.0};
  std::normal_distribution<double> percent{0.0, guard_of(kHumidityAccuracy) / 2.0};
  int wrong = 0;
  double out = 0.0;
  for (int draw = 0; draw < kDraws; ++draw) {
    const double off_kelvin = kelvin(random);
    const double off_percent = percent(random);
    const auto is_out = [&](const LogRow& row) {
      return !run.band.holds(row.celsius - off_kelvin, row.percent_rh - off_percent);
    };
    const auto first = std::find_if(run.counted.begin(), run.counted.end(), is_out);
    wrong += first != run.counted.end() ? 1 : 0;
    out += static_cast<double>(std::count_if(first, run.counted.end(), is_out));
  }
  const auto readings = static_cast<double>(run.counted.size());
  return {static_cast<double>(wrong) / kDraws, wrong > 0 ? 48.0 * out / readings / wrong : 0.0};
}

struct WrongReady {
  int runs = 0;
  double stated_sum = 0.0;
  double simulated_sum = 0.0;
  double out_hours_sum = 0.0;  // over draws that were wrong, in shares of a draw
  double largest = 0.0;

  [[nodiscard]] std::string text() const {
    return std::to_string(runs) + " runs, stated mean " + text_of(stated_sum / runs, 4) +
           ", simulated " + text_of(simulated_sum / runs, 4) + " (then " +
           text_of(out_hours_sum / simulated_sum, 1) + " of 48 h out), largest stated " +
           text_of(largest, 4);
  }
};

// The stated bound is the simulated share where the run's extremes are readings; a crossing makes
// it larger, because the limit itself is then the extreme.
void check_run(const CompletedRun& run, const Simulated& simulated, WrongReady& all) {
  // Four standard deviations of such a share.
  const double chance = 4.0 * std::sqrt(std::max(run.stated * (1 - run.stated), 1e-3) / kDraws);
  CAPTURE(run.stated, simulated.wrong, run.counted.size(), run.crossed_limit);
  CHECK(run.stated >= simulated.wrong - chance);
  CHECK((run.crossed_limit || run.stated <= simulated.wrong + chance));
  ++all.runs;
  all.stated_sum += run.stated;
  all.simulated_sum += simulated.wrong;
  all.out_hours_sum += simulated.wrong * simulated.out_hours;
  all.largest = std::max(all.largest, run.stated);
}

// Every third day without its readings from 06:00 to 12:30, every fifth from 17:00 to 19:00.
std::vector<LogRow> with_gaps(const std::vector<LogRow>& rows) {
  std::vector<LogRow> kept;
  for (const LogRow& row : rows) {
    const std::int64_t day = day_of(row.at);
    const double hour = static_cast<double>(row.at.value % 86'400'000'000) / 3.6e9;
    const bool lost = (day % 3 == 0 && hour >= 4.0 && hour < 10.5) ||
                      (day % 5 == 0 && hour >= 15.0 && hour < 17.0);
    if (!lost) {
      kept.push_back(row);
    }
  }
  return kept;
}

}  // namespace

TEST_CASE("HoursRunsAndResetsOfRealRoomsAgreeWithABatchAccount") {
  for (const RoomLog* log : {&half_heated_house(), &heated_house()}) {
    for (const PeerBand& band : {PeerBand{}, wide_band_of(*log)}) {
      CAPTURE(log->name, band.percent_low);
      const auto plain = peer_pieces(log->rows, band, longest_interval_s(*log));
      const Outcome simple =
          outcome_of(log->rows, requirements_of(*log, band, DecisionRule::simple));
      check_runs(simple, log->rows, plain);
      const auto drawn_in = peer_pieces(log->rows, guarded(band), longest_interval_s(*log));
      const Outcome guard =
          outcome_of(log->rows, requirements_of(*log, band, DecisionRule::guarded));
      check_runs(guard, log->rows, drawn_in);
      CHECK(guard.state.total_in_seconds < simple.state.total_in_seconds);
      CHECK(guard.longest_run_seconds <= simple.longest_run_seconds);

      FloorRequirements adding = requirements_of(*log, band, DecisionRule::simple);
      adding.cumulative = true;
      const Outcome cumulative = outcome_of(log->rows, adding);
      check_totals(cumulative, log->rows, plain);
      CHECK(cumulative.state.resets == 0);
      CHECK(cumulative.state.in_band_seconds == cumulative.state.total_in_seconds);
      const std::string which =
          "dwell " + log->name + ", RH from " + text_of(band.percent_low, 0) + " %";
      note_figure(which, simple.text());
      note_figure(which + ", guarded", guard.text());
      note_figure(which + ", cumulative", cumulative.text());
    }
  }
}

TEST_CASE("PatientRulesLetTheBudgetEndRunsAsInABatchAccount") {
  const PeerRules rules{3.0, 4.0};
  for (const RoomLog* log : {&half_heated_house(), &heated_house()}) {
    CAPTURE(log->name);
    const PeerBand band = wide_band_of(*log);
    FloorRequirements patient = requirements_of(*log, band, DecisionRule::simple);
    patient.grace.value = micros_from_hours(rules.grace_hours);
    patient.excursion_budget.value = micros_from_hours(rules.budget_hours);
    const Outcome outcome = outcome_of(log->rows, patient);
    check_runs(outcome, log->rows, peer_pieces(log->rows, band, longest_interval_s(*log)), rules);
    CHECK(outcome.resets_by_budget > 0);
    note_figure("dwell " + log->name + ", grace 3 h, budget 4 h", outcome.text());
  }
}

TEST_CASE("ReadingsThatAreMissingAreCountedAsUnknownAndNothingElse") {
  for (const RoomLog* log : {&half_heated_house(), &heated_house()}) {
    CAPTURE(log->name);
    const std::vector<LogRow> rows = with_gaps(log->rows);
    const PeerBand band = wide_band_of(*log);
    const Outcome outcome = outcome_of(rows, requirements_of(*log, band, DecisionRule::simple));
    check_totals(outcome, rows, peer_pieces(rows, band, longest_interval_s(*log)));
    CHECK(outcome.state.total_unknown_seconds > 0.0);
    CHECK(outcome.resets_by_unknown > 0);
    note_figure("dwell " + log->name + ", readings taken out",
                outcome.text() + ", unknown " +
                    text_of(outcome.state.total_unknown_seconds / 3600.0, 1) + " h");
  }
}

TEST_CASE("StatedProbabilityOfAWrongReadyIsNotBelowASimulationWithCommonErrors") {
  const unsigned seed = 20261126;
  CAPTURE(seed);
  std::mt19937 random{seed};
  for (const RoomLog* log : {&half_heated_house(), &heated_house()}) {
    for (const DecisionRule rule : {DecisionRule::simple, DecisionRule::guarded}) {
      CAPTURE(log->name, name_of(rule));
      WrongReady inside;
      WrongReady crossing;
      for (const CompletedRun& run : completed_runs(*log, rule)) {
        check_run(run, simulated_from(run, random), run.crossed_limit ? crossing : inside);
      }
      CHECK(inside.runs > 0);
      CHECK(crossing.runs > 0);
      if (rule == DecisionRule::guarded) {
        // 2.3 % at each end of both channels.
        CHECK(std::max(inside.largest, crossing.largest) < 0.0892);
      }
      const std::string which = "wrong ready " + log->name + ", " + std::string(name_of(rule));
      note_figure(which + ", runs inside throughout", inside.text());
      note_figure(which + ", runs with a crossing", crossing.text());
    }
  }
}
