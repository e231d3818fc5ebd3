// Which records are missing, from the order in which the others came.
#include "logger/ingest/box_records.hpp"

#include <catch2/catch.hpp>

using analysis::base::Record;
using analysis::base::RecordId;
using logger::ingest::Hole;
using logger::ingest::RecordSequence;
using logger::ingest::SequenceRange;
using logger::store::Gap;
using logger::store::GapReason;

namespace {

constexpr std::nullopt_t kBad = std::nullopt;

std::optional<Record> rec(std::uint32_t boot, std::int64_t sequence) {
  Record record;
  record.id = {boot, sequence};
  return record;
}

RecordSequence sequence_of(std::optional<RecordId> after,
                           const std::vector<std::optional<Record>>& records) {
  RecordSequence sequence(after);
  for (const auto& record : records) {
    sequence.add(record);
  }
  return sequence;
}

std::vector<Hole> holes_of(std::optional<RecordId> after,
                           const std::vector<std::optional<Record>>& records) {
  return sequence_of(after, records).holes();
}

struct Loss {
  SequenceRange range;
  GapReason reason;
  bool operator==(const Loss&) const = default;
};

std::vector<Loss> losses_of(const std::vector<Gap>& gaps) {
  std::vector<Loss> losses;
  for (const Gap& gap : gaps) {
    losses.push_back({{gap.boot, gap.first_sequence, gap.last_sequence}, gap.reason});
  }
  return losses;
}

using Holes = std::vector<Hole>;
using Losses = std::vector<Loss>;

}  // namespace

TEST_CASE("records one after another leave no hole") {
  CHECK(holes_of(RecordId{1, 4}, {rec(1, 5), rec(1, 6), rec(2, 1)}).empty());
  CHECK(holes_of(std::nullopt, {}).empty());
}

TEST_CASE("what came before the first record is unknown only where nothing is known") {
  CHECK(holes_of(std::nullopt, {rec(3, 500)}).empty());
  CHECK(holes_of(RecordId{3, 497}, {rec(3, 500)}) == Holes{{{3, 498, 499}, false}});
  CHECK(holes_of(RecordId{2, 9}, {rec(3, 4)}) == Holes{{{3, 1, 3}, false}});
}

TEST_CASE("repeats and records that are known already are left out") {
  const auto sequence = sequence_of(
      RecordId{1, 3}, {rec(1, 2), rec(1, 3), rec(1, 4), rec(1, 4), rec(1, 3), rec(1, 5)});
  CHECK(sequence.holes().empty());
  REQUIRE(sequence.records().size() == 2);
  CHECK(sequence.records()[0].id == RecordId{1, 4});
  CHECK(sequence.records()[1].id == RecordId{1, 5});
}

TEST_CASE("records that can't be believed are corrupt holes once a good one follows") {
  CHECK(holes_of(RecordId{1, 1}, {kBad, kBad}).empty());
  CHECK(holes_of(RecordId{1, 1}, {kBad, rec(1, 3)}) == Holes{{{1, 2, 2}, true}});
  CHECK(holes_of(RecordId{1, 1}, {kBad, kBad, rec(1, 4), rec(1, 6)}) ==
        Holes{{{1, 2, 3}, true}, {{1, 5, 5}, false}});
  CHECK(holes_of(std::nullopt, {kBad, kBad, rec(4, 12)}) == Holes{{{4, 10, 11}, true}});
  CHECK(holes_of(std::nullopt, {kBad, kBad, rec(4, 2)}) == Holes{{{4, 1, 1}, true}});
}

TEST_CASE("unbelievable records at a reboot are shared between the two boots") {
  CHECK(holes_of(RecordId{1, 5}, {kBad, rec(2, 1)}) == Holes{{{1, 6, 6}, true}});
  CHECK(holes_of(RecordId{1, 5}, {kBad, rec(2, 2)}) == Holes{{{2, 1, 1}, true}});
  CHECK(holes_of(RecordId{1, 5}, {kBad, kBad, kBad, rec(2, 2)}) ==
        Holes{{{1, 6, 7}, true}, {{2, 1, 1}, true}});
}

TEST_CASE("a hole that the box explains by overflow is overflow alone") {
  const auto sequence = sequence_of(RecordId{1, 10}, {rec(1, 21), rec(1, 25)});
  const std::vector<SequenceRange> lost{{1, 11, 20}};
  CHECK(losses_of(sequence.gaps(lost)) ==
        Losses{{{1, 11, 20}, GapReason::overflow}, {{1, 22, 24}, GapReason::missing}});
}

TEST_CASE("overflow in part of a hole leaves the rest missing") {
  const auto sequence = sequence_of(RecordId{1, 10}, {rec(1, 31)});
  const std::vector<SequenceRange> lost{{1, 13, 15}, {1, 20, 22}};
  CHECK(losses_of(sequence.gaps(lost)) == Losses{{{1, 13, 15}, GapReason::overflow},
                                                 {{1, 20, 22}, GapReason::overflow},
                                                 {{1, 11, 12}, GapReason::missing},
                                                 {{1, 16, 19}, GapReason::missing},
                                                 {{1, 23, 30}, GapReason::missing}});
}

TEST_CASE("overflow of what is known, or came all the same, is no gap") {
  const auto sequence = sequence_of(RecordId{2, 10}, {rec(2, 11), rec(2, 12), rec(2, 13)});
  CHECK(sequence.gaps(std::vector<SequenceRange>{{1, 1, 99}, {2, 1, 10}}).empty());
  CHECK(losses_of(sequence.gaps(std::vector<SequenceRange>{{2, 5, 12}, {2, 13, 15}})) ==
        Losses{{{2, 14, 15}, GapReason::overflow}});
}

TEST_CASE("with nothing known every range the box reports is a gap") {
  const auto sequence = sequence_of(std::nullopt, {rec(2, 11)});
  CHECK(losses_of(sequence.gaps(std::vector<SequenceRange>{{1, 3, 9}, {2, 1, 10}})) ==
        Losses{{{1, 3, 9}, GapReason::overflow}, {{2, 1, 10}, GapReason::overflow}});
}

TEST_CASE("ranges a box reports twice or overlapping are told once") {
  const auto sequence = sequence_of(RecordId{1, 10}, {rec(1, 21), rec(1, 40)});
  const std::vector<SequenceRange> lost{{1, 13, 30}, {1, 11, 15}, {1, 13, 30}, {1, 14, 14}};
  CHECK(losses_of(sequence.gaps(lost)) == Losses{{{1, 11, 15}, GapReason::overflow},
                                                 {{1, 16, 20}, GapReason::overflow},
                                                 {{1, 22, 30}, GapReason::overflow},
                                                 {{1, 31, 39}, GapReason::missing}});
}

TEST_CASE("only ids a box gives can be selected or released") {
  CHECK(logger::ingest::key_from_id({1, 1}).has_value());
  CHECK(logger::ingest::key_from_id({0xffffffffU, 0xffffffff}).has_value());
  CHECK_FALSE(logger::ingest::key_from_id({1, std::int64_t{0x100000000}}).has_value());
  CHECK_FALSE(logger::ingest::key_from_id({1, 0}).has_value());
  CHECK_FALSE(logger::ingest::key_from_id({1, -1}).has_value());
  CHECK_FALSE(logger::ingest::key_from_id({0, 1'700'000'000'000}).has_value());
}
