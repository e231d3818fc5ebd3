// The command alert-test: a job folder as an installer has it, servers on loopback.
#include "logger/app/commands/alert_test/alert_test.hpp"

#include <catch2/catch.hpp>

#include "logger/app/alerts/acknowledgements.hpp"
#include "logger/app/alerts/alert_states.hpp"
#include "logger/app/alerts/recipients.hpp"
#include "logger/app/push/delivery_faults.hpp"
#include "tests/delivery/pushed_job.hpp"

using namespace delivery_tests;
using namespace logger::app;
using Catch::Contains;

namespace {

struct Told {
  int status = -1;
  std::string out;
  std::string err;
};

Told tested(const PushedJob& job, const std::string& recipient = "") {
  std::ostringstream out, err;
  const int status = alert_test({job.folder().root, recipient}, {out, err});
  CHECK_THAT(out.str() + err.str(), !Contains(kPassword));
  return {status, out.str(), err.str()};
}

// Puts `alerts` in place of what the new job has.
void use_alerts(const PushedJob& job, const std::string& alerts) {
  std::ifstream in(job.folder().job_file());
  std::string text{std::istreambuf_iterator<char>(in), {}};
  const std::string begin = "\n  \"alerts\": {";
  const auto from = text.find(begin);
  REQUIRE(from != std::string::npos);
  const auto to = text.find("\n  }", from);
  REQUIRE(to != std::string::npos);
  text.replace(from, to + 4 - from, "\n  \"alerts\": " + alerts);
  std::ofstream(job.folder().job_file()) << text;
}

std::string mail_and_hook(const MailServer& mail, const WebServer& web) {
  return R"({"mail_server": {"url": ")" + mail.url("smtp") +
         R"(", "from": "site@example.org", "user": "site", "password_file": "password",
              "certificates": "ca.pem"},
            "recipients": [
              {"id": "anna", "mail": "anna@example.org"},
              {"id": "office", "webhook": {"url": ")" +
         web.url("/hook") + R"(", "secret_file": "password", "certificates": "ca.pem"}}]})";
}

}  // namespace

TEST_CASE("Each recipient gets one of each kind, marked as a test") {
  const PushedJob job;
  const MailServer mail(job.servers, "starttls");
  const WebServer web(job.servers);
  use_alerts(job, mail_and_hook(mail, web));
  const Told told = tested(job);
  INFO(told.out << told.err);
  CHECK(told.status == kExitDone);
  for (const char* line :
       {"anna: transition: taken over", "anna: reminder: taken over", "anna: digest: taken over",
        "office: transition: taken over", "office: digest: taken over"}) {
    CHECK_THAT(told.out, Contains(line));
  }
  for (const char* name : {"mail-0.eml", "mail-1.eml", "mail-2.eml"}) {
    CHECK_THAT(job.servers.read(name), Contains("TEST, not a real alert"));
  }
  CHECK_THAT(job.servers.read("mail-2.eml"), Contains("image/png"));
  const std::string requests = job.servers.read("requests.jsonl");
  CHECK(std::count(requests.begin(), requests.end(), '\n') == 3);
  CHECK_THAT(requests, Contains("\"dwellog-kind\": \"test\""));
}

TEST_CASE("One recipient alone, and what does not work is said") {
  const PushedJob job;
  const MailServer mail(job.servers, "starttls");
  const WebServer web(job.servers);
  use_alerts(job, mail_and_hook(mail, web));
  job.servers.behave("204 500 204");
  const Told told = tested(job, "office");
  CHECK(told.status == kExitCouldNotDo);
  CHECK_THAT(told.out, Contains("office: reminder: webhook https://127.0.0.1") && Contains("500") &&
                           Contains("office: digest: taken over") && !Contains("anna"));
  const Told nobody = tested(job, "bert");
  CHECK(nobody.status == kExitInput);
  CHECK_THAT(nobody.err, Contains("expected one of anna, office"));
}

TEST_CASE("What could not go out is known without asking a server") {
  const PushedJob job;
  const MailServer mail(job.servers, "starttls");
  const WebServer web(job.servers);
  use_alerts(job, mail_and_hook(mail, web));
  auto opened = open_job(job.folder().root, false);
  INFO((opened ? "" : opened.error().context));
  REQUIRE(opened);
  CHECK(delivery_faults(opened.value()).empty());
  fs::permissions(job.folder().root / "password", static_cast<fs::perms>(0644));
  opened.value().job.status_pushes.push_back(JobStatusPush{});
  const auto faults = delivery_faults(opened.value());
  REQUIRE(faults.size() == 3);
  CHECK_THAT(faults[0], Contains("recipient anna") && Contains("password"));
  CHECK_THAT(faults[1], Contains("recipient office"));
  CHECK_THAT(faults[2], Contains("mqtt_server"));
}

TEST_CASE("A secret that can't be read and certificates that are not there are called so") {
  const PushedJob job;
  const fs::path root = job.folder().root;
  JobRecipient hook;
  hook.id = "hook";
  hook.webhook_url = "https://127.0.0.1/x";
  hook.webhook_secret_file = "secret";
  const auto fault_of = [&](const JobRecipient& recipient) {
    const auto channel = channel_for(recipient, {}, root.string());
    return channel ? std::string() : channel.error().context;
  };
  fs::create_directory(root / "secret");
  CHECK_THAT(fault_of(hook), Contains("secret is a folder; expected a file"));
  fs::remove(root / "secret");
  std::ofstream(root / "secret") << "two\nlines\n";
  fs::permissions(root / "secret", static_cast<fs::perms>(0600));
  CHECK_THAT(fault_of(hook), Contains("bytes, the secret") && !Contains("passphrase"));
  hook.webhook_secret_file = "";
  hook.webhook_certificates = "authority.pem";
  CHECK_THAT(fault_of(hook),
             Contains("certificates file ") && Contains("authority.pem: there is no such file"));
}

TEST_CASE("Nobody acknowledges an alert before it fired") {
  const PushedJob job;
  auto opened = job.opened();
  REQUIRE(attach_store(opened, true));
  analysis::alerts::Alert alert;
  alert.subject = "hall";
  alert.state.phase = analysis::alerts::Phase::firing;
  alert.state.since = kNow;
  logger::store::CommitBatch batch;
  batch.seen_at = kNow;
  batch.alert_states.push_back(row_from_alert(alert));
  REQUIRE(opened.store->commit(batch));
  const auto noted = [&](std::optional<UtcMicros> at) {
    return acknowledgement_content(*opened.store, {"out_of_band/hall", "seen", at});
  };
  const auto before = noted(kNow - analysis::base::Micros{1});
  REQUIRE_FALSE(before);
  CHECK(before.error().code == logger::store::ErrorCode::invalid_input);
  CHECK_THAT(before.error().context,
             Contains("`out_of_band/hall` fires since " + analysis::base::rfc3339_from_utc(kNow)));
  CHECK(noted(kNow));
  CHECK(noted(std::nullopt));
}
