// The line over a real pseudo-terminal against a device that misbehaves as told.
#include <boost/asio/awaitable.hpp>
#include <catch2/catch.hpp>

#include "firmware-sim/core/wire_format.hpp"
#include "tests/ingest/line_bench.hpp"

using ingest_test::Bytes;
using ingest_test::bytes_from_hex;
using ingest_test::Device;
using ingest_test::LineBench;
using logger::ingest::LineState;
using logger::ingest::Micros;
using logger::store::ErrorCode;
using Reply = logger::store::Result<Bytes>;

namespace {

// Register 107..109 of unit 17; an example that circulates widely, from memory.
const Bytes kRequest = bytes_from_hex("11 03 00 6B 00 03 76 87");
const Bytes kReply = bytes_from_hex("11 03 06 AE 41 56 52 43 40 49 AD");
const Bytes kOtherRequest = bytes_from_hex("01 03 00 00 00 1C 44 03");
constexpr Micros kDeadline{300'000};

Reply ask(LineBench& bench, const Bytes& request = kRequest) {
  return bench.run(bench.line.exchange(request, kDeadline));
}

void answer_honestly(LineBench& bench) {
  bench.device.honest = [](const Bytes&) { return kReply; };
}

const Device::Step kStaySilent = [](Device&, const Bytes&, const Bytes&) {};

}  // namespace

TEST_CASE("reopening waits 1 s, then twice as long each time, at most 60 s") {
  // Our own rule; no source.
  const std::array<int, 9> seconds{1, 1, 2, 4, 8, 16, 32, 60, 60};
  for (unsigned n = 0; n < seconds.size(); ++n) {
    CHECK(logger::ingest::reopen_delay(n) == std::chrono::seconds(seconds[n]));
  }
  CHECK(logger::ingest::reopen_delay(1'000'000) == std::chrono::seconds(60));
}

TEST_CASE("silence between frames is 3.5 characters up to 19,200 baud and 1.75 ms above") {
  // MODBUS over serial line V1.02, 2.5.1.1; 3.5 * 11 bits / 9600 baud = 4.0104 ms.
  CHECK(logger::ingest::silence_between_frames(9600) == Micros{4010});
  CHECK(logger::ingest::silence_between_frames(19200) == Micros{2005});
  CHECK(logger::ingest::silence_between_frames(38400) == Micros{1750});
  CHECK(logger::ingest::silence_between_frames(115200) == Micros{1750});
}

TEST_CASE("an exchange returns the whole reply frame") {
  LineBench bench;
  answer_honestly(bench);
  const Reply reply = ask(bench);
  REQUIRE(reply.has_value());
  CHECK(reply.value() == kReply);
  CHECK(bench.device.requests == std::vector<Bytes>{kRequest});
}

TEST_CASE("a reply that comes byte by byte is put together") {
  LineBench bench;
  bench.device.script.push_back([](Device& device, const Bytes&, const Bytes&) {
    for (std::size_t i = 0; i < kReply.size(); ++i) {
      device.send_after(Micros{static_cast<std::int64_t>(i) * 1000}, {kReply[i]});
    }
  });
  const Reply reply = ask(bench);
  REQUIRE(reply.has_value());
  CHECK(reply.value() == kReply);
}

TEST_CASE("no answer is a time-out at the deadline, and the line stays open") {
  LineBench bench;
  const Micros began = bench.clock.monotonic_now();
  const Reply reply = ask(bench);
  REQUIRE_FALSE(reply.has_value());
  CHECK(reply.error().code == ErrorCode::timeout);
  CHECK(bench.clock.monotonic_now() - began == kDeadline);
  CHECK(bench.line.state() == LineState::connected);
}

TEST_CASE("every truncated reply is a time-out and never a reply") {
  LineBench bench;
  for (std::size_t length = 0; length < kReply.size(); ++length) {
    bench.device.script.push_back([length](Device& device, const Bytes&, const Bytes&) {
      device.send(Bytes(kReply.begin(), kReply.begin() + static_cast<std::ptrdiff_t>(length)));
    });
    const Reply reply = ask(bench);
    CAPTURE(length);
    REQUIRE_FALSE(reply.has_value());
    CHECK(reply.error().code == ErrorCode::timeout);
  }
}

TEST_CASE("every flipped bit of a reply is refused") {
  LineBench bench;
  for (std::size_t bit = 0; bit < 8 * kReply.size(); ++bit) {
    bench.device.script.push_back([bit](Device& device, const Bytes&, const Bytes&) {
      Bytes bytes = kReply;
      bytes[bit / 8] = static_cast<std::uint8_t>(bytes[bit / 8] ^ (1U << (bit % 8)));
      device.send(bytes);
    });
    const Reply reply = ask(bench);
    CAPTURE(bit);
    REQUIRE_FALSE(reply.has_value());
    CHECK((reply.error().code == ErrorCode::corrupt || reply.error().code == ErrorCode::timeout));
  }
  answer_honestly(bench);
  CHECK(ask(bench).has_value());
}

TEST_CASE("a reply of another unit is refused by name") {
  LineBench bench;
  bench.device.script.push_back([](Device& device, const Bytes&, const Bytes&) {
    Bytes bytes = kReply;
    bytes[0] = 18;
    device.send(ingest_test::sealed(bytes));
  });
  const Reply reply = ask(bench);
  REQUIRE_FALSE(reply.has_value());
  CHECK(reply.error().code == ErrorCode::corrupt);
  CHECK(reply.error().context == "unit 18 answered, unit 17 was asked");
}

TEST_CASE("a reply after the time-out is dropped and not taken for the next one") {
  for (const Micros late : {Micros{1}, Micros{100'000}, Micros{199'000}}) {
    LineBench bench;
    bench.device.script.push_back([&](Device& device, const Bytes&, const Bytes&) {
      device.send_after(kDeadline + late, kReply);
    });
    REQUIRE_FALSE(ask(bench).has_value());
    const Bytes next = ingest_test::sealed(bytes_from_hex("11 03 06 00 01 00 02 00 03 00 00"));
    bench.device.script.push_back([&](Device& device, const Bytes&, const Bytes&) {
      device.send_after(Micros{250'000}, next);  // so that the late one would be first
    });
    const Reply reply = ask(bench);
    CAPTURE(late.count());
    REQUIRE(reply.has_value());
    CHECK(reply.value() == next);
  }
}

TEST_CASE("bytes that wait in the port before the opening are dropped") {
  LineBench bench;
  answer_honestly(bench);
  bench.device.send(bytes_from_hex("11 03 06 00 00"));
  const Reply reply = ask(bench);
  REQUIRE(reply.has_value());
  CHECK(reply.value() == kReply);
}

TEST_CASE("an echo of the request is skipped") {
  LineBench bench;
  bench.device.echoes = true;
  answer_honestly(bench);
  const Reply read = ask(bench);
  REQUIRE(read.has_value());
  CHECK(read.value() == kReply);

  const Bytes write = bytes_from_hex("01 10 0A 00 00 04 08 00 00 00 02 00 00 00 11 17 BC");
  const Bytes acknowledged = bytes_from_hex("01 10 0A 00 00 04 C2 12");
  bench.device.honest = [&](const Bytes&) { return acknowledged; };
  const Reply written = ask(bench, write);
  REQUIRE(written.has_value());
  CHECK(written.value() == acknowledged);
}

TEST_CASE("an echo without an answer is a time-out") {
  LineBench bench;
  bench.device.echoes = true;
  const Reply reply = ask(bench);
  REQUIRE_FALSE(reply.has_value());
  CHECK(reply.error().code == ErrorCode::timeout);
}

TEST_CASE("no acknowledgement of a command can be taken for the echo of the command") {
  // Both begin with the same six bytes; the echo goes on with its byte count 8.
  for (unsigned unit = 1; unit <= firmware::core::kMaxUnit; ++unit) {
    for (const unsigned address : {firmware::core::kRegSelect, firmware::core::kRegRelease}) {
      const Bytes acknowledged = ingest_test::sealed(
          {static_cast<std::uint8_t>(unit), 0x10, static_cast<std::uint8_t>(address >> 8),
           static_cast<std::uint8_t>(address & 0xff), 0, 4, 0, 0});
      CHECK(acknowledged[6] != 8);
    }
  }
}

TEST_CASE("frames are at least 3.5 characters apart, and a long pause is not made longer") {
  LineBench bench(9600);
  answer_honestly(bench);
  REQUIRE(ask(bench).has_value());
  REQUIRE(ask(bench).has_value());
  bench.clock.advance(Micros{5'000});
  REQUIRE(ask(bench).has_value());
  const auto& times = bench.device.request_times;
  CHECK(times[1] - times[0] == Micros{4010});
  CHECK(times[2] - times[1] == Micros{5'000});
}

TEST_CASE("nothing is sent before the observer is ready") {
  LineBench bench;
  answer_honestly(bench);
  bench.ready_at_once = false;
  std::optional<Reply> reply;
  boost::asio::co_spawn(
      bench.loop,
      [&]() -> boost::asio::awaitable<void> {
        reply.emplace(co_await bench.line.exchange(kRequest, kDeadline));
      },
      boost::asio::detached);
  bench.settle();
  CHECK(bench.line.state() == LineState::opening);
  CHECK(bench.device.requests.empty());
  REQUIRE(bench.ready);
  bench.ready();
  bench.run_until([&] { return reply.has_value(); });
  CHECK(reply->has_value());
}

TEST_CASE("closing ends an exchange and a wait for the observer") {
  for (const bool waits_for_observer : {false, true}) {
    LineBench bench;
    bench.ready_at_once = !waits_for_observer;
    std::optional<Reply> reply;
    boost::asio::co_spawn(
        bench.loop,
        [&]() -> boost::asio::awaitable<void> {
          reply.emplace(co_await bench.line.exchange(kRequest, kDeadline));
        },
        boost::asio::detached);
    bench.settle();
    REQUIRE_FALSE(reply.has_value());
    bench.line.close();
    bench.settle();
    REQUIRE(reply.has_value());
    CHECK(reply->error().code == ErrorCode::unavailable);
    CHECK_FALSE(bench.line.next_attempt_at().has_value());
    if (waits_for_observer) {
      bench.ready();  // too late: it opens nothing
      CHECK(bench.line.state() == LineState::disconnected);
    }
  }
}

TEST_CASE("a port that another program holds is refused") {
  LineBench bench;
  answer_honestly(bench);
  REQUIRE(ask(bench).has_value());
  logger::ingest::SerialLine second(bench.loop, bench.clock, nullptr, {bench.link, 19200});
  const auto opened = bench.run(second.open());
  REQUIRE_FALSE(opened.has_value());
  CHECK(opened.error().code == ErrorCode::unavailable);
  CHECK_THAT(opened.error().context, Catch::Contains("in use by another program"));
}

TEST_CASE("a file that is no serial port is refused") {
  LineBench bench;
  logger::ingest::SerialLine line(bench.loop, bench.clock, nullptr, {"/dev/null", 19200});
  const auto opened = bench.run(line.open());
  REQUIRE_FALSE(opened.has_value());
  CHECK(opened.error().code == ErrorCode::unavailable);
  CHECK_THAT(opened.error().context,
             Catch::StartsWith("serial port /dev/null is no serial device"));
}

TEST_CASE("a baud rate the port does not know is refused by number") {
  LineBench bench;
  logger::ingest::SerialLine line(bench.loop, bench.clock, nullptr, {bench.link, 12345});
  const auto opened = bench.run(line.open());
  REQUIRE_FALSE(opened.has_value());
  CHECK_THAT(opened.error().context, Catch::Contains("refuses 12345 baud"));
}

TEST_CASE("an adapter pulled while the line is idle is noticed at once") {
  LineBench bench;
  answer_honestly(bench);
  REQUIRE(ask(bench).has_value());
  bench.device.unplug();
  bench.settle();
  CHECK(bench.line.state() == LineState::disconnected);
  CHECK(bench.line.next_attempt_at() == bench.clock.monotonic_now() + std::chrono::seconds(1));
}

TEST_CASE("a missing port is tried again after 1, 2, 4 s and so on, and works when it is back") {
  LineBench bench;
  answer_honestly(bench);
  bench.device.unplug();
  for (const int seconds : {1, 2, 4, 8}) {
    const Reply missing = ask(bench);
    REQUIRE_FALSE(missing.has_value());
    CHECK(missing.error().code == ErrorCode::unavailable);
    CHECK(missing.error().os_errno == ENOENT);
    CHECK_THAT(missing.error().context,
               Catch::EndsWith("is not there; plug the adapter in, or name its port in job.json"));
    REQUIRE_FALSE(ask(bench).has_value());
    REQUIRE(bench.line.next_attempt_at() ==
            bench.clock.monotonic_now() + std::chrono::seconds(seconds));
    bench.clock.advance(std::chrono::seconds(seconds));
  }
  bench.device.plug();
  REQUIRE(ask(bench).has_value());
  CHECK(bench.line.failures_in_a_row() == 0);
}

TEST_CASE("an adapter pulled after any byte of a reply ends the exchange; the next one works") {
  for (std::size_t length = 0; length < kReply.size(); ++length) {
    LineBench bench;
    answer_honestly(bench);
    bench.device.unplug_after_bytes = length;
    const Reply cut = ask(bench);
    CAPTURE(length);
    REQUIRE_FALSE(cut.has_value());
    CHECK(cut.error().code == ErrorCode::unavailable);
    CHECK(bench.line.state() == LineState::disconnected);
    bench.device.plug();
    REQUIRE_FALSE(ask(bench).has_value());  // not before its time
    bench.clock.advance(std::chrono::seconds(1));
    const Reply reply = ask(bench);
    REQUIRE(reply.has_value());
    CHECK(reply.value() == kReply);
    CHECK(bench.openings == 2);
  }
}

TEST_CASE("a port that takes no bytes is given up and reopened") {
  LineBench bench;
  bench.device.deaf = true;
  Reply reply = ask(bench, kOtherRequest);
  for (int i = 0; i < 20'000 && reply.error().code == ErrorCode::timeout; ++i) {
    reply = ask(bench, kOtherRequest);
  }
  REQUIRE(reply.error().code == ErrorCode::unavailable);
  CHECK_THAT(reply.error().context, Catch::Contains("takes no bytes"));
  bench.device.deaf = false;
  answer_honestly(bench);
  bench.clock.advance(std::chrono::seconds(1));
  CHECK(ask(bench).has_value());
}

TEST_CASE("a device that babbles without end does not block an exchange") {
  LineBench bench;
  std::function<void()> babble = [&] {
    bench.device.send(Bytes(40, 0x55));
    bench.clock.call_after(Micros{500}, babble);
  };
  answer_honestly(bench);
  REQUIRE(ask(bench).has_value());
  babble();
  bench.device.script.push_back(kStaySilent);
  const Micros began = bench.clock.monotonic_now();
  const Reply reply = ask(bench);
  REQUIRE_FALSE(reply.has_value());
  CHECK(reply.error().code == ErrorCode::corrupt);
  CHECK(bench.clock.monotonic_now() - began <= std::chrono::seconds(2));
}

TEST_CASE("the late reply to a request tried again is not taken for the reply to another one") {
  LineBench bench;
  // The same unit and function at another register: nothing in the reply tells the two apart.
  const Bytes other_request = ingest_test::sealed(bytes_from_hex("11 03 00 07 00 03 00 00"));
  const Bytes other_reply = ingest_test::sealed(bytes_from_hex("11 03 06 00 01 00 02 00 03 00 00"));
  const auto late_by = [](std::int64_t ms, const Bytes& reply) {
    return [ms, reply](Device& device, const Bytes&, const Bytes&) {
      device.send_after(Micros{ms * 1000}, reply);
    };
  };
  // The first try times out at 300 ms, the second is sent at 500 ms and takes the first one's
  // reply.
  bench.device.script = {late_by(550, kReply), late_by(280, kReply), late_by(250, other_reply)};
  CHECK_FALSE(ask(bench));
  const Reply second = ask(bench);
  REQUIRE(second);
  CHECK(second.value() == kReply);
  const Reply other = ask(bench, other_request);
  REQUIRE(other);
  CHECK(other.value() == other_reply);
}

TEST_CASE("a request that can't be confused with the late one does not wait for it") {
  LineBench bench;
  answer_honestly(bench);
  bench.device.script = {kStaySilent};
  CHECK_FALSE(ask(bench));
  bench.device.honest = [](const Bytes&) {
    return ingest_test::sealed(bytes_from_hex("12 03 02 00 01 00 00"));
  };
  const Micros before = bench.clock.monotonic_now();
  REQUIRE(ask(bench, ingest_test::sealed(bytes_from_hex("12 03 00 00 00 01 00 00"))));
  CHECK(bench.clock.monotonic_now() - before < kDeadline);
}
