#include "analysis/certificate/facts_builder.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <utility>
#include <vector>

#include "analysis/certificate/replay/sequence_holes.hpp"
#include "analysis/evidence/digest.hpp"
#include "analysis/evidence/merkle_tree.hpp"
#include "analysis/readiness/excursion_log.hpp"
#include "analysis/readiness/room_replay.hpp"

namespace analysis::certificate {
namespace {

using base::Failure;
using base::Micros;
using base::UtcMicros;

constexpr auto kMostBuckets = static_cast<std::int64_t>(kMostChartBuckets);
constexpr std::int64_t kMicrosPerMinute = 60'000'000;

// The narrowest bucket of a round width with which the period, both ends included, has at most
// kMostBuckets of them.
Micros bucket_width_for(const base::TimeRange& period) {
  static constexpr std::array<std::int64_t, 10> kMinutes = {1,  5,   10,  15,  30,
                                                            60, 120, 180, 360, 720};
  const std::int64_t length = (period.to - period.from).count();
  for (const std::int64_t minutes : kMinutes) {
    if (length / (minutes * kMicrosPerMinute) < kMostBuckets) {
      return Micros{minutes * kMicrosPerMinute};
    }
  }
  constexpr std::int64_t kDay = 1440 * kMicrosPerMinute;
  return Micros{(length / (kMostBuckets * kDay) + 1) * kDay};
}

struct BucketSum {
  std::int64_t count = 0;
  double sum = 0.0;
  double low = 0.0;
  double high = 0.0;

  void add(double value) {
    low = count == 0 ? value : std::min(low, value);
    high = count == 0 ? value : std::max(high, value);
    sum += value;
    ++count;
  }
};

struct InstrumentChart {
  std::size_t instrument;  // index in the facts
  std::vector<BucketSum> buckets;
  readiness::StillCount still_count{};
};

}  // namespace

readiness::RoomSetup room_setup_from(const CertificateFacts& facts) {
  readiness::RoomSetup setup;
  setup.room_id = facts.room.room_id;
  setup.requirements = facts.requirements;
  setup.delivered_at = facts.delivered_at;
  setup.slab_poured_at = facts.slab_poured_at;
  setup.stack = facts.stack;
  for (const InstrumentFacts& instrument : facts.instruments) {
    setup.channels.push_back(instrument.channel);
  }
  return setup;
}

struct FactsBuilder::State {
  explicit State(CertificateFacts facts)
      : declared(std::move(facts)),
        replay(room_setup_from(declared)),
        log(replay.policy().band, replay.policy().longest_interval),
        holes(declared.lost_records, declared.period.from),
        bucket(bucket_width_for(declared.period)) {
    const auto count = static_cast<std::size_t>(bucket_of(declared.period.to)) + 1;
    for (std::size_t i = 0; i < declared.instruments.size(); ++i) {
      charts[declared.instruments[i].channel.box_id].push_back({i, std::vector<BucketSum>(count)});
    }
  }

  [[nodiscard]] std::int64_t bucket_of(UtcMicros at) const {
    return (at - declared.period.from).count() / bucket.count();
  }

  void chart(std::vector<InstrumentChart>& of_box, const Reading& reading) const {
    const auto index = static_cast<std::size_t>(bucket_of(reading.dated.at));
    for (InstrumentChart& entry : of_box) {
      const readiness::ChannelSetup& channel = declared.instruments[entry.instrument].channel;
      const auto value =
          entry.still_count.read(reading.record, static_cast<std::size_t>(channel.channel_index),
                                 channel.scale, reading.dated.at, channel.calibrations);
      if (value.value) {
        entry.buckets[index].add(*value.value);
      }
    }
  }

  [[nodiscard]] ChartFacts chart_facts() const {
    ChartFacts facts;
    facts.from = declared.period.from;
    facts.bucket = bucket;
    facts.series.resize(declared.instruments.size());
    for (const auto& [box, of_box] : charts) {
      for (const InstrumentChart& entry : of_box) {
        const readiness::ChannelSetup& channel = declared.instruments[entry.instrument].channel;
        ChartSeries& series = facts.series[entry.instrument];
        series.channel_id = channel.channel_id;
        series.role = channel.scale.role;
        for (const BucketSum& b : entry.buckets) {
          series.buckets.push_back(b.count == 0
                                       ? std::nullopt
                                       : std::optional(ChartBucket{
                                             b.low, b.sum / static_cast<double>(b.count), b.high}));
        }
      }
    }
    return facts;
  }

