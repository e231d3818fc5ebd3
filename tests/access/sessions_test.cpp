// Who gets in, for how long, and what ends it.
#include "logger/web/access/guard/sessions.hpp"

#include "tests/access/access_bench.hpp"

using namespace access_tests;

TEST_CASE("A password opens a session that survives a restart and ends when it is ended") {
  Bench bench;
  bench.add("Ann", Role::owner);
  const auto answer = bench.access().log_in(" ann ", "password of Ann", "192.0.2.1", kStart);
  REQUIRE(answer.identified);
  CHECK(answer.identified->principal.id == "u1");
  CHECK(answer.identified->principal.name == "Ann");
  CHECK(answer.identified->principal.role == Role::owner);
  CHECK(answer.identified->by_cookie);
  CHECK(answer.identified->expires_at == after_hours(30 * 24));
  CHECK(answer.session_cookie.size() == 43);

  bench.reopen();
  const auto known = bench.by_cookie(answer.session_cookie, after_hours(1));
  REQUIRE(known);
  CHECK(known->principal.id == "u1");
  CHECK(known->csrf_token == answer.identified->csrf_token);
  CHECK(known->csrf_token.size() == 43);
  CHECK(known->csrf_token != answer.session_cookie);

  bench.access().end_session(answer.session_cookie);
  CHECK_FALSE(bench.by_cookie(answer.session_cookie, after_hours(1)));
  bench.reopen();
  CHECK_FALSE(bench.by_cookie(answer.session_cookie, after_hours(1)));
}

TEST_CASE("Nothing secret lies in the files") {
  Bench bench;
  bench.add("Ann");
  const auto answer = bench.log_in("Ann", kStart);
  const auto link =
      bench.access().make_link("client", after_hours(48), {"u1", "Ann", Role::owner}, kStart);
  REQUIRE(link);
  const std::string all = text_of(bench.file("users.json")) + text_of(bench.file("sessions.json"));
  CHECK(all.find(answer.session_cookie) == std::string::npos);
  CHECK(all.find(answer.identified->csrf_token) == std::string::npos);
  CHECK(all.find(link.value().token) == std::string::npos);
  CHECK(all.find("password of Ann") == std::string::npos);
  for (const char* name : {"users.json", "sessions.json", "users.lock"}) {
    struct stat status {};
    REQUIRE(::stat(bench.file(name).c_str(), &status) == 0);
    CHECK((status.st_mode & 0777U) == 0600U);
  }
}

TEST_CASE("A session ends after 30 days without use and after 90 days at most") {
  Bench bench;
  bench.add("Ann");
  const auto unused = bench.log_in("Ann", kStart).session_cookie;
  CHECK_FALSE(bench.by_cookie(unused, after_hours(30 * 24)));

  const auto used = bench.log_in("Ann", kStart).session_cookie;
  for (int day = 29; day < 90; day += 29) {
    bench.reopen();  // the time of the last use is kept
    CHECK(bench.by_cookie(used, after_hours(day * 24)));
  }
  CHECK(bench.by_cookie(used, after_hours(90 * 24) - Micros{1})->expires_at ==
        after_hours(90 * 24));
  CHECK_FALSE(bench.by_cookie(used, after_hours(90 * 24)));
}

TEST_CASE(
    "A changed password, a changed role or a removed user ends the sessions, in all processes") {
  Bench bench;
  bench.add("Ann");
  bench.add("Bob");
  const auto bob = bench.log_in("Bob", kStart).session_cookie;
  SECTION("password") {
    const auto ann = bench.log_in("Ann", kStart).session_cookie;
    bench.change([](AccessBook& book) {
      return change_password(book, "ANN", quick_hash("another password"));
    });
    CHECK_FALSE(bench.by_cookie(ann, kStart));
    CHECK_FALSE(bench.log_in("Ann", kStart).identified);
    CHECK(bench.access().log_in("Ann", "another password", "192.0.2.9", kStart).identified);
  }
  SECTION("role") {
    const auto ann = bench.log_in("Ann", kStart).session_cookie;
    bench.change([](AccessBook& book) { return change_role(book, "Ann", Role::viewer); });
    CHECK_FALSE(bench.by_cookie(ann, kStart));
    CHECK(bench.log_in("Ann", kStart).identified->principal.role == Role::viewer);
  }
  SECTION("removed, and somebody else of that name") {
    const auto ann = bench.log_in("Ann", kStart).session_cookie;
    bench.change([](AccessBook& book) { return remove_user(book, "Ann"); });
    bench.add("Ann");
    CHECK_FALSE(bench.by_cookie(ann, kStart));
    CHECK(bench.log_in("Ann", kStart).identified->principal.id == "u3");
  }
  CHECK(bench.by_cookie(bob, kStart));
}

