#include "logger/app/push/delivery_faults.hpp"

#include "logger/app/alerts/local_clock.hpp"
#include "logger/app/alerts/recipients.hpp"
#include "logger/app/push/push_places.hpp"

namespace logger::app {

std::vector<std::string> delivery_faults(const OpenedJob& opened) {
  std::vector<std::string> faults;
  if (const auto clock = local_clock_from(opened.job.alerts.time_zone); !clock) {
    faults.push_back(clock.error().context + "; quiet hours and the digest go by UTC");
  }
  for (const JobRecipient& recipient : recipients_of(opened.job.alerts)) {
    const auto channel = channel_for(recipient, opened.job.alerts, opened.folder.root.string());
    if (!channel) {
      faults.push_back(channel.error().context);
    }
  }
  for (const JobStatusPush& push : opened.job.status_pushes) {
    const auto checked = check_place(opened, push);
    if (!checked) {
      faults.push_back(checked.error().context);
    }
  }
  return faults;
}

}  // namespace logger::app
