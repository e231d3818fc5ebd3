// A server of the page with a handler that says what it was asked, for tests with real sockets.
#pragma once

#include <atomic>
#include <catch2/catch.hpp>
#include <memory>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

#include "logger/web/http/event_feed.hpp"
#include "logger/web/http/web_server.hpp"
#include "tests/web/raw_client.hpp"

namespace web_tests {

using namespace logger::web;

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

inline const std::string kPostHead = "POST /a HTTP/1.1\r\nHost: localhost\r\n";

}  // namespace web_tests
