#include "tests/evidence/logged_site.hpp"

#include <algorithm>
#include <map>

#include "analysis/base/clock_map.hpp"
#include "analysis/evidence/checkpoint.hpp"
#include "logger/store/store_snapshot.hpp"

namespace logged_site {

using namespace logger::store;
using analysis::base::ChannelStatus;
using analysis::base::Micros;
using store_tests::must;

namespace {

constexpr int kBefore = 4;  // rounds before the period, and after it
constexpr int kReboot = 12;
constexpr int kLost = 18;  // and the next

Record record_of(int round, std::uint32_t boot, std::int64_t sequence, std::int64_t ticks_ms) {
  Record record;
  record.id = {boot, sequence};
  record.ticks_ms = ticks_ms;
  record.statuses.fill(ChannelStatus::not_fitted);
  for (const std::size_t fitted : {0U, 1U, 2U, 3U, 5U}) {
    record.statuses[fitted] = ChannelStatus::ok;
  }
  record.raw_counts = {2000 + round, 5200 - round, 2000, 1950, 0, 500 + 10 * (round % 50), 0, 0};
  return record;
}

BoxBatch box_round(const char* box, int round, std::uint32_t boot, std::int64_t sequence) {
  const std::int64_t ticks_ms = 900'000 * (sequence - 1) + 5000;
  const UtcMicros at = example::kStart + round * example::kInterval;
  return {box,
          {record_of(round, boot, sequence, ticks_ms)},
          {{boot, {ticks_ms + 400, at + Micros{400'000}, Micros{20'000}}}}};
}

// The readings file does not hold such a count.
void keep_a_count_beside_a_fault(Record& record) {
  record.statuses[5] = ChannelStatus::fault;
  record.raw_counts[5] = -77;
}

void add_round(CommitBatch& batch, int round) {
  const UtcMicros at = example::kStart + round * example::kInterval;
  const bool rebooted = round >= kReboot;
  if (round != kLost && round != kLost + 1) {
    batch.boxes.push_back(box_round("box-1", round, rebooted ? 2 : 1,
                                    rebooted ? round - kReboot + 1 : round + kBefore + 1));
  }
  if (round == kLost + 2) {
    keep_a_count_beside_a_fault(batch.boxes.back().records[0]);
    batch.gaps.push_back(
        {"box-1", 2, kLost - kReboot + 1, kLost - kReboot + 2, GapReason::overflow, at});
  }
  batch.boxes.push_back(box_round("box-2", round, 1, round + kBefore + 1));
  if (round % 5 == 0) {
    batch.events.push_back({0, at, "link_up", "box-1", "{}"});
  }
}

std::vector<Reading> readings_from(ReadingStore& store, const analysis::base::TimeRange& period) {
  std::vector<Reading> readings;
  for (const BootSpan& span : must(store.boots("box-1"))) {
    const auto map = analysis::base::clock_map_for_history(
        must(store.exchanges("box-1", span.boot, -analysis::base::kEndOfTicks,
                             analysis::base::kEndOfTicks)),
        span.boot, period.from);
    must(store.visit_records("box-1", {span.boot, 0}, {span.boot, span.last_sequence},
                             [&](const Record& record) {
                               const auto dated = map.utc_from_ticks(record.ticks_ms);
                               if (dated && dated->at >= period.from && dated->at <= period.to) {
                                 readings.push_back({"box-1", record, *dated});
                               }
                               return true;
                             }));
  }
  std::ranges::sort(readings,
                    [](const Reading& a, const Reading& b) { return order_key(a) < order_key(b); });
  return readings;
}

std::vector<RecordSpan> spans_of(const std::vector<Reading>& readings) {
  std::map<std::uint32_t, RecordSpan> spans;
  for (const Reading& reading : readings) {
    const auto& id = reading.record.id;
    const auto [span, is_new] =
        spans.try_emplace(id.boot, RecordSpan{"box-1", id.boot, id.sequence, id.sequence});
    span->second.last_sequence = id.sequence;
  }
  std::vector<RecordSpan> all;
  for (const auto& [boot, span] : spans) {
    all.push_back(span);
  }
  return all;
}

}  // namespace

History history() {
  History batches;
  for (int round = -kBefore; round <= 4 * kHours + kBefore; ++round) {
    if ((round + kBefore) % 3 == 0) {
      batches.emplace_back();
    }
    add_round(batches.back(), round);
  }
  return batches;
}

History short_history() {
  History batches(1);
  for (int round = 0; round < 3; ++round) {
    batches[0].boxes.push_back(box_round("box-1", round, 1, round + 1));
  }
  keep_a_count_beside_a_fault(batches[0].boxes[1].records[0]);
  batches[0].boxes.push_back(box_round("box-2", 0, 1, 1));
  batches[0].gaps.push_back({"box-1", 1, 9, 9, GapReason::missing, example::kStart});
  return batches;
}

SiteStore::SiteStore(const History& history) {
  const auto store = must(open_sqlite_store(path(), {.create = true}));
  must(store->mark_simulated(true));
  for (const CommitBatch& batch : history) {
    must(store->commit(batch));
  }
  must(store->append_note(
      {0, example::kStart, example::kStart, "remark", "", "someone", "{}", std::string(16, 's')}));
}

TreeHead SiteStore::head() const { return must(must(EvidenceLog::open(path())).head()); }

TreeHead SiteStore::head_at(std::uint64_t size) const {
  return must(must(EvidenceLog::open(path())).head_at(size));
}

std::uint64_t SiteStore::entry_of_record(std::int64_t boot, std::int64_t sequence) const {
  return must(must(EvidenceLog::open(path())).find({LeafKind::record, "box-1", boot, sequence, 0}))
      .value();
}

std::string checkpoint_text(const TreeHead& head, std::uint8_t key, bool simulated) {
  return analysis::evidence::sign_checkpoint(head, simulated, example::kStart + Micros{1},
                                             example::key(key))
      .value();
}

Certified certify(const SiteStore& site, const CertifyOptions& options) {
  const auto store = must(open_sqlite_store(site.path(), {.read_only = true}));
  StoreSnapshot held = must(StoreSnapshot::hold(*store, site.path()));
  Certified made;
  made.declared = example::declared(options.hours);
  for (const Gap& gap : must(store->gaps())) {
    made.declared.lost_records.push_back(
        {gap.box_id, gap.boot, gap.first_sequence, gap.last_sequence, "overflow"});
  }
  made.readings = readings_from(*store, made.declared.period);
  const TreeHead head = must(held.log().head());
  ExtractRequest request{head.size, made.declared.period.from, spans_of(made.readings),
                         options.bounds};
  LogFacts log;
  const auto line_of = [](std::string text) {
    text.pop_back();
    return text;
  };
  log.checkpoint = line_of(checkpoint_text(head));
  if (options.anchor) {
    request.bounds.push_back(options.anchor->size);
    log.anchor = AnchorFacts{line_of(checkpoint_text(*options.anchor)), example::kStart,
                             "CN=example", "AAAA"};
  }
  const ExtractSummary summary = must(held.log().extract(request, [&made](std::string_view bytes) {
    made.log_text += bytes;
    return Result<void>{};
  }));
  REQUIRE(summary.readings == made.readings.size());
  REQUIRE(summary.head == head);
  if (options.anchor) {
    log.readings_anchored =
        options.anchored_too_many +
        static_cast<std::int64_t>(summary.readings_below.at(options.anchor->size));
  }
  made.declared.log = log;
  const std::vector<Reading> readings = made.readings;
  return signed_anew(std::move(made), readings);
}

Certified signed_anew(Certified certified, std::vector<Reading> readings) {
  const auto issued = example::issue(certified.declared, readings);
  certified.readings = std::move(readings);
  certified.certificate = issued.certificate;
  certified.readings_text = issued.readings_text;
  return certified;
}

Verification verify(const Certified& certified, const VerifyOptions& options) {
  analysis::certificate::VerifyInput input;
  input.certificate = certified.certificate;
  input.outside_key = example::key(options.outside_key).public_key();
  input.software = example::kSoftware;
  input.readings = analysis::certificate::byte_source_from(certified.readings_text);
  input.log = analysis::certificate::byte_source_from(certified.log_text);
  input.earlier_checkpoints = options.since;
  input.handovers = options.handovers;
  input.stamps = options.stamps;
  return analysis::certificate::verify_certificate(input);
}

}  // namespace logged_site
