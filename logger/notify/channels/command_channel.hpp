// The program that a job names, as a channel.
#pragma once

#include <utility>

#include "logger/notify/channels/channels.hpp"

namespace logger::notify {

// Gives it Outgoing::json with a line end, so that a program that only appends keeps messages
// apart. Not ended by `stop`: its time-out bounds it. Errors: those of deliver_by_command.
class CommandChannel final : public Channel {
 public:
  explicit CommandChannel(CommandSettings settings) : settings_(std::move(settings)) {}
  Result<void> deliver(const Outgoing& message, const std::stop_token& stop) override;

 private:
  CommandSettings settings_;
};

}  // namespace logger::notify
