// What a single key can't tell of who is told, of the page and of what is pushed outward.
#include <algorithm>

#include "analysis/base/loopback.hpp"
#include "logger/app/job/reader/job_parts.hpp"
#include "logger/app/job/reader/keys/key_check.hpp"
#include "logger/app/job/reader/keys/value_shapes.hpp"
#include "logger/app/job/reader/unique_values.hpp"

namespace logger::app {
namespace {

constexpr std::string_view kSelfMade = "self-made";

// One object of the file, with its path for findings.
class Place {
 public:
  Place(ObjectView view, std::string path, Findings& findings)
      : view_(view), path_(std::move(path)), findings_(findings) {}
  [[nodiscard]] const ObjectView& view() const { return view_; }

  void refuse(std::string_view key, const std::string& text) const {
    findings_.add_error(view_.line_of(key), key.empty() ? path_ : key_path(path_, key), text);
  }
  // `expected` completes the finding where the text is there, not empty and not of that shape.
  void expect(std::string_view key, bool (*shape)(std::string_view), const char* expected) const {
    const auto text = view_.text(key);
    if (text && !text->empty() && !shape(*text)) {
      refuse(key, in_quotes(*text) + " is " + expected);
    }
  }
  void expect_file(std::string_view key) const {
    expect(key, stays_in_folder, "not in the job folder; expected the name of a file there");
  }
  void expect_clock_time(std::string_view key) const {
    expect(
        key, [](std::string_view text) { return time_of_day_from(text).has_value(); },
        "no time of day; expected 00:00 to 23:59");
  }
  // One of `schemes`; the last one only to this machine.
  void expect_url(std::string_view key, std::string_view secure, std::string_view plain) const {
    const auto text = view_.text(key);
    if (!text || text->empty()) {
      return;
    }
    const auto parts = parts_of_url(*text);
    if (!parts || (parts->scheme != secure && parts->scheme != plain)) {
      refuse(key, in_quotes(*text) + " is no address; expected " + std::string(secure) +
                      "://HOST..., without blanks, user or password");
    } else if (parts->scheme == plain && !analysis::base::is_loopback(parts->host)) {
      refuse(key, in_quotes(*text) + " would go over the network unencrypted; expected " +
                      std::string(secure) + "://");
    }
  }

