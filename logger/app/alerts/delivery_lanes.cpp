#include "logger/app/alerts/delivery_lanes.hpp"

#include <algorithm>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/post.hpp>
#include <utility>

#include "logger/app/alerts/recipients.hpp"
#include "logger/app/daemon/waits.hpp"
#include "logger/notify/delivery.hpp"
#include "logger/notify/outgoing_text.hpp"

namespace logger::app {

using store::ErrorCode;
using store::Failure;
using store::Result;

namespace {

// More recipients than that share them, which matters only while that many are slow at once.
constexpr std::size_t kMostThreads = 4;
constexpr std::size_t kMostJoined = 50;
// What a recipient refused so often is tried once a day, for the case that somebody sets it right.
constexpr int kRefusalsBeforeADay = 12;

std::size_t threads_for(const JobAlerts& alerts) {
  return std::clamp<std::size_t>(recipients_of(alerts).size(), 1, kMostThreads);
}

UtcMicros ready_at(const store::Delivery& delivery) {
  return std::max(delivery.due_at, delivery.next_attempt_at.value_or(delivery.due_at));
}

}  // namespace

DeliveryLanes::DeliveryLanes(Ports ports, const JobAlerts& alerts, std::string secrets_in)
    : ports_(std::move(ports)),
      alerts_(alerts),
      secrets_in_(std::move(secrets_in)),
      threads_(threads_for(alerts)) {
  for (const JobRecipient& recipient : recipients_of(alerts)) {
    lanes_[recipient.id].recipient = recipient;
  }
}

DeliveryLanes::~DeliveryLanes() {
  stop_.request_stop();
  threads_.join();
}

void DeliveryLanes::start_due(store::ReadingStore& store) {
  next_at_.reset();
  if (lanes_.empty()) {
    return;
  }
  const auto waiting = store.waiting_deliveries();
  if (!waiting) {
    ports_.warn(waiting.error().context);
    return;
  }
  std::map<std::string, std::vector<Delivery>> of_recipient;
  for (const Delivery& delivery : waiting.value()) {
    of_recipient[delivery.recipient].push_back(delivery);
  }
  for (auto& [id, lane] : lanes_) {
    if (lane.at_work) {
      continue;
    }
    auto groups = due_groups(of_recipient[id], ports_.clock.utc_now());
    if (!groups.empty()) {
      lane.at_work = true;
      ++lanes_at_work_;
      boost::asio::co_spawn(ports_.loop, work(lane, std::move(groups)), boost::asio::detached);
    }
  }
}

// In order; the first that has to wait holds up those after it, unless it was refused. What quiet
// hours held goes out as one.
std::vector<DeliveryLanes::Group> DeliveryLanes::due_groups(const std::vector<Delivery>& waiting,
                                                            UtcMicros now) {
  std::vector<Group> groups;
  bool held_up = false;
  for (const Delivery& delivery : waiting) {
    const UtcMicros ready = ready_at(delivery);
    if (ready > now) {
      next_at_ = std::min(next_at_.value_or(ready), ready);
      // One that is not due yet holds up nothing; one that failed does.
      held_up = held_up || (delivery.attempts > 0 && !delivery.refused);
      continue;
    }
    if (held_up) {
      continue;
    }
    const bool joins = delivery.held && !groups.empty() && groups.back().front().held &&
                       groups.back().size() < kMostJoined;
    if (joins) {
      groups.back().push_back(delivery);
    } else {
      groups.push_back({delivery});
    }
  }
  return groups;
}

boost::asio::awaitable<void> DeliveryLanes::work(Lane& lane, std::vector<Group> groups) {
  for (Group& group : groups) {
    const bool go_on = co_await deliver(lane, std::move(group));
    if (!go_on) {
      break;
    }
  }
  lane.at_work = false;
  --lanes_at_work_;
  if (lanes_at_work_ == 0) {
    ports_.became_idle();
  }
}

// Whether the lane goes on with what is next.
boost::asio::awaitable<bool> DeliveryLanes::deliver(Lane& lane, Group group) {
  const auto sent = co_await send(lane, group);
  const UtcMicros now = ports_.clock.utc_now();
  const bool refused = !sent && sent.error().code == ErrorCode::invalid_input;
  for (Delivery& delivery : group) {
    ++delivery.attempts;
    delivery.refused = refused;
    if (sent) {
      delivery.delivered_at = now;
      delivery.next_attempt_at.reset();
      delivery.last_error.clear();
      continue;
    }
    delivery.last_error = sent.error().context;
    delivery.next_attempt_at = refused && delivery.attempts >= kRefusalsBeforeADay
                                   ? now + std::chrono::hours(24)
                                   : notify::next_attempt_at(delivery.attempts, now);
    next_at_ = std::min(next_at_.value_or(*delivery.next_attempt_at), *delivery.next_attempt_at);
  }
  if (!sent) {
    ports_.warn("alert " + group.front().alert_key + " not delivered to " + lane.recipient.id +
                ", attempt " + std::to_string(group.front().attempts) + ": " +
                sent.error().context);
  }
  const auto kept = co_await ports_.keep(std::move(group));
  if (!kept) {
    ports_.warn(kept.error().context);
  }
  co_return kept.has_value() && (sent.has_value() || refused);
}

boost::asio::awaitable<Result<void>> DeliveryLanes::send(Lane& lane, const Group& group) {
  if (!lane.channel) {
    auto channel = channel_for(lane.recipient, alerts_, secrets_in_);
    if (!channel) {
      // Somebody may yet set it right, so it is not refused by the other side.
      store::Error error = channel.error();
      error.code = ErrorCode::unavailable;
      co_return Failure{std::move(error)};
    }
    lane.channel = std::move(channel).value();
  }
  auto crossing = std::make_shared<Crossing<Result<void>>>(ports_.loop.get_executor());
  ++pending_;
  boost::asio::post(threads_, [this, crossing, message = notify::outgoing_from(group),
                               channel = lane.channel.get(), stop = stop_.get_token()] {
    crossing->hand_over(ports_.loop, channel->deliver(message, stop));
    --pending_;
  });
  co_return co_await crossing->result();
}

}  // namespace logger::app
