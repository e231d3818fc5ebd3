// `dwellog users`: what it does to the job's folder, and what it refuses.
#include <sys/stat.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <sstream>

#include "logger/app/access/page_faults.hpp"
#include "logger/app/backup/backup_parts.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/inspect/page_state.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/web/access/access.hpp"
#include "tests/app/scratch_folder.hpp"

using namespace logger::app;
namespace web = logger::web;

namespace {

constexpr const char* kPassword = "correct horse battery";

struct Said {
  int status = -1;
  std::string out;
  std::string err;
};

class UsersJob {
 public:
  UsersJob() {
    std::ostringstream out, err;
    NewOptions options;
    options.job_dir = dir();
    REQUIRE(new_job(options, {out, err}) == kExitDone);
    write_password(kPassword);
  }
  [[nodiscard]] path dir() const { return scratch_.path() / "job"; }
  [[nodiscard]] path password_file() const { return scratch_.path() / "password"; }
  void write_password(const std::string& password, mode_t mode = 0600) const {
    std::ofstream(password_file(), std::ios::trunc) << password << '\n';
    REQUIRE(::chmod(password_file().c_str(), mode) == 0);
  }
  Said say(UsersOptions options) const {
    std::ostringstream out, err;
    options.job_dir = dir();
    const int status = users(options, {out, err});
    return {status, out.str(), err.str()};
  }
  Said add(const std::string& name, const std::string& role) const {
    return say({.action = "add", .subject = name, .role = role, .password_file = password_file()});
  }
  [[nodiscard]] std::unique_ptr<web::Access> access() const {
    return web::Access::open(JobFolder{dir()}.access());
  }
  // A page at a port that nobody asks for; the daemon's own tests take it.
  void serve_page() const {
    const path file = JobFolder{dir()}.job_file();
    std::string text = read_file(file).value();
    text.insert(text.find('{') + 1, "\n  \"page\": {\"port\": 18460},");
    std::ofstream(file, std::ios::trunc) << text;
  }
  [[nodiscard]] Said check() const {
    std::ostringstream out, err;
    const int status = check_job(dir(), {out, err});
    return {status, out.str(), err.str()};
  }
  [[nodiscard]] InspectLine judged() const {
    const auto opened = open_job(dir(), false);
    REQUIRE(opened);
    PageState state{.address = "127.0.0.1", .port = 18460, .has_users = true, .faults = {}};
    state.faults = page_faults(opened.value());
    return judge_page(state, dir().string());
  }
  // Kind "access" alone: "subject detail".
  [[nodiscard]] std::string audit() const {
    const auto opened = open_job(dir(), false);
    REQUIRE(opened);
    std::string rows;
    for (const auto& event : opened.value().store->events(0).value()) {
      rows += event.kind == "access" ? event.subject + ' ' + event.detail_json + '\n' : "";
    }
    return rows;
  }

