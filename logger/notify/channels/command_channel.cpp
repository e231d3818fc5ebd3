#include "logger/notify/channels/command_channel.hpp"

#include "logger/notify/delivery.hpp"

namespace logger::notify {

Result<void> CommandChannel::deliver(const Outgoing& message, const std::stop_token& /*stop*/) {
  return deliver_by_command(settings_.argv, message.json + "\n", settings_.timeout);
}

}  // namespace logger::notify
