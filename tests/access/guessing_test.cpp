// The brake on guessing, and that nobody learns which names there are.
#include "logger/web/access/guard/attempts.hpp"
#include "tests/access/access_bench.hpp"

using namespace access_tests;

namespace {

Micros seconds(int count) { return Micros{count * 1'000'000LL}; }

std::string address(int number) {
  return "10.0." + std::to_string(number / 250) + "." + std::to_string(number % 250);
}

}  // namespace

TEST_CASE("After five wrong passwords the wait grows from 30 s to an hour") {
  Bench bench;
  bench.add("Ann");
  UtcMicros now = kStart;
  for (int i = 0; i < 4; ++i) {
    CHECK(bench.guess("Ann", now).retry_after == Micros{0});
  }
  for (const int wait : {30, 60, 120, 240, 480, 960, 1920, 3600, 3600}) {
    CHECK(bench.guess("Ann", now).retry_after == seconds(wait));
    // Asking meanwhile costs nothing and changes nothing, with the right password too.
    const int before = bench.hashes();
    CHECK(bench.log_in("Ann", now + seconds(wait) - Micros{1}).retry_after == Micros{1});
    CHECK(bench.hashes() == before);
    now = now + seconds(wait);
  }
  CHECK(bench.log_in("Ann", now).identified);
  CHECK(bench.guess("Ann", now, "192.0.2.2").retry_after == Micros{0});  // counted anew
}

TEST_CASE("Waits hold for the name from everywhere, and for the address whatever the name") {
  Bench bench;
  bench.add("Ann");
  bench.add("Bob");
  SECTION("name") {
    for (int i = 0; i < 5; ++i) {
      bench.guess("Ann", kStart, address(i));
    }
    CHECK(bench.log_in("aNN", kStart, address(99)).retry_after == seconds(30));
    CHECK(bench.log_in("Bob", kStart, address(99)).identified);
  }
  SECTION("address") {
    for (int i = 0; i < 5; ++i) {
      bench.guess("nobody " + std::to_string(i), kStart, "2001:db8:1:2::" + std::to_string(i + 1));
    }
    CHECK(bench.log_in("Ann", kStart, "2001:db8:1:2:ffff::9").retry_after == seconds(30));
    CHECK(bench.log_in("Ann", kStart, "2001:db8:1:3::1").identified);
  }
  SECTION("links") {
    for (int i = 0; i < 5; ++i) {
      CHECK_FALSE(bench.access().open_link("wrong", "192.0.2.1", kStart).identified);
    }
    const auto made = bench.access().make_link("", after_hours(1), {}, kStart);
    REQUIRE(made);
    CHECK(bench.access().open_link(made.value().token, "192.0.2.1", kStart).retry_after ==
          seconds(30));
    CHECK(bench.access().open_link(made.value().token, "192.0.2.2", kStart).identified);
  }
}

TEST_CASE("An address does not buy new attempts by logging in with a password of its own") {
  Bench bench;
  bench.add("Ann");
  bench.add("Mallory");
  for (int i = 0; i < 4; ++i) {
    bench.guess("Ann" + std::to_string(i), kStart);
    CHECK(bench.log_in("Mallory", kStart).identified);
  }
  CHECK(bench.guess("Ann9", kStart).retry_after == seconds(30));
}

TEST_CASE("A wait survives a restart; sessions and tokens go on through it") {
  Bench bench;
  bench.add("Ann");
  const auto cookie = bench.log_in("Ann", kStart, "192.0.2.7").session_cookie;
  for (int i = 0; i < 6; ++i) {
    bench.guess("Ann", after_seconds(i * 30), address(i));
  }
  bench.reopen();
  CHECK(bench.log_in("Ann", after_seconds(150), address(99)).retry_after == seconds(60));
  CHECK(bench.by_cookie(cookie, after_seconds(150)));
  // Whoever has the machine gives a new password, and is not kept out.
  bench.change(
      [](AccessBook& book) { return change_password(book, "Ann", quick_hash("password of Ann")); });
  CHECK(bench.log_in("Ann", after_seconds(150), address(99)).identified);
}

TEST_CASE("An unknown name costs as many hashes and waits as long as a known one") {
  Bench bench;
  bench.add("Ann");
  for (int i = 0; i < 8; ++i) {
    const int before = bench.hashes();
    const auto known = bench.guess("Ann", after_seconds(i), address(2 * i));
    const int between = bench.hashes();
    const auto unknown = bench.guess("Zoe", after_seconds(i), address(2 * i + 1));
    CHECK(between - before == bench.hashes() - between);
    CHECK(known.retry_after == unknown.retry_after);
    CHECK(known.identified.has_value() == unknown.identified.has_value());
  }
  CHECK(bench.hashes() == 10);
}

TEST_CASE("Memory is bounded, and a flood of strange names or addresses frees no known name") {
  Bench bench;
  bench.add("Ann");
  for (int i = 0; i < 5; ++i) {
    bench.guess("Ann", kStart, address(i));
  }
  for (int i = 0; i < 5000; ++i) {
    bench.guess("name " + std::to_string(i), after_seconds(1), address(100 + i));
  }
  CHECK(bench.log_in("Ann", after_seconds(2), "192.0.2.200").retry_after == seconds(28));

  AttemptTable table(100);
  for (int i = 0; i < 1000; ++i) {
    table.count("key " + std::to_string(i), after_seconds(i));
  }
  CHECK(table.size() == 100);
}

TEST_CASE("A day of quiet forgets; a clock set back makes no wait longer") {
  AttemptTable table(10);
  for (int i = 0; i < 6; ++i) {
    table.count("a", kStart);
  }
  CHECK(table.wait_of("a", after_hours(-1000)) == seconds(60));
  CHECK(table.wait_of("a", after_hours(-1000) + seconds(60)) == Micros{0});
  for (int i = 0; i < 6; ++i) {
    table.count("b", kStart);
  }
  CHECK_FALSE(table.count("b", after_hours(24)));
  CHECK(table.wait_of("b", after_hours(24)) == Micros{0});
}

TEST_CASE("Addresses that one customer has are one") {
  CHECK(key_of_address("2001:db8:1:2::1") == key_of_address("2001:db8:1:2:f::2"));
  CHECK(key_of_address("2001:db8:1:2::1") != key_of_address("2001:db8:1:3::1"));
  CHECK(key_of_address("::ffff:192.0.2.1") == key_of_address("192.0.2.1"));
  CHECK(key_of_address("192.0.2.1") != key_of_address("192.0.2.2"));
  CHECK(key_of_address("fe80::1%eth0") == key_of_address("fe80::2"));
  CHECK(key_of_address(std::string(1000, 'x')).size() < 100);
}