 private:
  ObjectView view_;
  std::string path_;
  Findings& findings_;
};

void check_quiet_hours(const Place& place, const std::optional<analysis::alerts::QuietHours>& q) {
  place.expect_clock_time("from");
  place.expect_clock_time("to");
  if (q && q->from == q->to) {
    place.refuse("to", "quiet hours end when they begin; leave them out, or set two times");
  }
}

void check_recipient(const JobRecipient& recipient, const JobAlerts& alerts, const Place& place,
                     Findings& findings, const std::string& path) {
  const int ways = static_cast<int>(place.view().has("mail")) +
                   static_cast<int>(place.view().has("webhook")) +
                   static_cast<int>(place.view().has("mqtt_topic")) +
                   static_cast<int>(place.view().has("command"));
  if (ways != 1) {
    place.refuse("", "has " + std::to_string(ways) +
                         " ways to be reached; expected one of \"mail\", \"webhook\", "
                         "\"mqtt_topic\", \"command\"");
  }
  place.expect("mail", is_mail_address, "no mail address; expected NAME@HOST");
  if (!recipient.mail.empty() && !alerts.mail_server) {
    place.refuse("mail", "needs alerts.mail_server");
  }
  place.expect("mqtt_topic", is_topic, "no topic; expected no + or # in it");
  if (!recipient.mqtt_topic.empty() && !alerts.mqtt_server) {
    place.refuse("mqtt_topic", "needs alerts.mqtt_server");
  }
  if (place.view().has("command") && (recipient.command.empty() || recipient.command[0].empty())) {
    place.refuse("command", "names no program");
  }
  const Place webhook(place.view().object("webhook"), key_path(path, "webhook"), findings);
  webhook.expect_url("url", "https", "http");
  webhook.expect_file("secret_file");
  webhook.expect_file("certificates");
  check_quiet_hours({place.view().object("quiet_hours"), key_path(path, "quiet_hours"), findings},
                    recipient.quiet_hours);
}

bool is_known(const JobAlerts& alerts, const std::string& id) {
  return (id == kCommandRecipient && !alerts.command.empty()) ||
         std::any_of(alerts.recipients.begin(), alerts.recipients.end(),
                     [&](const JobRecipient& recipient) { return recipient.id == id; });
}

void check_servers(const JobAlerts& alerts, const ObjectView& view, Findings& findings) {
  const Place mail(view.object("mail_server"), "alerts.mail_server", findings);
  const auto parts = alerts.mail_server ? parts_of_url(alerts.mail_server->url) : std::nullopt;
  if (alerts.mail_server && !alerts.mail_server->url.empty() &&
      (!parts || (parts->scheme != "smtps" && parts->scheme != "smtp"))) {
    mail.refuse("url", in_quotes(alerts.mail_server->url) +
                           " is no mail server; expected smtps://HOST:PORT or smtp://HOST:PORT");
  }
  if (alerts.mail_server && alerts.mail_server->plain_text_allowed && parts &&
      !analysis::base::is_loopback(parts->host)) {
    mail.refuse("plain_text_allowed", "is for a server on this machine; " + in_quotes(parts->host) +
                                          " must be reached over TLS");
  }
  mail.expect("from", is_mail_address, "no mail address; expected NAME@HOST");
  mail.expect_file("password_file");
  mail.expect_file("certificates");
  const Place mqtt(view.object("mqtt_server"), "alerts.mqtt_server", findings);
  mqtt.expect("topic", is_topic, "no topic; expected no + or # in it");
  mqtt.expect_file("password_file");
  mqtt.expect_file("certificates");
  if (alerts.mqtt_server && !alerts.mqtt_server->tls &&
      !analysis::base::is_loopback(alerts.mqtt_server->host)) {
    mqtt.refuse("tls", "false is for a server on this machine; " +
                           in_quotes(alerts.mqtt_server->host) + " must be reached over TLS");
  }
}

// Allowed, but then nobody is told.
void warn_of_nobody(const JobAlerts& alerts, const ObjectView& view, Findings& findings) {
  const bool anybody_first = (!alerts.command.empty() && alerts.escalate_to != kCommandRecipient) ||
                             std::any_of(alerts.recipients.begin(), alerts.recipients.end(),
                                         [&](const JobRecipient& recipient) {
                                           return recipient.id != alerts.escalate_to;
                                         });
  if (!anybody_first && is_known(alerts, alerts.escalate_to)) {
    findings.add_warning(view.object("escalation").line_of("to"), "alerts.escalation.to",
                         in_quotes(alerts.escalate_to) +
                             " is the only recipient and hears only of what nobody acknowledged: "
                             "nobody is told that a room is ready");
  }
  if (view.has("digest") && alerts.digest_to.empty()) {
    findings.add_warning(view.line_of("digest"), "alerts.digest.to",
                         "names nobody, so the digest goes to nobody");
  }
}

void check_alert_telling(const JobAlerts& alerts, const ObjectView& view, Findings& findings) {
  UniqueValues ids(findings, "recipient id");
  for (std::size_t i = 0; i < alerts.recipients.size(); ++i) {
    const ObjectView item(&view.items("recipients")[i]);
    const std::string path = item_path("alerts.recipients", i);
    const Place place(item, path, findings);
    if (const auto id = item.text("id")) {
      ids.add(*id, item.line_of("id"), key_path(path, "id"));
      if (*id == kCommandRecipient && !alerts.command.empty()) {
        place.refuse("id", "\"command\" is the recipient of alerts.command");
      }
    }
    check_recipient(alerts.recipients[i], alerts, place, findings, path);
  }
  check_servers(alerts, view, findings);
  const Place all(view, "alerts", findings);
  all.expect("time_zone", is_time_zone_name, "no name of a time zone; expected AREA/PLACE or UTC");
  const Place escalation(view.object("escalation"), "alerts.escalation", findings);
  if (!alerts.escalate_to.empty() && !is_known(alerts, alerts.escalate_to)) {
    escalation.refuse("to", in_quotes(alerts.escalate_to) + " is no recipient of this job");
  }
  const Place digest(view.object("digest"), "alerts.digest", findings);
  digest.expect_clock_time("at");
  for (const std::string& id : alerts.digest_to) {
    if (!is_known(alerts, id)) {
      digest.refuse("to", in_quotes(id) + " is no recipient of this job");
    }
  }
  warn_of_nobody(alerts, view, findings);
}

void check_page(const JobPage& page, const Place& place) {
  place.expect_file("tls_key");
  if (page.tls_certificate == kSelfMade) {
    if (!page.tls_key.empty()) {
      place.refuse("tls_key", "is made together with a self-made certificate; leave it out");
    }
  } else {
    place.expect_file("tls_certificate");
    if (page.tls_certificate.empty() != page.tls_key.empty()) {
      place.refuse(page.tls_key.empty() ? "tls_key" : "tls_certificate",
                   "is needed beside the other; or \"tls_certificate\": \"self-made\" alone");
    }
  }
  for (const std::string& name : page.tls_names) {
    if (!is_ip_address(name) && !is_host_name(name)) {
      place.refuse("tls_names", in_quotes(name) +
                                    " is no name; expected a host name of ASCII letters, digits, - "
                                    "and . (others in their xn-- form) or an IP address");
    }
  }
  if (!is_ip_address(page.address)) {
    place.refuse("address", in_quotes(page.address) +
                                " is no address; expected IPv4 or IPv6 in figures, such as "
                                "127.0.0.1 (also for localhost) or 0.0.0.0");
  } else if (!analysis::base::is_loopback(page.address) && page.tls_certificate.empty()) {
    place.refuse("address", in_quotes(page.address) +
                                " can be reached by other machines; \"tls_certificate\" is needed "
                                "for that (\"self-made\", or a file with \"tls_key\")");
  }
}

void check_push(const JobStatusPush& push, bool has_mqtt, const Place& place) {
  for (const char* key : {"password_file", "key_file", "certificates"}) {
    place.expect_file(key);
  }
  if (push.url.empty()) {
    if (!has_mqtt) {
      place.refuse("url", "is left out, so the page goes to alerts.mqtt_server, which is not set");
    }
    return;
  }
  const auto parts = parts_of_url(push.url);
  if (!parts || parts->scheme != "sftp") {
    place.expect_url("url", "https", "http");
    return;
  }
  if (push.host_key_sha256.empty()) {
    place.refuse("host_key_sha256", "is needed for sftp, so that no other server gets the page");
  }
  if (push.user.empty() || (push.password_file.empty() && push.key_file.empty())) {
    place.refuse("user", "sftp needs \"user\", and \"password_file\" or \"key_file\"");
  }
}

}  // namespace

void check_telling(const Job& job, const ObjectView& root, Findings& findings) {
  check_alert_telling(job.alerts, root.object("alerts"), findings);
  if (job.page) {
    check_page(*job.page, {root.object("page"), "page", findings});
  }
  for (std::size_t i = 0; i < job.status_pushes.size(); ++i) {
    check_push(
        job.status_pushes[i], job.alerts.mqtt_server.has_value(),
        {ObjectView(&root.items("status_pushes")[i]), item_path("status_pushes", i), findings});
  }
}

}  // namespace logger::app