 private:
  ScratchFolder scratch_;
};

bool holds(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

// The last line of what was said.
std::string secret_in(const Said& said) {
  const std::string text = said.out.substr(0, said.out.size() - 1);
  return text.substr(text.rfind('\n') + 1);
}

}  // namespace

TEST_CASE("A user who was added logs in with that password; the audit names no names") {
  const UsersJob job;
  CHECK(holds(job.say({}).out, "nobody yet"));
  const Said added = job.add("Ann", "owner");
  INFO(added.err);
  CHECK(added.status == kExitDone);
  CHECK(added.out == "u1 may log in\n");
  const auto now = analysis::base::UtcMicros{1'772'434'800'000'000};
  const auto access = job.access();
  const auto answer = access->log_in("Ann", kPassword, "192.0.2.1", now);
  REQUIRE(answer.identified);
  CHECK(job.say({}).out == "u1    owner   user   Ann\n");

  CHECK(job.say({.action = "role", .subject = "Ann", .role = "viewer"}).status == kExitDone);
  CHECK_FALSE(access->identify({"", answer.session_cookie}, now));
  job.write_password("another good password");
  CHECK(job.say({.action = "password", .subject = "ann", .password_file = job.password_file()})
            .status == kExitDone);
  CHECK_FALSE(access->log_in("Ann", kPassword, "192.0.2.1", now).identified);
  CHECK(access->log_in("Ann", "another good password", "192.0.2.1", now).identified);
  CHECK(job.say({.action = "remove", .subject = "Ann"}).status == kExitDone);
  CHECK_FALSE(access->log_in("Ann", "another good password", "192.0.2.1", now).identified);

  const std::string audit = job.audit();
  for (const char* action : {"user-added", "role-changed", "password-changed", "user-removed"}) {
    CHECK(holds(audit, action));
  }
  CHECK(holds(audit, "u1 "));
  CHECK_FALSE(holds(audit, "Ann"));
}

TEST_CASE("Tokens and links are shown once and work until they are removed") {
  const UsersJob job;
  const auto now = analysis::base::UtcMicros{1'772'434'800'000'000};
  const Said token = job.say({.action = "token", .subject = "meter reader", .role = "crew"});
  CHECK(token.status == kExitDone);
  CHECK(secret_in(token).size() == 43);
  const auto access = job.access();
  const auto known = access->identify({secret_in(token), ""}, now);
  REQUIRE(known);
  CHECK(known->principal.role == web::Role::crew);
  CHECK(job.say({.action = "remove-token", .subject = "t1"}).status == kExitDone);
  CHECK_FALSE(access->identify({secret_in(token), ""}, now));

  const Said link = job.say({.action = "link", .hours = 48, .label = "client"});
  CHECK(link.status == kExitDone);
  const std::string shown = secret_in(link);
  const std::string secret = shown.substr(shown.find("/s/") + 3, 43);
  CHECK(access->open_link(secret, "192.0.2.1", now).identified);
  CHECK(holds(job.say({.action = "links"}).out, "client"));
  CHECK(holds(job.say({.action = "links"}).out, "s1    until "));
  const auto made_long_ago = analysis::base::UtcMicros{1'600'000'000'000'000};
  REQUIRE(access->make_link("old", made_long_ago + analysis::base::micros_from_hours(1), {},
                            made_long_ago));
  CHECK(holds(job.say({.action = "links"}).out, "s2    ended "));
  CHECK(job.say({.action = "remove-link", .subject = "s1"}).status == kExitDone);
  CHECK(holds(job.say({.action = "links"}).out, "withdrawn"));
  CHECK_FALSE(access->open_link(secret, "192.0.2.1", now).identified);
  CHECK_FALSE(holds(job.audit(), secret_in(token)));
}

TEST_CASE("What is not in order is refused in one line, and nothing changes") {
  const UsersJob job;
  REQUIRE(job.add("Ann", "owner").status == kExitDone);
  const auto refused = [&](const UsersOptions& options, const std::string& line) {
    const Said said = job.say(options);
    INFO(said.err);
    CHECK(said.status == kExitInput);
    CHECK(said.err == "dwellog: " + line + "\n");
  };
  refused({.action = "add", .subject = "Bob"}, "users add needs --role");
  refused({.action = "remove"}, "users remove needs NAME");
  refused({.action = "add", .role = "crew"}, "users add needs NAME");
  refused({.action = "remove-link"}, "users remove-link needs ID");
  refused({.action = "list", .subject = "Ann"}, "users list takes no NAME or ID");
  refused({.action = "role", .subject = "Ann", .role = "crew", .label = "x"},
          "users role takes no --label");
  refused({.action = "link"}, "users link needs --hours");
  refused({.action = "link", .hours = 0.0}, "--hours 0: expected 0.25 to 8784 h");
  refused({.action = "link", .hours = 0.24}, "--hours 0.24: expected 0.25 to 8784 h");
  refused({.action = "link", .hours = -1.0}, "--hours -1: expected 0.25 to 8784 h");
  refused({.action = "link", .hours = std::nan("")}, "--hours nan: expected 0.25 to 8784 h");
  CHECK(job.say({.action = "add", .subject = std::string(65, 'x'), .role = "crew"})
            .err.find("NAME: expected 1 to 64 bytes") != std::string::npos);
  refused({.action = "remove", .subject = "Bob"}, "no user `Bob`");
  refused({.action = "remove-token", .subject = "t7"}, "no token `t7`");
  UsersOptions again{.action = "add", .subject = "ANN", .role = "crew"};
  again.password_file = job.password_file();
  refused(again, "there is a user `Ann` already");
  again.subject = "Bob";
  job.write_password("short");
  refused(again, "the password has 5 bytes; expected 10 to 256");
  again.subject = "Bobby Sample";
  job.write_password("bobby sample");
  refused(again, "the password is the user's name; expected another one");
  job.write_password(kPassword, 0644);
  CHECK(job.say(again).status == kExitInput);
  CHECK(job.say({}).out == "u1    owner   user   Ann\n");
}

TEST_CASE("Users that can't be read are told by check, by inspect and once by the daemon's log") {
  const UsersJob job;
  REQUIRE(job.add("Ann", "owner").status == kExitDone);
  job.serve_page();
  const path file = JobFolder{job.dir()}.access() / "users.json";
  std::vector<std::string> said;
  AccessWatch watch(JobFolder{job.dir()}, [&](const std::string& line, bool is_fault) {
    said.push_back((is_fault ? "! " : "") + line);
  });
  watch.look();
  CHECK(said.empty());
  CHECK(job.judged().judgement == Judgement::good);
  CHECK(job.check().status == kExitDone);

  REQUIRE(::chmod(file.c_str(), 0644) == 0);
  watch.look();
  watch.look();
  REQUIRE(said.size() == 1);
  CHECK(said[0].starts_with("! page: nobody gets in until this is mended: " + file.string()));
  CHECK(holds(said[0], "chmod 600"));
  CHECK(job.judged().judgement == Judgement::wrong);
  CHECK(holds(job.judged().text, "chmod 600"));
  CHECK(job.check().status == kExitInput);
  CHECK(holds(job.check().err, "chmod 600"));

  REQUIRE(::chmod(file.c_str(), 0600) == 0);
  watch.look();
  watch.look();
  REQUIRE(said.size() == 2);
  CHECK(said[1] == "page: the logger can read its users again");
  CHECK(job.check().status == kExitDone);
}

TEST_CASE("A backup holds who may come in only together with the secret key, and no sessions") {
  const UsersJob job;
  REQUIRE(job.add("Ann", "owner").status == kExitDone);
  const auto now = analysis::base::UtcMicros{1'772'434'800'000'000};
  REQUIRE(job.access()->log_in("Ann", kPassword, "192.0.2.1", now).identified);
  const auto paths = [&](bool with_secret_key) {
    std::string all;
    const auto contents = backup_contents(job.dir(), with_secret_key);
    REQUIRE(contents);
    CHECK(contents.value().left_out.empty());
    for (const std::string& path : contents.value().paths) {
      all += path + '\n';
    }
    return all;
  };
  CHECK_FALSE(holds(paths(false), "access/"));
  CHECK(holds(paths(true), "access/users.json\n"));
  CHECK_FALSE(holds(paths(true), "sessions"));
  CHECK_FALSE(holds(paths(true), "lock"));
}
