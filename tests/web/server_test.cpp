// The server with real sockets of this machine: what it takes, refuses, limits and survives.
#include <sys/resource.h>

#include <atomic>
#include <catch2/catch.hpp>
#include <condition_variable>
#include <mutex>
#include <thread>

#include "logger/web/http/event_feed.hpp"
#include "logger/web/http/web_server.hpp"
#include "tests/web/raw_client.hpp"

namespace web_tests {
namespace {

using namespace logger::web;
using logger::store::ErrorCode;
using std::chrono::milliseconds;

// Gives what it was told, then ends, or holds.
class ListFeed final : public EventFeed {
 public:
  ListFeed(std::vector<std::string> events, bool holds, std::atomic<int>& closed)
      : events_(std::move(events)), holds_(holds), closed_(closed) {}
  void next(std::function<void(std::string)> ready) override {
    if (at_ < events_.size()) {
      ready(events_[at_++]);
    } else if (!holds_) {
      ready({});
    }
  }
  void close() override { ++closed_; }

 private:
  std::vector<std::string> events_;
  std::size_t at_ = 0;
  bool holds_;
  std::atomic<int>& closed_;
};

// Says what it was asked.
class Echo final : public RequestHandler {
 public:
  std::size_t long_body = kSmallBody;
  ServerLoop* loop = nullptr;
  std::atomic<int> feeds_closed{0};
  std::atomic<int> asked{0};
  std::atomic<bool> worker_holds{false};

