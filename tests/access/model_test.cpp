// Random sequences of everything against a model that is too simple to be wrong.
#include <map>
#include <random>

#include "tests/access/access_bench.hpp"

using namespace access_tests;

namespace {

struct ModelUser {
  std::string password;
  int wrong = 0;
  UtcMicros last_wrong_at{};
};
struct ModelSession {
  std::string name;  // of the user; empty = of the link below
  std::string link;
  UtcMicros made_at;
  UtcMicros used_at;
};

class Model {
 public:
  explicit Model(unsigned seed) : random_(seed) {}

  void step() {
    now_ = now_ + Micros{static_cast<std::int64_t>(pick(20) == 0 ? pick(20) * 86'400'000'000LL
                                                                 : pick(8) * 1'000'000LL)};
    switch (pick(20)) {
      case 0:
        return change_user();
      case 1:
        return make_link();
      case 2:
        return withdraw_link();
      case 3:
        return open_link();
      case 4:
        return reopen();
      case 5:
        return end_session();
      case 6:
        return check_sessions();
      default:
        return log_in();
    }
  }
  void check_sessions() {
    for (auto session = sessions_.begin(); session != sessions_.end();) {
      const bool lives = is_alive(session->second);
      CHECK(bench_.by_cookie(session->first, now_).has_value() == lives);
      session->second.used_at = now_;
      session = lives ? std::next(session) : sessions_.erase(session);
    }
  }
  [[nodiscard]] int log_ins() const { return log_ins_; }
  [[nodiscard]] int refused() const { return refused_; }

 private:
  std::size_t pick(std::size_t below) { return random_() % below; }
  std::string any_name() { return "name " + std::to_string(pick(3)); }

  static Micros wait_after(int wrong) {
    return wrong < 5 ? Micros{0}
                     : Micros{std::min(3600LL, 30LL << std::min(wrong - 5, 10)) * 1'000'000};
  }
  [[nodiscard]] bool is_alive(const ModelSession& session) const {
    const bool in_time = now_ < session.used_at + micros_from_hours(30 * 24) &&
                         now_ < session.made_at + micros_from_hours(90 * 24);
    return in_time && (session.link.empty() ||
                       (links_.contains(session.link) && now_ < links_.at(session.link).second));
  }

  void reopen() {
    bench_.reopen();
    for (auto& [name, user] : users_) {
      user.wrong = user.wrong < 5 ? 0 : user.wrong;  // only waits are kept
    }
  }
  void change_user() {
    const std::string name = any_name();
    const std::string password = "password " + std::to_string(pick(1000));
    const bool known = users_.contains(name);
    const bool remove = pick(2) == 0;
    bench_.change([&](AccessBook& book) {
      if (!known) {
        return add_user(book, name, Role::crew, quick_hash(password), now_);
      }
      return remove ? remove_user(book, name) : change_password(book, name, quick_hash(password));
    });
    std::erase_if(sessions_, [&](const auto& each) {
      CHECK((each.second.name != name || !bench_.by_cookie(each.first, now_)));
      return each.second.name == name;
    });
    if (known && remove) {
      users_.erase(name);
    } else {
      users_[name] = {password};
    }
  }
  void log_in() {
    const std::string name = any_name();
    const auto user = users_.find(name);
    const bool right = user != users_.end() && pick(8) == 0;
    // From another address each time, which has its own test.
    const std::string from =
        "10.0." + std::to_string(pick(200)) + "." + std::to_string(++asked_ % 250);
    const auto answer =
        bench_.access().log_in(name, right ? user->second.password : "wrong", from, now_);
    if (user == users_.end()) {
      CHECK_FALSE(answer.identified);
      return;
    }
    const bool waits = now_ < user->second.last_wrong_at + wait_after(user->second.wrong);
    refused_ += waits ? 1 : 0;
    CHECK(answer.identified.has_value() == (right && !waits));
    if (answer.identified) {
      ++log_ins_;
      user->second.wrong = 0;
      sessions_[answer.session_cookie] = {name, "", now_, now_};
    } else if (!waits) {
      const bool quiet = now_ - user->second.last_wrong_at >= micros_from_hours(24);
      user->second.wrong = quiet ? 1 : user->second.wrong + 1;
      user->second.last_wrong_at = now_;
    }
  }
  void make_link() {
    const auto end = now_ + micros_from_hours(static_cast<double>(1 + pick(1000)));
    const auto made = bench_.access().make_link("", end, {}, now_);
    REQUIRE(made);
    links_[made.value().id] = {made.value().token, end};
  }
  void withdraw_link() {
    if (!links_.empty()) {
      const auto link = std::next(links_.begin(), static_cast<long>(pick(links_.size())));
      // Long ended ones are dropped by themselves.
      CHECK((bench_.access().withdraw_link(link->first) || now_ > link->second.second));
      links_.erase(link);
    }
  }
  void open_link() {
    if (links_.empty()) {
      return;
    }
    const auto link = std::next(links_.begin(), static_cast<long>(pick(links_.size())));
    if (now_ - link->second.second > micros_from_hours(80 * 24)) {
      return;  // may be dropped, and then counts as a guess
    }
    const auto answer = bench_.access().open_link(link->second.first, "192.0.2.250", now_);
    CHECK(answer.identified.has_value() == (now_ < link->second.second));
    if (answer.identified) {
      sessions_[answer.session_cookie] = {"", link->first, now_, now_};
    }
  }
  void end_session() {
    if (!sessions_.empty()) {
      bench_.access().end_session(sessions_.begin()->first);
      CHECK_FALSE(bench_.by_cookie(sessions_.begin()->first, now_));
      sessions_.erase(sessions_.begin());
    }
  }

  std::mt19937 random_;
  Bench bench_;
  UtcMicros now_ = kStart;
  std::map<std::string, ModelUser> users_;
  std::map<std::string, ModelSession> sessions_;                    // by cookie
  std::map<std::string, std::pair<std::string, UtcMicros>> links_;  // by id: token, end
  std::size_t asked_ = 0;
  int log_ins_ = 0;
  int refused_ = 0;
};

}  // namespace

TEST_CASE("Whatever is done in whatever order, those and only those get in who should") {
  const unsigned seed = std::random_device{}();
  INFO("seed " << seed);
  int log_ins = 0;
  int refused = 0;
  for (unsigned i = 0; i < 5; ++i) {
    Model model(seed + i);
    for (int step = 0; step < 250; ++step) {
      model.step();
    }
    model.check_sessions();
    log_ins += model.log_ins();
    refused += model.refused();
  }
  CHECK(log_ins > 0);
  CHECK(refused > 0);
}
