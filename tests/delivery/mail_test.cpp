// Mail to a real server.
#include <catch2/catch.hpp>

#include "tests/delivery/messages.hpp"

using namespace delivery_tests;
using Catch::Contains;
using Catch::EndsWith;
using Catch::StartsWith;

namespace {

MailSettings mail(const ServerFolder& folder, const std::string& url) {
  MailSettings settings;
  settings.url = url;
  settings.user = "site";
  settings.password = kPassword;
  settings.from = "site@example.org";
  settings.to = "anna@example.org";
  settings.certificates_file = folder.file("ca.pem");
  settings.limits.whole = std::chrono::seconds(20);
  return settings;
}

// What Python's email package reads in a message that the server took over.
std::string parsed(const ServerFolder& folder, const std::string& expressions) {
  return output_of(
      "/usr/bin/python3 -c 'import email, email.policy, sys\n"
      "m = email.message_from_bytes(open(sys.argv[1], \"rb\").read(), "
      "policy=email.policy.default)\n"
      "print(*[str(x).replace(chr(13), \"\") for x in [" +
      expressions + "]], end=\"\")' " + folder.file("mail-0.eml").string());
}

}  // namespace

TEST_CASE("Mail with HTML and a picture arrives whole over STARTTLS with a login") {
  const ServerFolder folder;
  const MailServer server(folder, "starttls");
  Outgoing out = message();
  out.html = "<p>Küche: <img src=\"cid:chart.png\"></p>\n";
  out.attachments = {{"chart.png", "image/png", std::string("\x89PNG\r\n\x1a\n\0\xff", 10)},
                     {"status.json", "application/json", "{}"}};
  REQUIRE(outcome(*made(mail(folder, server.url("smtp"))), out) == "");
  CHECK(parsed(folder, "m[\"subject\"]") == out.subject);
  CHECK(parsed(folder, "m[\"from\"], m[\"to\"], m[\"x-to\"]") ==
        "site@example.org anna@example.org anna@example.org");
  CHECK(parsed(folder, "m[\"date\"].datetime.isoformat()") == "2026-11-26T07:05:00+00:00");
  CHECK(parsed(folder, "m[\"message-id\"]") == "<job-1%2E17%2Eanna@example.org>");
  CHECK(parsed(folder, "m[\"auto-submitted\"]") == "auto-generated");
  CHECK(parsed(folder, "m.get_body((\"plain\",)).get_content()") == out.text);
  CHECK(parsed(folder, "m.get_body((\"html\",)).get_content()") == out.html);
  CHECK(parsed(folder, "[p.get_content_type() for p in m.walk()]") ==
        "['multipart/mixed', 'multipart/alternative', 'text/plain', 'text/html', 'image/png', "
        "'application/json']");
  CHECK(parsed(folder, "[p for p in m.walk()][4].get_content().hex()") == "89504e470d0a1a0a00ff");
  CHECK(parsed(folder, "[(p.get_filename(), p.get_content_disposition()) for p in m.walk()][4:]") ==
        "[('chart.png', 'inline'), ('status.json', 'attachment')]");
}

TEST_CASE("Mail arrives over TLS from the first byte") {
  const ServerFolder folder;
  const MailServer server(folder, "tls");
  CHECK(outcome(*made(mail(folder, server.url("smtps"))), message()) == "");
  CHECK(parsed(folder, "m.get_content_type(), m.get_body().get_content()") ==
        "multipart/mixed " + message().text);
}

TEST_CASE("What fails for now is told apart from what fails for ever, and arrives once") {
  const ServerFolder folder;
  const MailServer server(folder, "starttls");
  const auto channel = made(mail(folder, server.url("smtp")));
  folder.behave("451 data451 drop 550 data554 ok");
  for (const char* words : {"does not take anna@example.org now: 451 not this one",
                            "does not take the message now: 451 not this message"}) {
    const std::string said = outcome(*channel, message());
    CHECK_THAT(said, StartsWith("again: mail server smtp://127.0.0.1:"));
    CHECK_THAT(said, EndsWith(words));
  }
  CHECK_THAT(outcome(*channel, message()), StartsWith("again: "));
  CHECK_THAT(outcome(*channel, message()),
             StartsWith("never: ") && EndsWith(" refuses anna@example.org: 550 not this one"));
  CHECK_THAT(outcome(*channel, message()),
             StartsWith("never: ") && EndsWith(" refuses the message: 554 not this message"));
  CHECK(outcome(*channel, message()) == "");
  CHECK(folder.read("mail-1.eml").empty());
  CHECK(parsed(folder, "m[\"message-id\"]") == "<job-1%2E17%2Eanna@example.org>");
}