  std::size_t body_limit(const Request& head) override {
    return head.target == "/long" ? long_body : kSmallBody;
  }
  void handle(Request request, Answer answer) override {
    ++asked;
    Response response;
    response.headers.push_back({"x-test", "1"});
    if (request.fault != 0) {
      response.status = request.fault;
    } else if (request.target == "/throw") {
      throw std::runtime_error("invented");
    } else if (request.target == "/worker") {
      const bool taken = loop->on_worker([this] { worker_holds.wait(true); },
                                         [answer, response] { answer(response); });
      if (!taken) {
        response.status = 503;
        answer(response);
      }
      return;
    } else if (request.target == "/big") {
      response.body.assign(std::size_t{8} << 20U, 'b');
    } else if (request.target == "/feed" || request.target == "/hold") {
      response.feed = std::make_shared<ListFeed>(std::vector<std::string>{"one\n", "two\n"},
                                                 request.target == "/hold", feeds_closed);
    } else {
      response.body = request.method + " " + request.target + " " + request.peer_address + " " +
                      std::to_string(request.body.size()) + " " + std::to_string(request.at.value);
    }
    answer(std::move(response));
  }
};

struct Rig {
  explicit Rig(ServerLimits limits = {})
      : server({.address = "127.0.0.1", .port = 0, .tls = {}, .limits = limits},
               [] { return UtcMicros{42}; }) {
    handler.loop = &server;
    const auto started = server.start(handler);
    INFO((started ? "" : started.error().context));
    REQUIRE(started);
    REQUIRE(server.port() != 0);
  }
  RawClient client(const char* from = "127.0.0.1") { return RawClient{server.port(), from}; }
  // Waits for the server to notice; the client's limit ends a failure.
  void wait_for_open(std::size_t count) {
    while (server.open_connections() != count) {
      std::this_thread::yield();
    }
  }
  Echo handler;
  WebServer server;
};

const std::string kPostHead = "POST /a HTTP/1.1\r\nHost: localhost\r\n";

std::string start_error(ServerSettings settings) {
  Echo handler;
  WebServer server{std::move(settings), [] { return UtcMicros{0}; }};
  const auto started = server.start(handler);
  return started ? "" : started.error().context;
}

}  // namespace

TEST_CASE("RequestsOfOneConnectionAreAnsweredInTheirOrder") {
  Rig rig;
  RawClient client{rig.server.port()};
  REQUIRE(client.send(RawClient::get("/one") + kPostHead + "Content-Length: 3\r\n\r\nabc" +
                      RawClient::get("/three?x=1")));
  CHECK(client.read_answer()->body == "GET /one 127.0.0.1 0 42");
  CHECK(client.read_answer()->body == "POST /a 127.0.0.1 3 42");
  const auto last = client.read_answer();
  CHECK(last->body == "GET /three?x=1 127.0.0.1 0 42");
  CHECK(last->head.starts_with("HTTP/1.1 200 OK\r\n"));
  CHECK(last->head.find("x-test: 1\r\n") != std::string::npos);
  CHECK(last->head.find("connection: keep-alive") != std::string::npos);
}

TEST_CASE("ARequestMayComeByteByByte") {
  Rig rig;
  RawClient client{rig.server.port()};
  for (const char byte : kPostHead + "Transfer-Encoding: chunked\r\n\r\n4\r\nabcd\r\n0\r\n\r\n") {
    REQUIRE(client.send({&byte, 1}));
  }
  CHECK(client.read_answer()->body == "POST /a 127.0.0.1 4 42");
}

TEST_CASE("TheConnectionIsClosedWhereTheClientAsksForIt") {
  Rig rig;
  RawClient client{rig.server.port()};
  REQUIRE(client.send(RawClient::get("/", "Connection: close\r\n")));
  CHECK(client.read_answer()->head.find("connection: close") != std::string::npos);
  CHECK(client.is_closed());
  RawClient old{rig.server.port()};
  REQUIRE(old.send("GET / HTTP/1.0\r\n\r\n"));
  CHECK(old.read_answer()->status == 200);
  CHECK(old.is_closed());
}

TEST_CASE("AHeadRequestGetsTheLengthAlone") {
  Rig rig;
  RawClient client{rig.server.port()};
  REQUIRE(client.send("HEAD /big HTTP/1.1\r\nHost: localhost\r\n\r\n" + RawClient::get("/next")));
  const auto head = client.read_answer(false);
  CHECK(head->head.find("content-length: 8388608\r\n") != std::string::npos);
  CHECK(client.read_answer()->body.starts_with("GET /next"));
}

TEST_CASE("WhatIsNoHttpIsRefusedAndClosed") {
  Rig rig;
  for (const std::string& bytes : std::vector<std::string>{
           "nonsense\r\n\r\n", "GET / HTTP/9.9\r\n\r\n", "GET /\r\n\r\n",
           "GET / HTTP/1.1\r\nno colon\r\n\r\n",
           kPostHead + "Content-Length: 3\r\nContent-Length: 4\r\n\r\nabcd",
           kPostHead + "Content-Length: -1\r\n\r\n",
           kPostHead + "Content-Length: 99999999999999999999\r\n\r\n",
           kPostHead + "Transfer-Encoding: gzip, chunked\r\n\r\n0\r\n\r\n",
           kPostHead + "Content-Length: 3\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
           kPostHead + "Transfer-Encoding: chunked\r\n\r\nxyz\r\n",
           std::string("\x16\x03\x01\x00\xff\0\0", 7) + "\r\n\r\n",
           std::string("GET /a\0b HTTP/1.1\r\n\r\n", 21)}) {
    RawClient client{rig.server.port()};
    client.send(bytes);
    const auto answer = client.read_answer();
    INFO(bytes);
    REQUIRE(answer);
    CHECK(answer->status == 400);
    CHECK(client.is_closed());
  }
}

TEST_CASE("ALongHeaderIsRefused") {
  Rig rig;
  RawClient client{rig.server.port()};
  client.send(RawClient::get("/", "X: " + std::string(9000, 'x') + "\r\n"));
  CHECK(client.read_answer()->status == 431);
  CHECK(client.is_closed());
  RawClient near{rig.server.port()};
  near.send(RawClient::get("/", "X: " + std::string(7000, 'x') + "\r\n"));
  CHECK(near.read_answer()->status == 200);
}

TEST_CASE("ALongBodyIsRefusedBeforeItIsRead") {
  Rig rig;
  RawClient client{rig.server.port()};
  // Nothing of the body was sent, so the answer can't have waited for it.
  REQUIRE(client.send(kPostHead + "Content-Length: 70000\r\n\r\n"));
  CHECK(client.read_answer()->status == 413);
  RawClient chunked{rig.server.port()};
  chunked.send(kPostHead + "Transfer-Encoding: chunked\r\n\r\n20000\r\n" +
               std::string(0x20000, 'x'));
  CHECK(chunked.read_answer()->status == 413);
}

TEST_CASE("AnAnswerSurvivesABodyThatNobodyReads") {
  // Closing with bytes unread would reset the connection, and the answer might be lost.
  Rig rig;
  RawClient client{rig.server.port()};
  client.send(kPostHead + "Content-Length: 500000\r\n\r\n" + std::string(500000, 'x'));
  const auto answer = client.read_answer();
  REQUIRE(answer);
  CHECK(answer->status == 413);
}

TEST_CASE("LongBodiesAreTakenWhereTheHandlerSaysSoAndFewAtOnce") {
  ServerLimits limits;
  limits.long_bodies = 1;
  Rig rig{limits};
  rig.handler.long_body = 1 << 20U;
  const std::string head =
      "POST /long HTTP/1.1\r\nHost: localhost\r\nExpect: 100-continue\r\nContent-Length: ";
  RawClient first{rig.server.port()};
  first.send(head + "200000\r\n\r\n");
  CHECK(first.read_answer(false)->status == 100);
  RawClient second{rig.server.port()};
  second.send(head + "200000\r\n\r\n");
  CHECK(second.read_answer()->status == 503);
  RawClient small{rig.server.port()};
  small.send("POST /long HTTP/1.1\r\nHost: localhost\r\nContent-Length: 3\r\n\r\nabc");
  CHECK(small.read_answer()->status == 200);
  first.send(std::string(200000, 'x'));
  CHECK(first.read_answer()->body == "POST /long 127.0.0.1 200000 42");
  RawClient third{rig.server.port()};
  third.send(head + "200000\r\n\r\n");
  CHECK(third.read_answer(false)->status == 100);
}

TEST_CASE("WhoIsTooSlowIsClosed") {
  ServerLimits limits;
  limits.header = milliseconds{50};
  limits.body = milliseconds{50};
  limits.idle = milliseconds{50};
  limits.write = milliseconds{50};
  Rig rig{limits};
  RawClient silent{rig.server.port()};
  CHECK(silent.is_closed());
  RawClient half{rig.server.port()};
  half.send("GET / HTTP/1.1\r\nHost:");
  CHECK(half.is_closed());
  RawClient half_body{rig.server.port()};
  half_body.send(kPostHead + "Content-Length: 10\r\n\r\nabc");
  CHECK(half_body.is_closed());
  RawClient idle{rig.server.port()};
  idle.send(RawClient::get("/"));
  CHECK(idle.read_answer()->status == 200);
  CHECK(idle.is_closed());
  CHECK(rig.handler.asked == 1);
  RawClient reads_nothing{rig.server.port()};
  const int small_buffer = 4096;
  ::setsockopt(reads_nothing.socket(), SOL_SOCKET, SO_RCVBUF, &small_buffer, sizeof small_buffer);
  reads_nothing.send(RawClient::get("/big"));
  rig.wait_for_open(1);
  rig.wait_for_open(0);
}

TEST_CASE("ConnectionsAreLimitedInAllAndForEachAddress") {
  ServerLimits limits;
  limits.connections = 3;
  limits.connections_per_address = 2;
  Rig rig{limits};
  const auto works = [](RawClient& client) {
    client.send(RawClient::get("/"));
    const auto answer = client.read_answer();
    return answer && answer->status == 200;
  };
  RawClient one{rig.server.port()};
  CHECK(works(one));
  {
    RawClient two{rig.server.port()};
    CHECK(works(two));
    RawClient third_of_address{rig.server.port()};
    CHECK_FALSE(works(third_of_address));
    RawClient of_another{rig.server.port(), "127.0.0.2"};
    CHECK(works(of_another));
    RawClient fourth{rig.server.port(), "127.0.0.3"};
    CHECK_FALSE(works(fourth));
    CHECK(works(one));
  }
  rig.wait_for_open(1);
  RawClient again{rig.server.port()};
  CHECK(works(again));
}

TEST_CASE("AFeedIsStreamedAndEndsWithItsLastEvent") {
  Rig rig;
  RawClient client{rig.server.port()};
  client.send(RawClient::get("/feed"));
  const auto head = client.read_answer(false);
  CHECK(head->head.find("content-length") == std::string::npos);
  CHECK(client.read_until("two\n") == "one\ntwo\n");
  CHECK(client.is_closed());
  CHECK(rig.handler.feeds_closed == 1);
}

TEST_CASE("AReaderThatGoesAwayFreesItsFeed") {
  Rig rig;
  {
    RawClient client{rig.server.port()};
    client.send(RawClient::get("/hold"));
    CHECK(client.read_until("two\n"));
  }
  rig.wait_for_open(0);
  CHECK(rig.handler.feeds_closed == 1);
}

TEST_CASE("AHandlerThatThrowsEndsItsConnectionAlone") {
  Rig rig;
  RawClient unlucky{rig.server.port()};
  unlucky.send(RawClient::get("/throw"));
  CHECK(unlucky.is_closed());
  RawClient other{rig.server.port()};
  other.send(RawClient::get("/"));
  CHECK(other.read_answer()->status == 200);
}

TEST_CASE("TheWorkerIsOneAndItsQueueIsBounded") {
  ServerLimits limits;
  limits.worker_queue = 2;
  Rig rig{limits};
  rig.handler.worker_holds = true;
  RawClient first{rig.server.port()};
  RawClient second{rig.server.port()};
  first.send(RawClient::get("/worker"));
  second.send(RawClient::get("/worker"));
  while (rig.handler.asked != 2) {
    std::this_thread::yield();
  }
  RawClient third{rig.server.port()};
  third.send(RawClient::get("/worker"));
  CHECK(third.read_answer()->status == 503);
  third.send(RawClient::get("/meanwhile"));
  CHECK(third.read_answer()->status == 200);
  rig.handler.worker_holds = false;
  rig.handler.worker_holds.notify_all();
  CHECK(first.read_answer()->status == 200);
  CHECK(second.read_answer()->status == 200);
}

TEST_CASE("StoppingClosesAllAndMayBeRepeated") {
  Rig rig;
  RawClient idle{rig.server.port()};
  idle.send(RawClient::get("/"));
  CHECK(idle.read_answer()->status == 200);
  RawClient reader{rig.server.port()};
  reader.send(RawClient::get("/hold"));
  CHECK(reader.read_until("two\n"));
  RawClient half{rig.server.port()};
  half.send("GET /");
  rig.wait_for_open(3);
  std::atomic<bool> called{false};
  rig.server.call_after(std::chrono::hours{1}, [&] { called = true; });
  rig.server.stop();
  CHECK(idle.is_closed());
  CHECK(reader.is_closed());
  CHECK(half.is_closed());
  CHECK(rig.handler.feeds_closed == 1);
  CHECK_FALSE(called);
  rig.server.stop();
  CHECK_THROWS(RawClient{rig.server.port()});
}

TEST_CASE("WithoutDescriptorsTheOthersAreStillServed") {
  Rig rig;
  RawClient there{rig.server.port()};
  there.send(RawClient::get("/"));
  CHECK(there.read_answer()->status == 200);
  RawClient busy{rig.server.port()};
  busy.send(RawClient::get("/hold"));
  CHECK(busy.read_until("two\n"));
  rlimit before{};
  REQUIRE(::getrlimit(RLIMIT_NOFILE, &before) == 0);
  RawClient late{rig.server.port()};
  late.send("GET");
  rig.wait_for_open(3);
  const int next = ::dup(0);
  // The client has its descriptor before the limit falls; the server finds none for its own.
  const rlimit tight{static_cast<rlim_t>(next) + 1, before.rlim_max};
  ::close(next);
  REQUIRE(::setrlimit(RLIMIT_NOFILE, &tight) == 0);
  std::optional<RawClient> waiting;
  waiting.emplace(rig.server.port());
  waiting->send(RawClient::get("/waited"));
  // What is idle makes room for what waits.
  const auto answer = waiting->read_answer();
  REQUIRE(::setrlimit(RLIMIT_NOFILE, &before) == 0);
  REQUIRE(answer);
  CHECK(answer->body.starts_with("GET /waited"));
  CHECK(there.is_closed());
  late.send(" / HTTP/1.1\r\n\r\n");
  CHECK(late.read_answer()->status == 200);
}

TEST_CASE("WhatCantBeListenedAtIsSaidInOneLine") {
  CHECK(start_error({.address = "localhost"}) ==
        "page: address \"localhost\" is neither an IPv4 nor an IPv6 address, such as 127.0.0.1");
  CHECK(start_error({.address = "0.0.0.0"}) ==
        "page: address 0.0.0.0 is within reach of other machines, which needs TLS: give a "
        "certificate, or use 127.0.0.1");
  CHECK(start_error({.address = "::"}).find("needs TLS") != std::string::npos);
  CHECK(start_error({.address = "192.0.2.1"}).find("needs TLS") != std::string::npos);
  Rig rig;
  const std::string taken = start_error({.address = "127.0.0.1", .port = rig.server.port()});
  CHECK(taken == "page: can't listen at 127.0.0.1 port " + std::to_string(rig.server.port()) +
                     ": Address already in use");
}

}  // namespace web_tests