  [[nodiscard]] ReadingsFacts readings_facts() const {
    ReadingsFacts facts;
    facts.records = static_cast<std::int64_t>(tree.size());
    facts.root_sha256_hex = evidence::hex_from_digest(tree.root());
    facts.block_records = static_cast<std::int64_t>(tree.block_leaves());
    for (const evidence::Sha256& root : tree.block_roots()) {
      facts.block_roots_sha256_hex.push_back(evidence::hex_from_digest(root));
    }
    return facts;
  }

  CertificateFacts declared;
  readiness::RoomReplay replay;
  readiness::ExcursionLog log;
  SequenceHoles holes;
  evidence::BlockedTreeBuilder tree;
  Micros bucket;
  std::map<std::string, std::vector<InstrumentChart>> charts;  // by box
  Micros largest_time_error{0};
  std::optional<Reading> previous;
  std::string line;
};

FactsBuilder::FactsBuilder(CertificateFacts declared)
    : state_(std::make_unique<State>(std::move(declared))) {}
FactsBuilder::~FactsBuilder() = default;
FactsBuilder::FactsBuilder(FactsBuilder&&) noexcept = default;
FactsBuilder& FactsBuilder::operator=(FactsBuilder&&) noexcept = default;

base::Result<void, Fault> FactsBuilder::add(const Reading& reading) {
  const auto line = line_from_reading(reading);
  return line ? take(reading, line.value()) : Failure{line.error()};
}

base::Result<void, Fault> FactsBuilder::add_line(std::string_view line) {
  const auto reading = reading_from_line(line);
  return reading ? take(reading.value(), line) : Failure{reading.error()};
}

base::Result<void, Fault> FactsBuilder::take(const Reading& reading, std::string_view line) {
  State& s = *state_;
  const UtcMicros at = reading.dated.at;
  if (at < s.declared.period.from || at > s.declared.period.to) {
    return Failure{Fault{"utc is " + base::rfc3339_from_utc(at) + ", outside the period"}};
  }
  const auto of_box = s.charts.find(reading.box_id);
  if (of_box == s.charts.end()) {
    return Failure{Fault{"box \"" + reading.box_id + "\" carries none of the instruments"}};
  }
  if (s.previous && order_key(*s.previous) >= order_key(reading)) {
    return Failure{Fault{"not after the record before it (order: utc, box, boot, sequence)"}};
  }
  if (auto in_sequence = s.holes.add(reading, s.tree.size()); !in_sequence) {
    return in_sequence;
  }
  s.line = line;
  s.tree.add_leaf(line);
  s.largest_time_error = std::max(s.largest_time_error, error_in_file(reading));
  s.chart(of_box->second, reading);
  const auto step = s.replay.add(reading.box_id, reading.record, at);
  if (step.counted) {
    s.log.add(*step.counted);
  }
  s.previous = reading;
  return {};
}

std::string_view FactsBuilder::line() const { return state_->line; }

CertificateFacts FactsBuilder::facts() const {
  const State& s = *state_;
  CertificateFacts facts = s.declared;
  const UtcMicros end = facts.period.to;
  readiness::RoomEvidence evidence = s.replay.evidence(end);
  evidence.site_gates.clear();
  for (const auto* notes : {&facts.site_gates, &facts.open_answers}) {
    std::ranges::copy_if(*notes, std::back_inserter(evidence.site_gates),
                         [end](const auto& note) { return note.at <= end; });
  }
  const auto made = [end](const auto& test) {
    return test && test->at <= end ? test : std::decay_t<decltype(test)>();
  };
  evidence.subfloor_tests = {made(facts.subfloor_tests.dish), made(facts.subfloor_tests.carbide),
                             made(facts.subfloor_tests.wood), made(facts.subfloor_tests.rh)};
  facts.assessment = readiness::assess_room(facts.requirements, evidence);
  facts.dwell = s.replay.dwell();
  facts.excursions = s.log.excursions();
  facts.excursions_total = s.log.excursions_total();
  facts.unknown_time = s.log.unknown_time(end);
  facts.unknown_time_total = s.log.unknown_time_total(end);
  std::ranges::copy(s.holes.undeclared(), std::back_inserter(facts.lost_records));
  facts.largest_time_error = s.largest_time_error;
  facts.chart = s.chart_facts();
  facts.readings = s.readings_facts();
  return facts;
}

std::optional<std::string> FactsBuilder::first_undeclared_hole() const {
  return state_->holes.first_text();
}

}  // namespace analysis::certificate
