// The server with real sockets of this machine: what it takes, refuses and survives.
#include "tests/web/server_rig.hpp"

namespace web_tests {
namespace {

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

TEST_CASE("OneHostIsAskedForAsTheVersionDoes") {
  Rig rig;
  const auto status_of = [&](const std::string& bytes) {
    RawClient client{rig.server.port()};
    client.send(bytes);
    return client.read_answer()->status;
  };
  CHECK(status_of("GET /a HTTP/1.1\r\n\r\n") == 400);
  CHECK(status_of("GET /a HTTP/1.1\r\nHost: a\r\nHost: a\r\n\r\n") == 400);
  CHECK(status_of("GET /a HTTP/1.1\r\nHost: a\r\n\r\n") == 200);
  CHECK(status_of("GET /a HTTP/1.0\r\n\r\n") == 200);
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
