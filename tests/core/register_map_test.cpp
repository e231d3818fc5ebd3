// Replays the example frames of hardware/register-map.md against a box in the state it describes.
#include <catch2/catch.hpp>
#include <cstdint>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "firmware-sim/core/probe_box.hpp"
#include "tests/core/fake_flash.hpp"

using namespace firmware::core;
using Bytes = std::vector<std::uint8_t>;

namespace {

struct Exchange {
  Bytes request;
  Bytes reply;
};

Bytes bytes_from_hex(const std::string& text) {
  std::istringstream words(text);
  Bytes bytes;
  for (std::string word; words >> word;) {
    bytes.push_back(static_cast<std::uint8_t>(std::stoul(word, nullptr, 16)));
  }
  return bytes;
}

std::vector<Exchange> exchanges_of_document() {
  std::ifstream document("hardware/register-map.md");
  std::vector<Exchange> exchanges;
  for (std::string line; std::getline(document, line);) {
    if (line.starts_with("> ")) {
      exchanges.push_back({bytes_from_hex(line.substr(2)), {}});
    } else if (line.starts_with("< ") && !exchanges.empty()) {
      const Bytes more = bytes_from_hex(line.substr(2));
      exchanges.back().reply.insert(exchanges.back().reply.end(), more.begin(), more.end());
    }
  }
  return exchanges;
}

Sample first_sample() {
  return {.flags = 0,
          .raw_counts = {-512, 4875, 1830, 2010, 8500, 3291, 0, 0},
          .statuses = {0, 0, 0, 0, 0, 0, 1, 1}};
}

Sample second_sample() {
  return {.flags = 4,
          .raw_counts = {-520, 4880, 0, 2011, 8495, 3290, 0, 0},
          .statuses = {0, 0, 2, 0, 0, 0, 1, 1}};
}

}  // namespace

TEST_CASE("TheExamplesOfTheRegisterMapAreWhatTheBoxAnswers") {
  FakeFlash flash(4096, 16);
  ProbeBox box(flash, {.address = 1, .serial = 42});
  REQUIRE(box.start() == Status::ok);
  box.set_ticks(60000);
  REQUIRE(box.store_sample(first_sample()) == Status::ok);
  box.set_ticks(120000);
  REQUIRE(box.store_sample(second_sample()) == Status::ok);
  box.set_ticks(123456);

  const std::vector<Exchange> exchanges = exchanges_of_document();
  REQUIRE(exchanges.size() == 11);
  RequestAssembler assembler;
  for (const Exchange& exchange : exchanges) {
    Bytes reply(kMaxRtuFrame);
    std::size_t length = 0;
    for (const std::uint8_t byte : exchange.request) {
      if (const auto frame = assembler.push(byte)) {
        REQUIRE(box.answer(*frame, reply, length) == Status::ok);
      }
    }
    reply.resize(length);
    CHECK(reply == exchange.reply);
  }
  CHECK(box.held() == 0);
  CHECK(box.sample_interval_s() == 30);
}
