#include "analysis/certificate/readings_file.hpp"

#include <catch2/catch.hpp>
#include <random>

#include "analysis/certificate/replay/line_reader.hpp"
#include "tests/evidence/example_site.hpp"

using namespace analysis::certificate;
using analysis::base::ChannelStatus;

namespace {

std::string fault_of(std::string_view line) {
  const auto reading = reading_from_line(line);
  return reading ? "accepted" : reading.error().text;
}

const std::string kLine =
    "box-1,1,1,5000,2026-03-01T07:00:00Z,200,0000,11010000,2000,5200,2000,1950,,500,,";

// Every line of the text read through pieces of `size` bytes; ends with the fault, if any.
std::vector<std::string> lines_by_pieces(std::string_view text, std::size_t size) {
  const ByteSource source = [=]() mutable -> std::optional<std::string_view> {
    if (text.empty()) {
      return std::nullopt;
    }
    const std::string_view piece = text.substr(0, size);
    text.remove_prefix(piece.size());
    return piece;
  };
  LineReader reader(source);
  std::vector<std::string> lines;
  while (true) {
    const auto line = reader.next();
    if (!line) {
      lines.push_back("fault in " + std::to_string(reader.line_number()));
      return lines;
    }
    if (!line.value()) {
      return lines;
    }
    lines.emplace_back(*line.value());
  }
}

}  // namespace

TEST_CASE("AReadingHasOneLine") {
  const Reading first = example::readings().front();
  CHECK(line_from_reading(first).value() == kLine);
  const auto read = reading_from_line(kLine);
  REQUIRE(read);
  CHECK(read.value().box_id == "box-1");
  CHECK(read.value().record == first.record);
  CHECK(read.value().dated == first.dated);
}

