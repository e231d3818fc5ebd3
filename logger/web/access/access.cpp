#include "logger/web/access/access.hpp"

#include <algorithm>
#include <utility>

#include "logger/store/annotated_mutex.hpp"
#include "logger/web/access/book/access_json.hpp"
#include "logger/web/access/book/book_file.hpp"

namespace logger::web {

using analysis::base::micros_from_hours;
using analysis::evidence::sha256_from_bytes;
using std::filesystem::path;
using store::MutexLock;
using store::Result;

namespace {

constexpr UtcMicros kNoEnd{253'402'300'799'000'000};       // 9999-12-31T23:59:59Z
constexpr std::size_t kMostKnownNames = 2 * kMostEntries;  // a changed password begins a new key
constexpr std::size_t kMostOtherNames = 1024;
constexpr std::size_t kMostAddresses = 4096;
constexpr Micros kBetweenWaitsSaved{10'000'000};

struct Owner {
  Principal principal;
  int generation = 1;
  UtcMicros end = kNoEnd;
};

// Who a session's principal is by the book of now; nullopt when he is gone.
std::optional<Owner> owner_of(const AccessBook& book, const std::string& id) {
  if (const User* user = user_with_id(book, id); user != nullptr) {
    return Owner{{user->id, user->name, user->role}, user->generation, kNoEnd};
  }
  const ShareLink* link = link_with_id(book, id);
  return link == nullptr || link->withdrawn
             ? std::nullopt
             : std::optional(Owner{{link->id, "", Role::shared}, 1, link->expires_at});
}

std::string key_of_user(const User& user) {
  return user.id + "/" + std::to_string(user.generation);
}
std::string key_of_other(const std::string& name) {
  constexpr std::size_t kDigits = 32;
  return hex_from_digest(sha256_from_bytes(folded_name(name))).substr(0, kDigits);
}

}  // namespace

struct Access::State {
  State(path of_folder, std::unique_ptr<PasswordHasher> by)
      : folder(std::move(of_folder)), hasher(std::move(by)), files(folder) {}

  // nullptr while the files can't be read. What sessions.json held is taken up with the first book.
  const AccessBook* book() DWELLOG_REQUIRES(mutex);

  // The table and the key under which wrong passwords for a name are counted.
  std::pair<AttemptTable&, std::string> counter_of(const User* user, const std::string& name)
      DWELLOG_REQUIRES(mutex) {
    return user != nullptr ? std::pair<AttemptTable&, std::string>(known_names, key_of_user(*user))
                           : std::pair<AttemptTable&, std::string>(other_names, key_of_other(name));
  }
  LoginAnswer begin_session(const Owner& owner, UtcMicros now) DWELLOG_REQUIRES(mutex);
  // After a wrong attempt; waits that were not written within the last seconds stay to be written.
  void keep_waits(UtcMicros now) DWELLOG_REQUIRES(mutex);
  void restore(const SessionState& kept) DWELLOG_REQUIRES(mutex);
  void save(UtcMicros now) DWELLOG_REQUIRES(mutex);

  const path folder;
  const std::unique_ptr<PasswordHasher> hasher;