TEST_CASE("A wrong password is tried again, since somebody can set it right, and is told nowhere") {
  const ServerFolder folder;
  folder.write("password", "another one");
  const MailServer server(folder, "starttls");
  CHECK_THAT(outcome(*made(mail(folder, server.url("smtp"))), message()),
             StartsWith("again: ") && Contains("535"));
}

TEST_CASE("Mail is not handed to a server that is not the one named, nor to one without TLS") {
  const ServerFolder folder;
  SECTION("another name in its certificate") {
    const MailServer server(folder, "starttls", "elsewhere");
    CHECK_THAT(outcome(*made(mail(folder, server.url("smtp"))), message()), StartsWith("again: "));
  }
  SECTION("a certificate of somebody else") {
    const MailServer server(folder, "starttls");
    MailSettings settings = mail(folder, server.url("smtp"));
    settings.certificates_file = folder.file("other-ca.pem");
    CHECK_THAT(outcome(*made(settings), message()), StartsWith("again: "));
    settings.certificates_file = "";  // those of the system
    CHECK_THAT(outcome(*made(settings), message()), StartsWith("again: "));
  }
  SECTION("no STARTTLS offered") {
    const MailServer server(folder, "plain");
    MailSettings settings = mail(folder, server.url("smtp"));
    settings.user = "";
    CHECK_THAT(outcome(*made(settings), message()), StartsWith("again: "));
    CHECK(folder.read("mail-0.eml").empty());
    settings.plain_text_allowed = true;
    CHECK(outcome(*made(settings), message()) == "");
  }
  CHECK(folder.read("mail-1.eml").empty());
}

TEST_CASE("A mail server that does not answer costs the time-out and no more") {
  const ServerFolder folder;
  const MailServer server(folder, "starttls");
  folder.behave("slow");
  MailSettings settings = mail(folder, server.url("smtp"));
  settings.limits.whole = std::chrono::milliseconds(1500);
  CHECK_THAT(outcome(*made(settings), message()), StartsWith("timeout: "));
}

TEST_CASE("Texts that try to add fields or parts stay texts") {
  const ServerFolder folder;
  const MailServer server(folder, "tls");
  Outgoing out = message("x>\r\nBcc: b@example.org");
  out.subject = "ready\r\nBcc: b@example.org\r\n\r\n<script>";
  out.text = "\r\n.\r\nMAIL FROM:<c@example.org>\r\n";
  out.attachments = {{"a\"\r\nBcc: d@example.org\r\n.txt", "text/plain", "x"}};
  REQUIRE(outcome(*made(mail(folder, server.url("smtps"))), out) == "");
  CHECK(parsed(folder, "m[\"bcc\"], len(m.keys()), m[\"x-to\"]") == "None 9 anna@example.org");
  CHECK(parsed(folder, "m[\"subject\"]") == "ready  Bcc: b@example.org    <script>");
  CHECK(parsed(folder, "[p for p in m.walk()][1].get_content()") ==
        "\n.\nMAIL FROM:<c@example.org>\n");
}

TEST_CASE("A page of two megabytes goes through") {
  const ServerFolder folder;
  const MailServer server(folder, "tls");
  Outgoing out = message();
  out.html = std::string(2'000'000, 'x');
  REQUIRE(outcome(*made(mail(folder, server.url("smtps"))), out) == "");
  CHECK(parsed(folder, "len(m.get_body((\"html\",)).get_content().strip())") == "2000000");
}

TEST_CASE("Mail settings that can't work are refused with the setting named") {
  const ServerFolder folder;
  const auto refused = [&](auto change) {
    MailSettings settings = mail(folder, "smtps://mail.example.org");
    change(settings);
    const auto channel = channel_from(settings);
    REQUIRE_FALSE(channel);
    CHECK(channel.error().code == ErrorCode::invalid_input);
    return channel.error().context;
  };
  CHECK(channel_from(mail(folder, "smtps://mail.example.org")));
  CHECK_THAT(refused([](auto& s) { s.url = "https://mail.example.org"; }), Contains("smtps://"));
  CHECK_THAT(refused([](auto& s) { s.to = "a@b\r\nX: y"; }), Contains("mail, to: expected"));
  CHECK_THAT(refused([](auto& s) { s.from = ""; }), Contains("mail, from: expected"));
  CHECK_THAT(refused([](auto& s) { s.plain_text_allowed = true; }), Contains("this machine alone"));
  CHECK_THAT(refused([](auto& s) { s.url = "smtp://site:" + kPassword + "@mail.example.org"; }),
             !Contains(kPassword) && Contains("keys of their own"));
}
