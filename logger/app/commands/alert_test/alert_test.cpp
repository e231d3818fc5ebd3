#include "logger/app/commands/alert_test/alert_test.hpp"

#include <sodium.h>

#include <algorithm>
#include <array>
#include <ostream>

#include "logger/app/alerts/recipients.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/daemon/real_clock.hpp"
#include "logger/app/push/job_state.hpp"
#include "logger/app/text/listed.hpp"
#include "logger/store/json_line.hpp"

namespace logger::app {

using notify::Outgoing;
using store::ErrorCode;
using store::Result;

namespace {

constexpr std::array<const char*, 3> kTestKinds{"transition", "reminder", "digest"};
constexpr const char* kTestMark = "TEST, not a real alert: ";

// Another one at every call of the command, so that a recipient who remembers ids takes it anew.
std::string test_id() {
  std::array<unsigned char, 8> bytes{};
  randombytes_buf(bytes.data(), bytes.size());
  std::array<char, 2 * bytes.size() + 1> hex{};
  return std::string("test-") + sodium_bin2hex(hex.data(), hex.size(), bytes.data(), bytes.size());
}

std::string test_json(const std::string& kind, const OpenedJob& opened, const std::string& text,
                      UtcMicros at) {
  const bool digest = kind == "digest";
  return store::json_line({{"format", digest ? "dwellog-digest/1" : "dwellog-alert/1"},
                           {"job", opened.job.name},
                           {"simulated", opened.simulated},
                           {"test", true},
                           {"kind", kind},
                           {"at_utc", analysis::base::rfc3339_from_utc(at)},
                           {"text", text}});
}

Outgoing test_message(const std::string& kind, const OpenedJob& opened, const std::string& id) {
  Outgoing message;
  message.id = id + "-" + kind;
  message.kind = "test";
  message.at = utc_of_this_machine();
  message.subject = kTestMark + opened.job.name + ", " + kind;
  message.text = std::string(kTestMark) + "this is how a " + kind + " of the job \"" +
                 opened.job.name + "\"\nreaches you. Nothing happened on the site.\n";
  message.json = test_json(kind, opened, kTestMark + ("a " + kind), message.at);
  return message;
}

// True when all kinds were taken over.
bool test_recipient(const JobRecipient& recipient, OpenedJob& opened, const std::string& id,
                    const Console& console) {
  const auto channel = channel_for(recipient, opened.job.alerts, opened.folder.root.string());
  if (!channel) {
    console.out << channel.error().context << '\n';
    return false;
  }
  bool all = true;
  for (const char* kind : kTestKinds) {
    Outgoing message = test_message(kind, opened, id);
    if (!recipient.mail.empty() && message.id.ends_with("digest")) {
      if (auto content = digest_content(opened)) {
        message.html = std::move(content.value().html);
        message.attachments = std::move(content.value().attachments);
      }
    }
    const auto done = channel.value()->deliver(message, {});
    console.out << recipient.id << ": " << kind << ": "
                << (done ? "taken over" : done.error().context) << '\n'
                << std::flush;
    all = all && done.has_value();
  }
  return all;
}

}  // namespace

int alert_test(const AlertTestOptions& options, const Console& console) {
  auto opened = open_job(options.job_dir, false);
  if (!opened) {
    return report(console, opened.error());
  }
  std::vector<JobRecipient> recipients = recipients_of(opened.value().job.alerts);
  const std::string known = listed(recipients, &JobRecipient::id);
  if (!options.recipient.empty()) {
    std::erase_if(recipients,
                  [&](const JobRecipient& recipient) { return recipient.id != options.recipient; });
  }
  if (recipients.empty()) {
    return report(console,
                  {ErrorCode::invalid_input,
                   known.empty() ? "job.json names nobody to tell (alerts.recipients)"
                                 : "--to " + options.recipient + ": expected one of " + known,
                   0});
  }
  bool all = true;
  const std::string id = test_id();
  for (const JobRecipient& recipient : recipients) {
    all = test_recipient(recipient, opened.value(), id, console) && all;
  }
  return all ? kExitDone : kExitCouldNotDo;
}

}  // namespace logger::app
