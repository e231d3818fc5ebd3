// The files: what is refused, what a writer that is stopped leaves, and what the hasher makes.
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <random>

#include "logger/web/access/book/access_json.hpp"
#include "tests/access/access_bench.hpp"

using namespace access_tests;

namespace {

AccessBook example_book() {
  AccessBook book;
  REQUIRE(add_user(book, "Ann", Role::owner, quick_hash("password of Ann"), kStart));
  REQUIRE(add_user(book, "Zoë \"Z\"", Role::viewer, quick_hash("password of Zoe"), kStart));
  REQUIRE(add_token(book, "reader", Role::crew, Sha256{}, kStart));
  REQUIRE(add_link(book, {"", "client", Sha256{}, "u1", kStart, after_hours(1), false}));
  return book;
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const auto place = text.find(from);
  REQUIRE(place != std::string::npos);
  return text.replace(place, from.size(), to);
}

// Why nobody gets in now.
std::string fault(const Bench& bench) {
  AccessFiles files(bench.folder());
  const bool readable = files.current() != nullptr;
  CHECK(readable == files.fault().empty());
  return files.fault();
}

}  // namespace

TEST_CASE("Both files read back what was written; nothing shorter is accepted") {
  const AccessBook book = example_book();
  const std::string text = text_from_book(book).value();
  const auto read = book_from_text(text, "users.json");
  REQUIRE(read);
  CHECK(read.value() == book);
  for (std::size_t length = 0; length + 1 < text.size(); ++length) {
    CHECK_FALSE(book_from_text(text.substr(0, length), "users.json"));
  }
  const SessionState state{{{Sha256{}, "u1", 2, kStart, after_hours(1)}},
                           {{"u1/2", 6, kStart}},
                           {{"00ff", 5, kStart}},
                           {{"4:c0000201", 7, kStart}},
                           {{"s1", kStart}}};
  const auto again = sessions_from_text(text_from_sessions(state), "sessions.json");
  REQUIRE(again);
  CHECK(again.value() == state);
}

TEST_CASE("A users.json that is not as the program writes it lets nobody in") {
  const std::string text = text_from_book(example_book()).value();
  const auto [from, to] = GENERATE(table<std::string, std::string>({
      {"dwellog-access/1", "dwellog-access/2"},
      {"\"owner\"", "\"boss\""},
      {"\"owner\"", "\"shared\""},
      {"\"id\": \"u2\"", "\"id\": \"u1\""},
      {"\"id\": \"u2\"", "\"id\": \"u9\""},
      {"\"id\": \"u2\"", "\"id\": \"t2\""},
      {"\"generation\": 1", "\"generation\": -1"},
      {"\"generation\": 1", "\"generation\": 1, \"more\": 1"},
      {"\"withdrawn\": false", "\"withdrawn\": false, \"withdrawn\": true"},
      {"Zoë \\\"Z\\\"", "ANN"},
      {"m=19456", "m=1945600"},
      {"2026-03-02", "2026-02-30"},
  }));
  const auto read = book_from_text(replaced(text, from, to), "users.json");
  INFO(from << " -> " << to);
  REQUIRE_FALSE(read);
  CHECK(read.error().code == ErrorCode::corrupt);
  CHECK(read.error().context.starts_with("users.json: damaged"));
  CHECK(read.error().context.find('\n') == std::string::npos);
}

TEST_CASE("Bytes of any kind are read or refused, never more") {
  const std::string text = text_from_book(example_book()).value();
  const unsigned seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937 random(seed);
  int refused = 0;
  for (int i = 0; i < 1500; ++i) {
    std::string other = text;
    other[random() % other.size()] = static_cast<char>(random());
    const auto read = book_from_text(other, "users.json");
    refused += read ? 0 : 1;
    if (read) {
      CHECK(book_from_text(text_from_book(read.value()).value(), "users.json").value() ==
            read.value());
    }
    CHECK_NOTHROW(sessions_from_text(other, "sessions.json"));
  }
  CHECK(refused > 500);
}

TEST_CASE("A damaged or readable file keeps everybody out, one line says why") {
  Bench bench;
  bench.add("Ann");
  const auto cookie = bench.log_in("Ann", kStart).session_cookie;
  const std::string sound = text_of(bench.file("users.json"));
  SECTION("damaged while running") {
    write(bench.file("users.json"), sound.substr(0, 100));
    CHECK_FALSE(bench.by_cookie(cookie, kStart));
    CHECK_FALSE(bench.log_in("Ann", kStart).identified);
    write(bench.file("users.json"), sound);
    CHECK(bench.by_cookie(cookie, kStart));
  }
  SECTION("damaged at the start") {
    const char* name = GENERATE("users.json", "sessions.json");
    const std::string before = text_of(bench.file(name));
    write(bench.file(name), "{}");
    bench.reopen();
    const auto refused = bench.log_in("Ann", kStart);
    CHECK_FALSE(refused.identified);
    CHECK(refused.files_unread);
    CHECK(bench.access().open_link("no link", "192.0.2.1", kStart).files_unread);
    CHECK_FALSE(bench.by_cookie(cookie, kStart));
    CHECK(text_of(bench.file(name)) == "{}");  // somebody may mend it
    CHECK(fault(bench).find(name) != std::string::npos);
    write(bench.file(name), before);
    CHECK(bench.by_cookie(cookie, kStart));  // as if nothing had been
    CHECK(bench.log_in("Ann", kStart).identified);
    CHECK(fault(bench).empty());
  }
  SECTION("readable by others") {
    write(bench.file("users.json"), sound, 0644);
    CHECK(bench.log_in("Ann", kStart).files_unread);
    CHECK(fault(bench).find("chmod 600") != std::string::npos);
  }
  SECTION("a folder that others may list") {
    REQUIRE(::chmod(bench.folder().c_str(), 0755) == 0);
    CHECK(fault(bench).find("chmod 700") != std::string::npos);
    REQUIRE(std::filesystem::remove(bench.file("users.json")));
    REQUIRE(std::filesystem::remove(bench.file("sessions.json")));
    CHECK(fault(bench).find("chmod 700") != std::string::npos);  // also of one without files
    CHECK_FALSE(change_book(bench.folder(), [](AccessBook&) { return Result<void>{}; }));
  }
}

