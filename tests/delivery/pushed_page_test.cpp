// What a pushed page and a digest say and hold.
#include "logger/app/push/pushed_page.hpp"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "logger/app/commands/keys/key_files.hpp"
#include "logger/app/push/job_state.hpp"
#include "tests/delivery/pushed_job.hpp"

using namespace delivery_tests;
using namespace logger::app;
using Catch::Contains;
using nlohmann::ordered_json;

namespace {

constexpr Micros kSixHours = analysis::base::micros_from_hours(6);

std::string checked_by_hand(const std::string& page, const PushedJob& job, int& status) {
  job.write("page.html", page, 0644);
  const std::string root = job.folder().root.string();
  const std::string said =
      output_of("bash tests/delivery/pushed_by_hand.sh " + root + "/page.html " + root +
                "/certificate-key.pub 2>/dev/null; "
                "echo \" $?\"");
  status = std::stoi(said.substr(said.rfind(' ')));
  return said.substr(0, said.rfind(' '));
}

}  // namespace

TEST_CASE("A pushed page holds its content signed, and openssl says so too") {
  const PushedJob job;
  auto opened = job.opened();
  const auto made = status_page_from(opened, {kSixHours, true});
  INFO((made ? "" : made.error().context));
  REQUIRE(made);
  CHECK(made.value().is_signed);
  int status = -1;
  const auto pushed = nlohmann::json::parse(checked_by_hand(made.value().html, job, status));
  CHECK(status == 0);
  CHECK(pushed["format"] == "dwellog-pushed-1");
  CHECK(pushed["made_at_utc"] == "2026-11-26T07:05:00Z");
  CHECK(pushed["every_hours"] == 6);
  CHECK(pushed["status"]["job"] == "House of Miller");
  CHECK(pushed["status"]["rooms"].size() == job.job.rooms.size());

  std::string forged = made.value().html;
  forged.replace(forged.rfind("2026-11-26T07:05:00Z"), 4, "2027");
  static_cast<void>(checked_by_hand(forged, job, status));
  CHECK(status == 1);
}

TEST_CASE("A pushed page fetches nothing, runs nothing of others, and says when it was made") {
  const PushedJob job;
  auto opened = job.opened();
  const auto made = status_page_from(opened, {kSixHours, true});
  REQUIRE(made);
  const std::string& html = made.value().html;
  CHECK_THAT(html, Contains("Made 2026-11-26 07:05") && Contains("due within 6.0 h"));
  CHECK_THAT(html, Contains("House of Miller") && Contains("CANNOT TELL"));
  CHECK_THAT(html, Contains("data-made=\"1795676700000\"") && Contains("data-every=\"21600000\""));
  CHECK_THAT(html, !Contains("alert(1)</script>") && Contains("‹script>alert(1)"));
  CHECK_THAT(html,
             !Contains("src=") && !Contains("href=") && !Contains("url(") && !Contains("@import"));
  std::size_t scripts = 0;
  for (auto at = html.find("<script"); at != std::string::npos; at = html.find("<script", at + 1)) {
    ++scripts;
  }
  CHECK(scripts == 2);  // the signed line and the page's age
}

TEST_CASE("Without leave for it a pushed page names nobody and no place") {
  PushedJob job;
  job.job.site_address = "1 Invented Lane";
  job.job.installer = "Anna Sample";
  job.job.client = "Bert Sample";
  auto opened = job.opened();
  const auto made = status_page_from(opened, {kSixHours, false});
  REQUIRE(made);
  CHECK_THAT(made.value().html, !Contains("Miller") && !Contains("Invented Lane") &&
                                    !Contains("Anna Sample") && !Contains("Bert Sample"));
  const auto with = status_page_from(opened, {kSixHours, true});
  REQUIRE(with);
  CHECK_THAT(with.value().html, Contains("Miller") && Contains("Invented Lane") &&
                                    Contains("Anna Sample") && Contains("Bert Sample"));
}

TEST_CASE("With a passphrase on the key a page goes out unsigned and says so") {
  const PushedJob job;
  const auto made_key = new_signing_key();
  REQUIRE(made_key);
  const auto& key = made_key.value();
  REQUIRE(write_secret_key(job.folder().secret_key(), key, "a passphrase of some length"));
  job.write("certificate-key.pub", text_from_public_key(key.public_key()), 0644);
  auto opened = job.opened();
  const auto made = status_page_from(opened, {kSixHours, false});
  INFO((made ? "" : made.error().context));
  REQUIRE(made);
  CHECK_FALSE(made.value().is_signed);
  CHECK_THAT(made.value().html, Contains("Not signed: its secret key has a passphrase") &&
                                    Contains("\"signature\":null") &&
                                    Contains("\"public_key\":null"));
}

TEST_CASE("A simulated site says so, and the same state gives the same bytes") {
  const ordered_json status = {{"simulated", true}, {"rooms", ordered_json::array()}};
  const PushedPage page{{status, kNow, kSixHours}, {}, "", "", "no reason"};
  CHECK_THAT(pushed_page_html(page), Contains("SIMULATED SITE"));
  CHECK(pushed_page_html(page) == pushed_page_html(page));
}

TEST_CASE("A digest is mail: pictures beside it, no script, no picture from elsewhere") {
  const PushedJob job;
  auto opened = job.opened();
  const auto content = digest_content(opened);
  INFO((content ? "" : content.error().context));
  REQUIRE(content);
  const std::string& html = content.value().html;
  CHECK_THAT(html, Contains("House of Miller") && !Contains("<script") && !Contains("http"));
  REQUIRE(content.value().attachments.size() >= 2);
  for (const auto& attachment : content.value().attachments) {
    CHECK(attachment.content_type == "image/png");
    CHECK(attachment.bytes.starts_with("\x89PNG"));
    CHECK_THAT(html, Contains("src=\"cid:" + attachment.file_name + "\""));
  }
}
