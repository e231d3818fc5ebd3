#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include "analysis/certificate/fields/fact_fields.hpp"
#include "analysis/certificate/readings_file.hpp"
#include "analysis/evidence/checkpoint.hpp"
#include "analysis/evidence/merkle_tree.hpp"

namespace analysis::certificate {
namespace {

using Contradiction = std::optional<std::string>;

constexpr std::size_t kMostInstruments = 1024;  // of one room; bounds what a replay holds

std::string in_quotes(std::string_view text) { return "\"" + std::string(text) + "\""; }

Contradiction in_times(const CertificateFacts& f) {
  if (f.period.from >= f.period.to) {
    return "period: ends at " + base::rfc3339_from_utc(f.period.to) + ", not after its start";
  }
  if (f.issued_at < f.period.to) {
    return "issued_at: " + base::rfc3339_from_utc(f.issued_at) + " is before the period's end";
  }
  if (f.assessment.at != f.period.to) {
    return "assessment: is of " + base::rfc3339_from_utc(f.assessment.at) +
           ", not of the period's end";
  }
  return std::nullopt;
}

Contradiction in_instruments(const CertificateFacts& f) {
  std::set<std::pair<std::string, int>> places;
  std::set<std::string> ids;
  if (f.instruments.size() > kMostInstruments) {
    return "instruments: " + std::to_string(f.instruments.size()) + ", expected at most " +
           std::to_string(kMostInstruments);
  }
  for (const InstrumentFacts& instrument : f.instruments) {
    const readiness::ChannelSetup& c = instrument.channel;
    const std::string where = "instrument " + in_quotes(c.channel_id) + ": ";
    if (!is_plain_name(c.box_id)) {
      return where + "box id " + in_quotes(c.box_id) +
             " has other than letters, digits, '-', '_', '.'";
    }
    if (c.channel_index < 0 || std::cmp_greater_equal(c.channel_index, base::kMaxChannels)) {
      return where + "channel " + std::to_string(c.channel_index) + ", expected 0 to 7";
    }
    if (c.channel_id.empty() || !ids.insert(c.channel_id).second ||
        !places.emplace(c.box_id, c.channel_index).second) {
      return where + "two instruments share an id or a channel";
    }
    const auto later = [](const auto& a, const auto& b) { return a.valid_from >= b.valid_from; };
    if (std::ranges::adjacent_find(c.calibrations, later) != c.calibrations.end()) {
      return where + "calibrations are not in order of time";
    }
  }
  return std::nullopt;
}

Contradiction in_notes(const CertificateFacts& f) {
  std::set<readiness::SiteGate> seen;
  for (const auto* notes : {&f.site_gates, &f.open_answers}) {
    for (const readiness::SiteGateNote& note : *notes) {
      const std::string where = "site gate " + std::string(readiness::name_of(note.gate)) + ": ";
      if (!seen.insert(note.gate).second) {
        return where + "noted twice; only the newest note counts";
      }
      if (note.at > f.issued_at) {
        return where + "noted at " + base::rfc3339_from_utc(note.at) + ", after the issue";
      }
    }
  }
  const auto& [dish, carbide, wood, rh] = f.subfloor_tests;
  if ((dish && dish->at > f.issued_at) || (carbide && carbide->at > f.issued_at) ||
      (wood && wood->at > f.issued_at) || (rh && rh->at > f.issued_at)) {
    return "subfloor_tests: a test was noted after the issue";
  }
  return std::nullopt;
}

bool is_digest(const std::string& hex) { return evidence::digest_from_hex(hex).has_value(); }

Contradiction in_work(const CertificateFacts& f) {
  const LayingFacts& laying = f.laying;
  if (laying.finished_at && laying.began_at && *laying.finished_at < *laying.began_at) {
    return "laying: finished at " + base::rfc3339_from_utc(*laying.finished_at) +
           ", before it began";
  }
  if ((laying.began_at && *laying.began_at > f.issued_at) ||
      (laying.finished_at && *laying.finished_at > f.issued_at)) {
    return "laying: noted for a time after the issue";
  }
  if (!laying.finished_at && laying.laid != readiness::LaidFloor{}) {
    return "laying: gaps, joints, rows or cartons of a floor whose laying is not finished";
  }
  for (const PlacementFacts& placement : f.placements) {
    if (placement.at > f.issued_at) {
      return "placement of " + in_quotes(placement.channel_id) + ": noted after the issue";
    }
  }
  for (const NotedFacts& noted : f.noted) {
    const bool may_be_set_aside =
        noted.subject.ends_with("-test") || noted.subject == kDeliverySubject;
    if (noted.at > f.issued_at || (!may_be_set_aside && !noted.set_aside.empty())) {
      return "note of " + in_quotes(noted.subject) +
             ": expected a time before the issue, and tests and deliveries alone set aside";
    }
  }
  for (const PhotoFacts& photo : f.photos) {
    if (!is_digest(photo.sha256_hex) || photo.bytes <= 0 || photo.at > f.issued_at) {
      return "photo of " + in_quotes(photo.subject) +
             ": expected 64 lower-case hex digits, some bytes, and a time before the issue";
    }
  }
  return std::nullopt;
}

Contradiction in_superseded(const CertificateFacts& f) {
  if (!f.supersedes) {
    return std::nullopt;
  }
  const SupersededFacts& older = *f.supersedes;
  if (older.number == f.number || !is_plain_name(older.number) ||
      !is_digest(older.certificate_sha256_hex)) {
    return "supersedes: expected the number and SHA-256 of another certificate, found " +
           in_quotes(older.number);
  }
  if (older.reason.empty()) {
    return "supersedes: no reason is given";
  }
  return std::nullopt;
}

Contradiction in_log(const CertificateFacts& f) {
  if (!f.log) {
    return std::nullopt;
  }
  const auto head = evidence::checkpoint_from_text(f.log->checkpoint + "\n");
  if (!head) {
    return "log.checkpoint: " + head.error().text;
  }
  if (head.value().simulated != f.simulated || head.value().issued_at > f.issued_at) {
    return "log.checkpoint: of another site, or signed after the issue";
  }
  if (f.log->readings_anchored < 0 || f.log->readings_anchored > f.readings.records ||
      (!f.log->anchor && f.log->readings_anchored != 0)) {
    return "log.readings_anchored: " + std::to_string(f.log->readings_anchored) +
           ", expected 0 without an anchor and at most " + std::to_string(f.readings.records);
  }
  if (!f.log->anchor) {
    return std::nullopt;
  }
  const auto anchored = evidence::checkpoint_from_text(f.log->anchor->checkpoint + "\n");
  if (!anchored) {
    return "log.anchor.checkpoint: " + anchored.error().text;
  }
  if (anchored.value().head.size > head.value().head.size ||
      anchored.value().simulated != f.simulated) {
    return "log.anchor.checkpoint: of a longer log, or of another site";
  }
  return std::nullopt;
}

Contradiction in_chart(const ChartFacts& chart) {
  for (const ChartSeries& series : chart.series) {
    if (series.buckets.size() > kMostChartBuckets ||
        series.buckets.size() != chart.series[0].buckets.size()) {
      return "chart: series " + in_quotes(series.channel_id) + " has " +
             std::to_string(series.buckets.size()) +
             " buckets, expected the same for all, at most " + std::to_string(kMostChartBuckets);
    }
  }
  if (chart.bucket.count() <= 0) {
    return "chart: a bucket has no width";
  }
  return std::nullopt;
}

Contradiction in_readings(const ReadingsFacts& readings) {
  std::vector<evidence::Sha256> roots;
  for (const std::string& hex : readings.block_roots_sha256_hex) {
    roots.push_back(evidence::digest_from_hex(hex).value_or(evidence::Sha256{}));
  }
  if (readings.records < 0 || readings.block_records <= 0) {
    return "readings: a negative number of records";
  }
  const std::int64_t width = readings.block_records;
  const std::int64_t blocks = readings.records / width + (readings.records % width != 0 ? 1 : 0);
  if (std::cmp_not_equal(blocks, roots.size()) ||
      evidence::hex_from_digest(evidence::root_from_block_roots(roots)) !=
          readings.root_sha256_hex) {
    return "readings: the roots of the blocks do not give the root of the tree";
  }
  return std::nullopt;
}

// "ready" stands on every gate; the other verdicts name at least one that is not met or unknown.
Contradiction in_verdict(const readiness::RoomAssessment& assessment) {
  using readiness::GateState;
  using readiness::Verdict;
  const auto open = std::ranges::find_if(
      assessment.gates, [](const auto& gate) { return gate.state != GateState::met; });
  const bool all_met = open == assessment.gates.end();
  if (all_met != (assessment.verdict == Verdict::ready)) {
    return "assessment: verdict " + in_quotes(readiness::name_of(assessment.verdict)) +
           (all_met ? ", but every gate is met"
                    : ", but gate " + in_quotes(open->id) + " is not met");
  }
  return std::nullopt;
}

}  // namespace

Contradiction contradiction_in(const CertificateFacts& f) {
  if (!is_plain_name(f.number)) {
    return "number: " + in_quotes(f.number) + " has other than letters, digits, '-', '_', '.'";
  }
  for (const GapFacts& gap : f.lost_records) {
    if (gap.first_sequence > gap.last_sequence) {
      return "lost records of box " + gap.box_id + ": first after last";
    }
  }
  for (const Contradiction& found :
       {in_times(f), in_instruments(f), in_notes(f), in_work(f), in_superseded(f), in_log(f),
        in_chart(f.chart), in_readings(f.readings), in_verdict(f.assessment)}) {
    if (found) {
      return found;
    }
  }
  return std::nullopt;
}

}  // namespace analysis::certificate