TEST_CASE("A failed or refused change leaves the file as it was") {
  Bench bench;
  bench.add("Ann");
  const std::string before = text_of(bench.file("users.json"));
  SECTION("refused") {
    const auto changed = change_book(bench.folder(), [](AccessBook& book) -> Result<void> {
      const auto added = add_user(book, "ann", Role::crew, quick_hash("another password"), kStart);
      return logger::store::Failure{added.error()};
    });
    CHECK(changed.error().context == "there is a user `Ann` already");
  }
  SECTION("no UTF-8") { CHECK_FALSE(bench.access().make_link("\xff", after_hours(1), {}, kStart)); }
  SECTION("no room on the disk") {
    const auto old = std::signal(SIGXFSZ, SIG_IGN);
    rlimit limit{};
    REQUIRE(::getrlimit(RLIMIT_FSIZE, &limit) == 0);
    const rlimit small{100, limit.rlim_max};
    REQUIRE(::setrlimit(RLIMIT_FSIZE, &small) == 0);
    const auto link = bench.access().make_link("", after_hours(1), {}, kStart);
    const bool logged_in = bench.log_in("Ann", kStart).identified.has_value();
    REQUIRE(::setrlimit(RLIMIT_FSIZE, &limit) == 0);
    std::signal(SIGXFSZ, old);
    CHECK_FALSE(link);
    CHECK(logged_in);  // a full disk keeps nobody out
  }
  CHECK(text_of(bench.file("users.json")) == before);
}

TEST_CASE("A writer that is killed leaves the old file or the new one") {
  Bench bench;
  const unsigned seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937 random(seed);
  int told = 0;
  for (int kill = 0; kill < 8; ++kill) {
    int ends[2] = {-1, -1};
    REQUIRE(::pipe(ends) == 0);
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) {
      for (int number = told + 1;; ++number) {
        const auto changed = change_book(bench.folder(), [&](AccessBook& book) -> Result<void> {
          book.next_user = number;
          return {};
        });
        if (!changed || ::write(ends[1], &number, sizeof number) != sizeof number) {
          ::_exit(1);
        }
      }
    }
    ::close(ends[1]);
    const int wanted = told + 1 + static_cast<int>(random() % 5);
    while (told < wanted && ::read(ends[0], &told, sizeof told) == sizeof told) {
    }
    volatile unsigned long spins = random() % 2'000'000;
    while (spins > 0) {
      spins = spins - 1;
    }
    ::kill(child, SIGKILL);
    while (::read(ends[0], &told, sizeof told) == sizeof told) {
    }
    ::close(ends[0]);
    int status = 0;
    ::waitpid(child, &status, 0);
    CHECK(WIFSIGNALED(status));
    const auto book = read_book(bench.folder());
    REQUIRE(book);
    CHECK((book.value().next_user == told || book.value().next_user == told + 1));
    told = book.value().next_user;
  }
}

TEST_CASE("Two programs that change the file at once lose nothing of one another's") {
  Bench bench;
  constexpr int kEach = 20;
  const pid_t child = ::fork();
  REQUIRE(child >= 0);
  const auto add_links = [&] {
    bool all = true;
    for (int i = 0; i < kEach; ++i) {
      all = bench.access().make_link("", after_hours(1), {}, kStart).has_value() && all;
    }
    return all;
  };
  if (child == 0) {
    ::_exit(add_links() ? 0 : 1);
  }
  CHECK(add_links());
  int status = 0;
  ::waitpid(child, &status, 0);
  CHECK(status == 0);
  CHECK(read_book(bench.folder()).value().links.size() == 2 * kEach);
}

TEST_CASE("Argon2id with 19 MiB and two passes; its hashes hold for one password alone") {
  Argon2Hasher hasher;
  const auto hash = hasher.hash("correct horse");
  REQUIRE(hash);
  CHECK(hash.value().starts_with("$argon2id$v=19$m=19456,t=2,p=1$"));
  CHECK(is_argon2_hash(hash.value()));
  CHECK(is_argon2_hash(hash_of_nobody()));
  CHECK(hasher.matches(hash.value(), "correct horse"));
  CHECK_FALSE(hasher.matches(hash.value(), "correct horsf"));
  CHECK_FALSE(hasher.matches(hash_of_nobody(), ""));
  CHECK(hasher.hash("correct horse").value() != hash.value());
  CHECK(new_secret() != new_secret());
}

TEST_CASE("Passwords have 10 to 256 bytes and are not the name") {
  CHECK(check_password("Ann", "ten bytes!"));
  CHECK_FALSE(check_password("Ann", "nine byte"));
  CHECK(check_password("Ann", std::string(256, 'x')));
  CHECK_FALSE(check_password("Ann", std::string(257, 'x')));
  CHECK_FALSE(check_password("Annabella Example", "annabella example"));
}

TEST_CASE("Roles have names, and names roles") {
  for (const Role role : {Role::shared, Role::viewer, Role::crew, Role::owner}) {
    CHECK(role_from_name(name_of(role)) == role);
  }
  CHECK_FALSE(role_from_name("Owner"));
}
