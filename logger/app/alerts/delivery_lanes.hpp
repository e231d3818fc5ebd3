// Carries the deliveries of the store to their recipients: a lane each, in order, so that one that
// fails or is slow holds up no other. Event loop thread; the channels block threads of their own.
#pragma once

#include <atomic>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/thread_pool.hpp>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <stop_token>
#include <string>
#include <vector>

#include "analysis/alerts/quiet_hours.hpp"
#include "logger/app/job/job.hpp"
#include "logger/ingest/clock.hpp"
#include "logger/notify/channel.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::app {

class DeliveryLanes {
 public:
  using Delivery = store::Delivery;
  struct Ports {
    boost::asio::io_context& loop;
    ingest::Clock& clock;
    std::function<void(const std::string&)> warn;
    // Stores where these deliveries stand.
    std::function<boost::asio::awaitable<store::Result<void>>(std::vector<Delivery>)> keep;
    std::function<void()> became_idle;
  };
  // `secrets_in`: the job's folder. A recipient whose channel can't be made is told of, and tried
  // again at its deliveries' own times.
  DeliveryLanes(Ports ports, const JobAlerts& alerts, std::string secrets_in);
  ~DeliveryLanes();
  DeliveryLanes(const DeliveryLanes&) = delete;
  DeliveryLanes& operator=(const DeliveryLanes&) = delete;

  // Starts every lane that has something due and is not at work.
  void start_due(store::ReadingStore& store);
  [[nodiscard]] bool at_work() const { return lanes_at_work_ > 0; }
  // A channel is under way on another thread.
  [[nodiscard]] bool busy() const { return pending_.load() > 0; }
  // The next time something is due that is not now.
  [[nodiscard]] std::optional<UtcMicros> next_at() const { return next_at_; }

 private:
  struct Lane {
    JobRecipient recipient;
    std::unique_ptr<notify::Channel> channel;  // empty until it could be made
    bool at_work = false;
  };
  using Group = std::vector<Delivery>;  // what goes out as one message

  struct Task {
    std::vector<Delivery> dropped;  // marked, not sent
    std::vector<Group> groups;
  };

  boost::asio::awaitable<void> work(Lane& lane, Task task);
  boost::asio::awaitable<bool> deliver(Lane& lane, Group group);
  boost::asio::awaitable<store::Result<void>> send(Lane& lane, const Group& group);
  // Takes out of `waiting` reminders and escalations that nobody needs any more, and the ends of
  // alerts whose beginning is not told for that reason.
  [[nodiscard]] std::vector<Delivery> take_needless(store::ReadingStore& store,
                                                    std::vector<Delivery>& waiting);
  [[nodiscard]] std::vector<Group> due_groups(const Lane& lane,
                                              const std::vector<Delivery>& waiting, UtcMicros now);
  // Quiet hours of its recipient keep it back. A digest goes first at the time that the job sets.
  [[nodiscard]] bool minds_quiet_hours(const Lane& lane, const Delivery& delivery) const;
  // It is joined with others: it waited for quiet hours to end.
  [[nodiscard]] bool joins(const Lane& lane, const Delivery& delivery, UtcMicros now) const;

  Ports ports_;
  const JobAlerts& alerts_;
  std::string secrets_in_;
  analysis::alerts::LocalClock local_clock_;
  std::map<std::string, Lane> lanes_;  // by recipient id
  int lanes_at_work_ = 0;
  std::optional<UtcMicros> next_at_;
  std::stop_source stop_;
  std::atomic<int> pending_{0};
  boost::asio::thread_pool threads_;
};

}  // namespace logger::app