TEST_CASE("A password that is changed while it is checked opens nothing") {
  Bench bench;
  bench.add("Ann");
  // The change comes from within the check, as another process would make it.
  class ChangingHasher final : public PasswordHasher {
   public:
    explicit ChangingHasher(Bench& of) : bench_(of) {}
    Result<std::string> hash(const std::string& password) override { return quick_hash(password); }
    bool matches(const std::string& hash, const std::string& password) override {
      bench_.change([](AccessBook& book) {
        return change_password(book, "Ann", quick_hash("another password"));
      });
      return hash == quick_hash(password);
    }

   private:
    Bench& bench_;
  };
  auto access = Access::open(bench.folder(), std::make_unique<ChangingHasher>(bench));
  CHECK_FALSE(access->log_in("Ann", "password of Ann", "192.0.2.1", kStart).identified);
}

TEST_CASE("Many sessions of one, or of share links, never end those of others") {
  Bench bench;
  bench.add("Ann");
  const auto ann = bench.log_in("Ann", kStart).session_cookie;
  const auto first = bench.access().make_link("", after_hours(24), {}, kStart);
  REQUIRE(first);
  const auto of_link = bench.access().open_link(first.value().token, "", kStart).session_cookie;
  for (std::size_t i = 0; i < SessionTable::kMostOfOne; ++i) {
    CHECK(bench.access().open_link(first.value().token, "", after_seconds(1)).identified);
  }
  CHECK_FALSE(bench.by_cookie(of_link, after_seconds(2)));
  CHECK(bench.by_cookie(ann, after_seconds(2)));

  SessionTable table;
  const auto numbered = [](std::size_t number, const std::string& principal) {
    return Session{analysis::evidence::sha256_from_bytes(std::to_string(number)), principal, 1,
                   kStart, kStart + Micros{static_cast<std::int64_t>(number)}};
  };
  std::size_t number = 0;
  table.add(numbered(number, "u1"));
  while (++number < SessionTable::kMost) {
    table.add(numbered(number, (number % 2 == 0 ? "s" : "u") + std::to_string(number)));
  }
  table.add(numbered(number, "s7"));
  CHECK(table.size() == SessionTable::kMost);
  CHECK(table.use(numbered(0, "").digest, kStart) != nullptr);
  CHECK(table.use(numbered(2, "").digest, kStart) == nullptr);  // the oldest of a link
}

TEST_CASE("A bearer token counts alone, has no end, and goes when it is removed") {
  Bench bench;
  bench.add("Ann");
  const auto cookie = bench.log_in("Ann", kStart).session_cookie;
  const std::string token = new_secret();
  bench.change([&](AccessBook& book) {
    return add_token(book, "meter reader", Role::viewer,
                     analysis::evidence::sha256_from_bytes(token), kStart);
  });
  const auto known = bench.access().identify({token, ""}, after_hours(1000 * 24));
  REQUIRE(known);
  CHECK(known->principal.id == "t1");
  CHECK(known->principal.role == Role::viewer);
  CHECK_FALSE(known->by_cookie);
  CHECK(known->csrf_token.empty());
  CHECK_FALSE(bench.access().identify({"x" + token, cookie}, kStart));
  bench.change([](AccessBook& book) { return remove_token(book, "t1"); });
  CHECK_FALSE(bench.access().identify({token, ""}, kStart));
}

TEST_CASE("A share link opens as long as it lasts and nobody withdrew it") {
  Bench bench;
  const auto made =
      bench.access().make_link("client", after_hours(48), {"u1", "Ann", Role::owner}, kStart);
  REQUIRE(made);
  CHECK(made.value().id == "s1");
  const auto answer = bench.access().open_link(made.value().token, "192.0.2.1", after_hours(1));
  REQUIRE(answer.identified);
  CHECK(answer.identified->principal.id == "s1");
  CHECK(answer.identified->principal.name.empty());
  CHECK(answer.identified->principal.role == Role::shared);
  CHECK(answer.identified->expires_at == after_hours(48));
  CHECK(bench.access().links_json() ==
        R"([{"id":"s1","label":"client","made_at_utc":"2026-03-02T07:00:00Z",)"
        R"("expires_at_utc":"2026-03-04T07:00:00Z","withdrawn":false,)"
        R"("last_used_at_utc":"2026-03-02T08:00:00Z"}])");
  SECTION("it ends") {
    CHECK(bench.by_cookie(answer.session_cookie, after_hours(48) - Micros{1}));
    CHECK_FALSE(bench.by_cookie(answer.session_cookie, after_hours(48)));
    CHECK_FALSE(bench.access().open_link(made.value().token, "", after_hours(48)).identified);
  }
  SECTION("it is withdrawn") {
    REQUIRE(bench.access().withdraw_link("s1"));
    CHECK_FALSE(bench.by_cookie(answer.session_cookie, after_hours(2)));
    CHECK_FALSE(bench.access().open_link(made.value().token, "", after_hours(2)).identified);
    CHECK(bench.access().links_json().find("\"withdrawn\":true") != std::string::npos);
    CHECK(bench.access().withdraw_link("s2").error().code == ErrorCode::not_found);
  }
  const auto ended = bench.access().make_link("", kStart, {}, kStart);
  REQUIRE_FALSE(ended);
  CHECK(ended.error().code == ErrorCode::invalid_input);
  CHECK_FALSE(bench.access().make_link("", after_seconds(899), {}, kStart));
  CHECK(bench.access().make_link("", after_seconds(900), {}, kStart));
}
