// Addresses, form fields, limits of load: what is taken, and what is refused.
#include "logger/web/handler/request/target.hpp"

#include <catch2/catch.hpp>

#include "logger/web/handler/request/load_limit.hpp"
#include "tests/web/web_rig.hpp"

namespace web_tests {

using std::chrono::seconds;

TEST_CASE("AnAddressIsDecodedOnce") {
  const auto target = target_from("/api/v1/rooms/k%C3%BCche%2520/series?a=b%26c&d=e+f&g");
  REQUIRE(target);
  CHECK(target->segments == std::vector<std::string>{"api", "v1", "rooms",
                                                     "k\xC3\xBC"
                                                     "che%20",
                                                     "series"});
  CHECK(target->query == Fields{{"a", "b&c"}, {"d", "e f"}, {"g", ""}});
  CHECK(target_from("/")->segments.empty());
  CHECK(target_from("/a+b")->segments == std::vector<std::string>{"a+b"});
}

TEST_CASE("AnAddressThatMightMeanTwoThingsIsRefused") {
  for (const char* text :
       {"",        "*",         "a",    "http://a/", "//a",    "/a//b",    "/a/",  "/.",   "/..",
        "/a/../b", "/%2e%2e/a", "/%2E", "/a%2fb",    "/a%5Cb", "/a\\b",    "/%00", "/%0a", "/a\tb",
        "/%",      "/%4",       "/%zz", "/a#b",      "/a?b=%", "/a?b=%00", "/%7f"}) {
    INFO(text);
    CHECK_FALSE(target_from(text));
  }
}

TEST_CASE("AFieldGivenTwiceIsNone") {
  const auto fields = fields_from("a=1&b=2&a=3&&c");
  REQUIRE(fields);
  CHECK(only_field(*fields, "a") == nullptr);
  CHECK(*only_field(*fields, "b") == "2");
  CHECK(only_field(*fields, "c")->empty());
  CHECK(only_field(*fields, "d") == nullptr);
}

TEST_CASE("ABurstIsAllowedAndThenTheRate") {
  LoadLimit limit{{3, 0.5}};
  LoadLimit::Moment now{};
  for (int i = 0; i < 3; ++i) {
    CHECK(limit.wait_before("a", now) == seconds{0});
  }
  CHECK(limit.wait_before("a", now) == seconds{2});
  CHECK(limit.wait_before("b", now) == seconds{0});
  now += seconds{1};
  CHECK(limit.wait_before("a", now) == seconds{1});
  now += seconds{1};
  CHECK(limit.wait_before("a", now) == seconds{0});
  CHECK(limit.wait_before("a", now) == seconds{2});
  now += seconds{1000};
  int allowed = 0;
  while (limit.wait_before("a", now) == seconds{0}) {
    ++allowed;
  }
  CHECK(allowed == 3);
}

TEST_CASE("AFloodOfKeysTakesNoMoreMemory") {
  LoadLimit limit{{1, 0.001}, 100};
  LoadLimit::Moment now{};
  for (int i = 0; i < 10'000; ++i) {
    now += std::chrono::milliseconds{1};
    CHECK(limit.wait_before(std::to_string(i), now) == seconds{0});
    CHECK(limit.wait_before(std::to_string(i), now) > seconds{0});
    CHECK(limit.keys() <= 100);
  }
}

TEST_CASE("WhoAsksTooOftenWaits") {
  HandlerSettings settings;
  settings.per_principal = {5, 1};
  settings.per_stranger = {3, 1};
  settings.per_address = {50, 1};
  WebRig rig{settings};
  const auto status_of = [&](std::optional<Role> who, const std::string& target) {
    return rig.ask(who, {"GET", target});
  };
  for (int i = 0; i < 5; ++i) {
    CHECK(status_of(Role::viewer, "/api/v1/notes").status == 200);
  }
  const Response held = status_of(Role::viewer, "/api/v1/notes");
  CHECK(held.status == 429);
  CHECK(header_in(held, "retry-after") == "1");
  CHECK(status_of(Role::crew, "/api/v1/notes").status == 200);
  rig.loop.monotonic += seconds{1};
  CHECK(status_of(Role::viewer, "/api/v1/notes").status == 200);
  for (int i = 0; i < 3; ++i) {
    CHECK(status_of(std::nullopt, "/api/v1/notes").status == 401);
  }
  CHECK(status_of(std::nullopt, "/api/v1/notes").status == 429);
  CHECK(status_of(Role::owner, "/api/v1/notes").status == 200);
  int public_answers = 0;
  while (status_of(std::nullopt, "/login").status == 200) {
    ++public_answers;
  }
  CHECK(public_answers < 50);
  CHECK(status_of(Role::owner, "/api/v1/notes").status == 429);
}

TEST_CASE("RefusalsDoNotFillTheRecord") {
  WebRig rig;
  for (int i = 0; i < 50; ++i) {
    CHECK(rig.ask(Role::viewer, {"GET", "/api/v1/audit"}).status == 403);
  }
  CHECK(rig.site.audited.size() == 5);
  CHECK(rig.site.audited[0].detail == "GET /api/v1/audit");
}

}  // namespace web_tests
