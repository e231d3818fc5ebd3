#include "logger/app/alerts/delivery_lanes.hpp"

#include <algorithm>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/post.hpp>
#include <set>
#include <utility>

#include "logger/app/alerts/acknowledgements.hpp"
#include "logger/app/alerts/alert_states.hpp"
#include "logger/app/alerts/local_clock.hpp"
#include "logger/app/alerts/recipients.hpp"
#include "logger/app/daemon/waits.hpp"
#include "logger/notify/delivery.hpp"
#include "logger/notify/outgoing_text.hpp"

namespace logger::app {

using analysis::alerts::Alert;
using store::ErrorCode;
using store::Failure;
using store::Result;

namespace {

// More recipients than that share them, which matters only while that many are slow at once.
constexpr std::size_t kMostThreads = 4;
constexpr std::size_t kMostJoined = 50;
constexpr const char* kDigest = "digest";

std::size_t threads_for(const JobAlerts& alerts) {
  return std::clamp<std::size_t>(recipients_of(alerts).size(), 1, kMostThreads);
}

UtcMicros ready_at(const store::Delivery& delivery) {
  return std::max(delivery.due_at, delivery.next_attempt_at.value_or(delivery.due_at));
}

// What goes out as one message, for the log.
std::string named(const std::vector<store::Delivery>& group) {
  const store::Delivery& first = group.front();
  return (first.kind == kDigest ? std::string(kDigest) : "alert " + first.alert_key) +
         (group.size() > 1 ? " (+" + std::to_string(group.size() - 1) + " more)" : "");
}

}  // namespace

DeliveryLanes::DeliveryLanes(Ports ports, const JobAlerts& alerts, std::string secrets_in)
    : ports_(std::move(ports)),
      alerts_(alerts),
      secrets_in_(std::move(secrets_in)),
      local_clock_(local_clock_or_utc(alerts.time_zone)),
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
    Task task;
    task.dropped = take_needless(store, of_recipient[id]);
    task.groups = due_groups(lane, of_recipient[id], ports_.clock.utc_now());
    if (!task.dropped.empty() || !task.groups.empty()) {
      lane.at_work = true;
      ++lanes_at_work_;
      boost::asio::co_spawn(ports_.loop, work(lane, std::move(task)), boost::asio::detached);
    }
  }
}

std::vector<store::Delivery> DeliveryLanes::take_needless(store::ReadingStore& store,
                                                          std::vector<Delivery>& waiting) {
  const bool any = std::ranges::any_of(waiting, [](const Delivery& delivery) {
    return delivery.kind == "reminder" || delivery.kind == "escalation";
  });
  if (!any) {
    return {};
  }
  const auto alerts = alerts_from_store(store);
  const auto records = job_records_from(store);
  if (!alerts || !records) {
    return {};
  }
  std::vector<Delivery> needless;
  const auto noted = noted_acknowledgements(records.value());
  std::set<std::string> untold;  // recipient and alert
  std::vector<Delivery> others;
  for (Delivery& delivery : waiting) {
    const std::string of = delivery.recipient + " " + delivery.alert_key;
    std::string because = needless_because(delivery, alerts.value(), noted);
    if (!because.empty() && delivery.kind == "escalation") {
      untold.insert(of);
    } else if (delivery.kind == "cleared" && untold.erase(of) > 0) {
      because = "its beginning was not told";
    }
    if (because.empty()) {
      others.push_back(std::move(delivery));
      continue;
    }
    ports_.warn(delivery.kind + " of " + delivery.alert_key + " to " + delivery.recipient +
                " is not sent any more: " + because);
    delivery.delivered_at = ports_.clock.utc_now();
    delivery.next_attempt_at.reset();
    delivery.last_error = "not sent: " + because;
    needless.push_back(std::move(delivery));
  }
  waiting = std::move(others);
  return needless;
}

bool DeliveryLanes::minds_quiet_hours(const Lane& lane, const Delivery& delivery) const {
  const auto rule =
      analysis::alerts::rule_from_name(delivery.alert_key.substr(0, delivery.alert_key.find('/')));
  return lane.recipient.quiet_hours && !(rule && alerts_.settings.urgent.contains(*rule)) &&
         (delivery.kind != kDigest || delivery.attempts > 0);
}

bool DeliveryLanes::joins(const Lane& lane, const Delivery& delivery, UtcMicros now) const {
  if (delivery.kind == kDigest || delivery.refused) {
    return false;
  }
  return delivery.held ||
         (minds_quiet_hours(lane, delivery) &&
          delivery.due_at < analysis::alerts::newest_time_of_day(lane.recipient.quiet_hours->to,
                                                                 local_clock_, now));
}

// In order; the first that has to wait holds up those after it, unless it was refused or waits for
// quiet hours to end. What those held goes out as one.
std::vector<DeliveryLanes::Group> DeliveryLanes::due_groups(const Lane& lane,
                                                            const std::vector<Delivery>& waiting,
                                                            UtcMicros now) {
  const auto& quiet = lane.recipient.quiet_hours;
  const UtcMicros quiet_end = quiet ? quiet_until(*quiet, local_clock_, now) : now;
  std::vector<Group> groups;
  bool held_up = false;
  bool last_joins = false;
  for (const Delivery& delivery : waiting) {
    const bool is_quiet_now = quiet_end > now && minds_quiet_hours(lane, delivery);
    const UtcMicros ready =
        is_quiet_now ? std::max(ready_at(delivery), quiet_end) : ready_at(delivery);
    if (ready > now) {
      next_at_ = std::min(next_at_.value_or(ready), ready);
      // One that is not due yet holds up nothing; one that failed does.
      held_up = held_up || (delivery.attempts > 0 && !delivery.refused && !is_quiet_now);
      continue;
    }
    if (held_up) {
      continue;
    }
    const bool this_joins = joins(lane, delivery, now);
    if (this_joins && last_joins && groups.back().size() < kMostJoined) {
      groups.back().push_back(delivery);
    } else {
      groups.push_back({delivery});
    }
    last_joins = this_joins;
  }
  return groups;
}

boost::asio::awaitable<void> DeliveryLanes::work(Lane& lane, Task task) {
  if (!task.dropped.empty()) {
    const auto kept = co_await ports_.keep(std::move(task.dropped));
    if (!kept) {
      ports_.warn(kept.error().context);
    }
  }
  for (Group& group : task.groups) {
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
    const UtcMicros next = refused ? notify::next_attempt_after_refusal(delivery.attempts, now)
                                   : notify::next_attempt_at(delivery.attempts, now);
    delivery.next_attempt_at = minds_quiet_hours(lane, delivery)
                                   ? quiet_until(*lane.recipient.quiet_hours, local_clock_, next)
                                   : next;
    next_at_ = std::min(next_at_.value_or(*delivery.next_attempt_at), *delivery.next_attempt_at);
  }
  if (!sent) {
    ports_.warn(named(group) + " not delivered to " + lane.recipient.id + ", attempt " +
                std::to_string(group.front().attempts) + ": " + sent.error().context);
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
  boost::asio::post(threads_,
                    [this, crossing, message = notify::outgoing_from(group, ports_.clock.utc_now()),
                     channel = lane.channel.get(), stop = stop_.get_token()] {
                      crossing->hand_over(ports_.loop, channel->deliver(message, stop));
                      --pending_;
                    });
  co_return co_await crossing->result();
}

}  // namespace logger::app
