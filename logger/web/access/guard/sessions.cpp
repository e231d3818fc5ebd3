#include "logger/web/access/guard/sessions.hpp"

#include <algorithm>

namespace logger::web {

namespace {

using analysis::base::micros_from_hours;

const auto kUnused = micros_from_hours(30 * 24);
const auto kLongest = micros_from_hours(90 * 24);

// The longest unused of those that hold; the end when none does.
template <class Table, class Holds>
auto longest_unused(Table& table, Holds holds) {
  auto oldest = table.end();
  for (auto each = table.begin(); each != table.end(); ++each) {
    if (holds(each->second) &&
        (oldest == table.end() || each->second.used_at < oldest->second.used_at)) {
      oldest = each;
    }
  }
  return oldest;
}

}  // namespace

UtcMicros end_of(const Session& session) {
  return std::min(session.used_at + kUnused, session.made_at + kLongest);
}

void SessionTable::add(const Session& session) {
  const auto is_his = [&](const Session& other) {
    return other.principal_id == session.principal_id;
  };
  const auto of_one = std::count_if(table_.begin(), table_.end(),
                                    [&](const auto& each) { return is_his(each.second); });
  if (static_cast<std::size_t>(of_one) >= kMostOfOne) {
    table_.erase(longest_unused(table_, is_his));
  } else if (table_.size() >= kMost) {
    const auto of_link = longest_unused(
        table_, [](const Session& other) { return other.principal_id.starts_with('s'); });
    table_.erase(of_link != table_.end() ? of_link : longest_unused(table_, [](const Session&) {
      return true;
    }));
  }
  table_[session.digest] = session;
}

const Session* SessionTable::use(const Sha256& digest, UtcMicros now) {
  const auto found = table_.find(digest);
  if (found == table_.end()) {
    return nullptr;
  }
  if (now >= end_of(found->second)) {
    table_.erase(found);
    return nullptr;
  }
  found->second.used_at = std::max(found->second.used_at, now);
  return &found->second;
}

std::vector<Session> SessionTable::all(UtcMicros now) const {
  std::vector<Session> sessions;
  for (const auto& [digest, session] : table_) {
    if (now < end_of(session)) {
      sessions.push_back(session);
    }
  }
  return sessions;
}

}  // namespace logger::web