  mutable store::Mutex mutex;
  AccessFiles files DWELLOG_GUARDED_BY(mutex);
  SessionTable sessions DWELLOG_GUARDED_BY(mutex);
  AttemptTable known_names DWELLOG_GUARDED_BY(mutex){kMostKnownNames};
  AttemptTable other_names DWELLOG_GUARDED_BY(mutex){kMostOtherNames};
  AttemptTable addresses DWELLOG_GUARDED_BY(mutex){kMostAddresses};
  std::map<std::string, UtcMicros> link_uses DWELLOG_GUARDED_BY(mutex);
  bool unsaved DWELLOG_GUARDED_BY(mutex) = false;
  UtcMicros saved_at DWELLOG_GUARDED_BY(mutex);
  UtcMicros latest DWELLOG_GUARDED_BY(mutex);  // of the times passed in
};

const AccessBook* Access::State::book() {
  const AccessBook* current = files.current();
  if (const auto kept = files.take_sessions()) {
    restore(*kept);
  }
  return current;
}

void Access::State::restore(const SessionState& kept) {
  for (const Session& session : kept.sessions) {
    sessions.add(session);
  }
  for (const auto& [table, attempts] :
       {std::pair{&known_names, &kept.known_names}, std::pair{&other_names, &kept.other_names},
        std::pair{&addresses, &kept.addresses}}) {
    for (const Attempts& each : *attempts) {
      table->restore(each);
    }
  }
  link_uses = kept.link_uses;
}

void Access::State::save(UtcMicros now) {
  const AccessBook* current = book();
  if (!files.sessions_read()) {
    unsaved = true;
    return;
  }
  SessionState kept{sessions.all(now), known_names.with_wait(), other_names.with_wait(),
                    addresses.with_wait(), link_uses};
  if (current != nullptr) {
    std::erase_if(kept.sessions, [&](const Session& session) {
      const auto owner = owner_of(*current, session.principal_id);
      return !owner || owner->generation != session.generation;
    });
    std::erase_if(kept.link_uses,
                  [&](const auto& use) { return link_with_id(*current, use.first) == nullptr; });
  }
  // A full disk keeps nobody out: what could not be written is written with the next change.
  unsaved = !write_private_file(files.sessions_file(), text_from_sessions(kept)).has_value();
  saved_at = now;
}

void Access::State::keep_waits(UtcMicros now) {
  unsaved = true;
  if (now - saved_at >= kBetweenWaitsSaved || now < saved_at) {
    save(now);
  }
}

LoginAnswer Access::State::begin_session(const Owner& owner, UtcMicros now) {
  LoginAnswer answer;
  answer.session_cookie = new_secret();
  const Session session{sha256_from_bytes(answer.session_cookie), owner.principal.id,
                        owner.generation, now, now};
  sessions.add(session);
  answer.identified = Identified{owner.principal, true, csrf_token_from(answer.session_cookie),
                                 std::min(end_of(session), owner.end)};
  save(now);
  return answer;
}

Access::Access(std::unique_ptr<State> state) : state_(std::move(state)) {}

Access::~Access() {
  const MutexLock lock(state_->mutex);
  if (state_->unsaved) {
    state_->save(state_->latest);
  }
}

std::unique_ptr<Access> Access::open(const path& folder) {
  return open(folder, std::make_unique<Argon2Hasher>());
}

std::unique_ptr<Access> Access::open(const path& folder, std::unique_ptr<PasswordHasher> hasher) {
  auto state = std::make_unique<State>(folder, std::move(hasher));
  {
    const MutexLock lock(state->mutex);
    static_cast<void>(state->book());
  }
  return std::unique_ptr<Access>(new Access(std::move(state)));
}

std::optional<Identified> Access::identify(const Credentials& credentials, UtcMicros now) {
  State& state = *state_;
  const MutexLock lock(state.mutex);
  state.latest = now;
  const AccessBook* book = state.book();
  if (book == nullptr) {
    return std::nullopt;
  }
  if (!credentials.bearer_token.empty()) {
    const AccessToken* token = token_with(*book, sha256_from_bytes(credentials.bearer_token));
    return token == nullptr ? std::nullopt
                            : std::optional(Identified{
                                  {token->id, token->name, token->role}, false, "", kNoEnd});
  }
  const Sha256 digest = sha256_from_bytes(credentials.session_cookie);
  const Session* session = state.sessions.use(digest, now);
  if (session == nullptr) {
    return std::nullopt;
  }
  const auto owner = owner_of(*book, session->principal_id);
  if (!owner || owner->generation != session->generation || now >= owner->end) {
    state.sessions.remove(digest);
    state.unsaved = true;
    return std::nullopt;
  }
  Identified known{owner->principal, true, csrf_token_from(credentials.session_cookie),
                   std::min(end_of(*session), owner->end)};
  state.unsaved = true;  // when it was used
  if (now - state.saved_at >= micros_from_hours(1)) {
    state.save(now);
  }
  return known;
}

LoginAnswer Access::log_in(const std::string& name, const std::string& password,
                           const std::string& peer_address, UtcMicros now) {
  State& state = *state_;
  const std::string address = key_of_address(peer_address);
  std::optional<User> user;
  {
    const MutexLock lock(state.mutex);
    state.latest = now;
    const AccessBook* book = state.book();
    if (book == nullptr) {
      return {.files_unread = true};
    }
    const User* found = user_named(*book, name);
    user = found == nullptr ? std::nullopt : std::optional(*found);
    auto [table, key] = state.counter_of(found, name);
    const Micros wait = std::max(table.wait_of(key, now), state.addresses.wait_of(address, now));
    if (wait > Micros{0}) {
      return {.retry_after = wait};
    }
  }
  // Outside the lock: who is in already does not wait for it.
  const bool matches = state.hasher->matches(user ? user->password_hash : hash_of_nobody(),
                                             password.substr(0, kLongestPassword + 1));
  const MutexLock lock(state.mutex);
  auto [table, key] = state.counter_of(user ? &*user : nullptr, name);
  const AccessBook* book = state.book();
  const auto owner = user && book != nullptr ? owner_of(*book, user->id) : std::nullopt;
  // Meanwhile he may have been removed, or the password changed.
  if (matches && owner && owner->generation == user->generation) {
    table.forget(key);
    return state.begin_session(*owner, now);
  }
  const bool name_waits = table.count(key, now);
  const bool address_waits = state.addresses.count(address, now);
  if (name_waits || address_waits) {
    state.keep_waits(now);
  }
  return {.retry_after = std::max(table.wait_of(key, now), state.addresses.wait_of(address, now))};
}

LoginAnswer Access::open_link(const std::string& token, const std::string& peer_address,
                              UtcMicros now) {
  State& state = *state_;
  const std::string address = key_of_address(peer_address);
  const MutexLock lock(state.mutex);
  state.latest = now;
  if (const Micros wait = state.addresses.wait_of(address, now); wait > Micros{0}) {
    return {.retry_after = wait};
  }
  const AccessBook* book = state.book();
  if (book == nullptr) {
    return {.files_unread = true};
  }
  const ShareLink* link = link_with(*book, sha256_from_bytes(token));
  if (link == nullptr) {
    if (state.addresses.count(address, now)) {
      state.keep_waits(now);
    }
    return {.retry_after = state.addresses.wait_of(address, now)};
  }
  // One that has ended was no guess.
  const auto owner = owner_of(*book, link->id);
  if (!owner || now >= owner->end) {
    return {};
  }
  state.link_uses[link->id] = now;
  return state.begin_session(*owner, now);
}

void Access::end_session(const std::string& session_cookie) {
  State& state = *state_;
  const MutexLock lock(state.mutex);
  if (state.sessions.remove(sha256_from_bytes(session_cookie))) {
    state.save(state.latest);
  }
}

Result<Access::NewLink> Access::make_link(const std::string& label, UtcMicros expires_at,
                                          const Principal& by, UtcMicros now) {
  NewLink made{"", new_secret(), expires_at};
  const auto changed = change_book(state_->folder, [&](AccessBook& book) -> Result<void> {
    auto id =
        add_link(book, {"", label, sha256_from_bytes(made.token), by.id, now, expires_at, false});
    if (!id) {
      return store::Failure{id.error()};
    }
    made.id = std::move(id).value();
    return {};
  });
  return changed ? Result<NewLink>{std::move(made)} : store::Failure{changed.error()};
}

Result<void> Access::withdraw_link(const std::string& id) {
  return change_book(state_->folder, [&](AccessBook& book) -> Result<void> {
    const auto withdrawn = web::withdraw_link(book, id);
    return withdrawn ? Result<void>{} : store::Failure{withdrawn.error()};
  });
}

std::string Access::links_json() const {
  State& state = *state_;
  const MutexLock lock(state.mutex);
  const AccessBook* book = state.book();
  return book == nullptr ? "[]" : links_text(*book, state.link_uses);
}

}  // namespace logger::web
