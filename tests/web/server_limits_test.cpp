// The server with real sockets of this machine: its limits of size, time and number.
#include <sys/resource.h>

#include <optional>

#include "tests/web/server_rig.hpp"

namespace web_tests {

using std::chrono::milliseconds;

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
  late.send(" / HTTP/1.1\r\nHost: localhost\r\n\r\n");
  CHECK(late.read_answer()->status == 200);
}

}  // namespace web_tests
