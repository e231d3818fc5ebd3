// Messages and settings that the tests of delivery send; names and values invented.
#pragma once

#include <catch2/catch.hpp>

#include "logger/notify/channels/channels.hpp"
#include "tests/delivery/server_rig.hpp"

namespace delivery_tests {

using namespace logger::notify;
using logger::store::ErrorCode;

inline Outgoing message(const std::string& id = "job-1.17.anna") {
  Outgoing out;
  out.id = id;
  out.kind = "transition";
  out.at = {1'795'676'700'000'000};  // 2026-11-26T07:05:00Z
  out.subject = "Küche: nicht mehr bereit";
  out.text = "Kitchen: no longer ready.\n.\nThe air is too dry, 28 %RH.\n";
  out.json = R"({"format":"dwellog-alert/1","text":"too dry"})";
  return out;
}

inline std::unique_ptr<Channel> made(const ChannelSettings& settings) {
  auto channel = channel_from(settings);
  INFO((channel ? "" : channel.error().context));
  REQUIRE(channel);
  return std::move(channel).value();
}

// "" = delivered; else the category and what is said. Fails where that tells the password.
inline std::string outcome(Channel& channel, const Outgoing& out,
                           const std::stop_token& stop = {}) {
  const auto done = channel.deliver(out, stop);
  if (done) {
    return "";
  }
  const auto code = done.error().code;
  INFO(done.error().context);
  CHECK(done.error().context.find(kPassword) == std::string::npos);
  CHECK(done.error().context.find('\n') == std::string::npos);
  return (code == ErrorCode::invalid_input ? "never: "
          : code == ErrorCode::timeout     ? "timeout: "
          : code == ErrorCode::unavailable ? "again: "
                                           : "other: ") +
         done.error().context;
}

}  // namespace delivery_tests
