// A networked adapter on the loopback: what goes over the connection byte for byte, late and
// foreign replies, and a connection that breaks. Time is the test's own; sockets are real.
#include "logger/ingest/tcp_line.hpp"

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/read.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/write.hpp>
#include <catch2/catch.hpp>

#include "tests/ingest/line_bench.hpp"

namespace asio = boost::asio;
using asio::ip::tcp;
using ingest_test::Bytes;
using ingest_test::bytes_from_hex;
using ingest_test::FakeClock;
using ingest_test::sealed;
using logger::ingest::ErrorCode;
using logger::ingest::Micros;
using logger::ingest::TcpLine;
using Exchanged = logger::store::Result<Bytes>;

namespace {

const Bytes kRequest = sealed(bytes_from_hex("07 04 00 00 00 02 00 00"));
constexpr Micros kDeadline{500'000};

Bytes numbered(const Bytes& request, const std::string& rest) {
  Bytes reply{request[0], request[1]};
  const Bytes end = bytes_from_hex(rest);
  reply.insert(reply.end(), end.begin(), end.end());
  return reply;
}

// An adapter in the same loop; it answers each request with what `answers` makes of it.
struct Adapter {
  explicit Adapter(asio::io_context& loop)
      : acceptor(loop, tcp::endpoint(asio::ip::make_address("127.0.0.1"), 0)) {}

  asio::awaitable<void> serve() {
    boost::system::error_code ec;
    while (acceptor.is_open()) {
      connection.emplace(
          co_await acceptor.async_accept(asio::redirect_error(asio::use_awaitable, ec)));
      while (!ec && connection->is_open()) {
        Bytes request(12);
        co_await asio::async_read(*connection, asio::buffer(request),
                                  asio::redirect_error(asio::use_awaitable, ec));
        if (!ec) {
          requests.push_back(request);
          const Bytes reply = answers(request);
          if (connection->is_open()) {
            asio::write(*connection, asio::buffer(reply), ec);
          }
        }
      }
    }
  }
  void hang_up() {
    boost::system::error_code ignored;
    connection->close(ignored);
  }

  tcp::acceptor acceptor;
  std::optional<tcp::socket> connection;
  std::function<Bytes(const Bytes& request)> answers = [](const Bytes& request) {
    return numbered(request, "00 00 00 07 07 04 04 01 E7 FF 38");
  };
  std::vector<Bytes> requests;
};

struct TcpBench {
  TcpBench() : line(loop, clock, {"127.0.0.1", adapter.acceptor.local_endpoint().port()}) {
    asio::co_spawn(loop, adapter.serve(), asio::detached);
  }
  ~TcpBench() {
    line.close();
    boost::system::error_code ignored;
    adapter.acceptor.close(ignored);
    if (adapter.connection) {
      adapter.hang_up();
    }
    loop.poll();
  }

  static asio::awaitable<void> keep(TcpLine& line, std::optional<Exchanged>& done) {
    done.emplace(co_await line.exchange(kRequest, kDeadline));
  }
  void run_until(const std::function<bool()>& reached) {
    while (!reached()) {
      // The limit only turns a hang into a failure.
      if (loop.run_one_for(std::chrono::seconds(20)) == 0) {
        throw std::runtime_error("bytes never arrived");
      }
    }
  }
  void begin() {
    done.reset();
    asio::co_spawn(loop, keep(line, done), asio::detached);
  }
  Exchanged finish() {
    run_until([this] { return done.has_value(); });
    return std::move(*done);
  }
  Exchanged exchange() {
    begin();
    return finish();
  }
  // The request arrives, and time runs out.
  Exchanged exchange_unanswered() {
    const std::size_t before = adapter.requests.size();
    begin();
    run_until([&] { return adapter.requests.size() > before; });
    REQUIRE(clock.fire_next());
    return finish();
  }

  asio::io_context loop;
  asio::executor_work_guard<asio::io_context::executor_type> guard{loop.get_executor()};
  FakeClock clock;
  Adapter adapter{loop};
  TcpLine line;
  std::optional<Exchanged> done;
};

}  // namespace

TEST_CASE("ARequestCrossesAsModbusTcpAndItsReplyComesBackAsAFrame") {
  TcpBench bench;
  const auto reply = bench.exchange();
  REQUIRE(reply);
  // Header of MODBUS Messaging on TCP/IP V1.0b 3.1.3: number, protocol 0, length 6, unit.
  CHECK(bench.adapter.requests[0] == bytes_from_hex("00 01 00 00 00 06 07 04 00 00 00 02"));
  CHECK(reply.value() == sealed(bytes_from_hex("07 04 04 01 E7 FF 38 00 00")));
  const auto second = bench.exchange();
  REQUIRE(second);
  CHECK(bench.adapter.requests[1][1] == 2);
}

TEST_CASE("ALateReplyIsNotTakenForTheNextOne") {
  TcpBench bench;
  REQUIRE(bench.exchange());
  const auto honest = bench.adapter.answers;
  bench.adapter.answers = [](const Bytes&) { return Bytes{}; };
  const auto late = bench.exchange_unanswered();
  REQUIRE_FALSE(late);
  CHECK(late.error().code == ErrorCode::timeout);
  CHECK(late.error().context == "no answer within 500 ms");

  // The answer to request 2, with another value, comes just before that to request 3.
  bench.adapter.answers = [&honest](const Bytes& request) {
    Bytes both = bytes_from_hex("00 02 00 00 00 07 07 04 04 00 00 00 00");
    const Bytes own = honest(request);
    both.insert(both.end(), own.begin(), own.end());
    return both;
  };
  const auto reply = bench.exchange();
  REQUIRE(reply);
  CHECK(reply.value() == sealed(bytes_from_hex("07 04 04 01 E7 FF 38 00 00")));
}

TEST_CASE("RepliesOfOthersAndNonsenseAreRefused") {
  TcpBench bench;
  REQUIRE(bench.exchange());
  bench.adapter.answers = [](const Bytes& request) {
    return numbered(request, "00 00 00 07 08 04 04 01 E7 FF 38");
  };
  const auto foreign = bench.exchange();
  REQUIRE_FALSE(foreign);
  CHECK(foreign.error().code == ErrorCode::corrupt);
  CHECK(foreign.error().context == "unit 8 answered, unit 7 was asked");

  bench.adapter.answers = [](const Bytes&) {
    return bytes_from_hex("00 03 00 05 00 07 07 04 04 01 E7 FF 38");  // another protocol
  };
  const auto nonsense = bench.exchange();
  REQUIRE_FALSE(nonsense);
  CHECK(nonsense.error().code == ErrorCode::unavailable);
  CHECK(nonsense.error().context.find("adapter 127.0.0.1:") == 0);
  CHECK(nonsense.error().context.find(" sends what is no Modbus TCP") != std::string::npos);
}

TEST_CASE("ALostConnectionIsMadeAnewAfterAWhile") {
  TcpBench bench;
  REQUIRE(bench.exchange());
  bench.adapter.answers = [&](const Bytes&) {
    bench.adapter.hang_up();
    return Bytes{};
  };
  const auto lost = bench.exchange();
  REQUIRE_FALSE(lost);
  CHECK(lost.error().code == ErrorCode::unavailable);
  const auto too_soon = bench.exchange();
  REQUIRE_FALSE(too_soon);
  CHECK(too_soon.error().code == ErrorCode::unavailable);
  bench.clock.advance(std::chrono::seconds(1));
  bench.adapter.answers = [](const Bytes& request) {
    return numbered(request, "00 00 00 07 07 04 04 01 E7 FF 38");
  };
  CHECK(bench.exchange());
}

TEST_CASE("AnAdapterThatIsNotThereIsNamed") {
  TcpBench bench;
  boost::system::error_code ignored;
  bench.adapter.acceptor.close(ignored);
  const auto reply = bench.exchange();
  REQUIRE_FALSE(reply);
  CHECK(reply.error().code == ErrorCode::unavailable);
  CHECK(reply.error().context.find("adapter " + bench.line.name() + " cannot be connected: ") == 0);
}