TEST_CASE("EveryReadingReadsBackFromItsLine") {
  const std::uint32_t seed = 4180;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  for (int i = 0; i < 2000; ++i) {
    Reading r;
    r.box_id = "b" + std::to_string(random() % 10);
    r.record.id = {static_cast<std::uint32_t>(random()),
                   static_cast<std::int64_t>(random() >> 12U)};
    r.record.ticks_ms = static_cast<std::int64_t>(random() >> 12U);
    r.record.flags = static_cast<std::uint16_t>(random());
    for (std::size_t c = 0; c < analysis::base::kMaxChannels; ++c) {
      r.record.statuses[c] = static_cast<ChannelStatus>(random() % 8);
      if (r.record.statuses[c] == ChannelStatus::ok) {
        r.record.raw_counts[c] = static_cast<std::int32_t>(random());
      }
    }
    r.dated.at = {static_cast<std::int64_t>(random() % 4'000'000'000'000'000)};
    r.dated.error = analysis::base::Micros{static_cast<std::int64_t>(random() % 1'000'000) * 1000};
    const std::string line = line_from_reading(r).value();
    CAPTURE(line);
    const auto read = reading_from_line(line);
    REQUIRE(read);
    REQUIRE(read.value().record == r.record);
    REQUIRE(read.value().dated == r.dated);
    REQUIRE(read.value().box_id == r.box_id);
  }
}

TEST_CASE("TimeErrorIsRoundedUpNeverDown") {
  Reading r = example::readings().front();
  r.dated.error = analysis::base::Micros{200'001};
  CHECK(error_in_file(r) == analysis::base::Micros{201'000});
  CHECK(line_from_reading(r).value().find(",201,") != std::string::npos);
}

TEST_CASE("RawCountsWithoutAGoodStatusAreNotWritten") {
  Reading r = example::readings().front();
  r.record.statuses[0] = ChannelStatus::open_circuit;
  CHECK(line_from_reading(r).value() ==
        "box-1,1,1,5000,2026-03-01T07:00:00Z,200,0000,11010003,,5200,2000,1950,,500,,");
}

TEST_CASE("AnyOtherSpellingOfALineIsRefused") {
  const auto with = [](const std::string& from, const std::string& to) {
    std::string line = kLine;
    return line.replace(line.find(from), from.size(), to);
  };
  REQUIRE(fault_of(kLine) == "accepted");
  for (const std::string& bad : {std::string(),
                                 kLine + ",",
                                 kLine + " ",
                                 " " + kLine,
                                 kLine + "\r",
                                 kLine.substr(0, 40),
                                 with("box-1", ""),
                                 with("box-1", "box 1"),
                                 with(",1,1,", ",01,1,"),
                                 with(",1,1,", ",1,-1,"),
                                 with(",1,1,", ",1,1.0,"),
                                 with(",1,1,", ",4294967296,1,"),
                                 with("5000", "+5000"),
                                 with("5000", "05000"),
                                 with("5000", "-5"),
                                 with("5000", "99999999999999999999"),
                                 with("07:00:00Z", "08:00:00+01:00"),
                                 with("07:00:00Z", "07:00:00.000Z"),
                                 with("07:00:00Z", "07:00:60Z"),
                                 with("T07", " 07"),
                                 with("2026-03-01", "2026-02-30"),
                                 with("2026", "1969"),
                                 with(",200,", ",-200,"),
                                 with(",200,", ",9223372036854775807,"),
                                 with(",0000,", ",0,"),
                                 with(",0000,", ",000A,"),
                                 with(",0000,", ",000g,"),
                                 with("11010000", "1101000"),
                                 with("11010000", "11010008"),
                                 with("11010000", "11010001"),
                                 with("11010000", "00010000"),
                                 with("2000", "2000.0"),
                                 with("2000", "2147483648"),
                                 with("2000", "-0"),
                                 with("2000", ""),
                                 with("2000", "0x1")}) {
    CAPTURE(bad);
    CHECK(fault_of(bad) != "accepted");
  }
  CHECK(fault_of(with("2000", "x")) == "raw_0 is \"x\", expected a whole number");
}

// Verification takes the leaf from the file, so a second spelling would be a second leaf.
TEST_CASE("EveryLineThatIsAcceptedIsTheOneThatWouldBeWritten") {
  const std::uint32_t seed = 26;
  CAPTURE(seed);
  std::mt19937 random(seed);
  constexpr std::string_view kBytes = "0123456789abcdef,.-:TZ+ xA";
  int accepted = 0;
  for (int i = 0; i < 200'000; ++i) {
    std::string line = kLine;
    for (int edits = 1 + static_cast<int>(random() % 2); edits > 0; --edits) {
      const std::size_t at = random() % line.size();
      const char byte = kBytes[random() % kBytes.size()];
      switch (random() % 3) {
        case 0:
          line[at] = byte;
          break;
        case 1:
          line.insert(at, 1, byte);
          break;
        default:
          line.erase(at, 1);
      }
    }
    if (const auto reading = reading_from_line(line)) {
      ++accepted;
      REQUIRE(line_from_reading(reading.value()).value() == line);
    }
  }
  CHECK(accepted > 1000);
}

TEST_CASE("WhatHasNoLineIsRefused") {
  const auto refused = [](const std::function<void(Reading&)>& change) {
    Reading r = example::readings().front();
    change(r);
    return !line_from_reading(r);
  };
  CHECK(refused([](Reading& r) { r.box_id = "a,b"; }));
  CHECK(refused([](Reading& r) { r.box_id = ""; }));
  CHECK(refused([](Reading& r) { r.record.ticks_ms = -1; }));
  CHECK(refused([](Reading& r) { r.record.id.sequence = -1; }));
  CHECK(refused([](Reading& r) { r.dated.error = analysis::base::Micros{-1}; }));
  CHECK(refused([](Reading& r) { r.dated.at.value = -1; }));
  CHECK(refused([](Reading& r) { r.dated.at.value = 253'402'300'800'000'000; }));
  CHECK(refused([](Reading& r) { r.record.statuses[0] = static_cast<ChannelStatus>(8); }));
}

TEST_CASE("LinesAreTheSameHoweverTheBytesArrive") {
  const std::string text = "one\n\nthree\nfour\n";
  const std::vector<std::string> lines = {"one", "", "three", "four"};
  for (std::size_t size = 1; size <= text.size(); ++size) {
    CHECK(lines_by_pieces(text, size) == lines);
  }
  CHECK(lines_by_pieces("", 1).empty());
  CHECK(lines_by_pieces("one\ntw", 2) == std::vector<std::string>{"one", "fault in 2"});
  const std::string longest(LineReader::kLongestLine, 'x');
  CHECK(lines_by_pieces(longest + "\n", 100) == std::vector<std::string>{longest});
  CHECK(lines_by_pieces(longest + "x\n", 100) == std::vector<std::string>{"fault in 1"});
  CHECK(lines_by_pieces(longest + "x\n", 1000) == std::vector<std::string>{"fault in 1"});
}
