#include "logger/web/access/guard/attempts.hpp"

#include <arpa/inet.h>

#include <algorithm>
#include <array>
#include <cstdint>

#include "analysis/evidence/digest.hpp"

namespace logger::web {

namespace {

using analysis::base::micros_from_hours;

constexpr Micros kFirstWait{30'000'000};
const Micros kLongestWait = micros_from_hours(1);
const Micros kForgottenAfter = micros_from_hours(24);
constexpr int kMostCounted = 1000;  // the wait has not grown for long then

Micros wait_after(int wrong) {
  Micros wait{0};
  for (int i = AttemptTable::kFree; i <= wrong && wait < kLongestWait; ++i) {
    wait = wait == Micros{0} ? kFirstWait : wait * 2;
  }
  return std::min(wait, kLongestWait);
}

}  // namespace

AttemptTable::Count& AttemptTable::entry(const std::string& key) {
  if (const auto found = table_.find(key); found != table_.end()) {
    return found->second;
  }
  if (table_.size() >= most_) {
    table_.erase(std::min_element(table_.begin(), table_.end(), [](const auto& a, const auto& b) {
      return a.second.last_wrong_at < b.second.last_wrong_at;
    }));
  }
  return table_[key];
}

Micros AttemptTable::wait_of(const std::string& key, UtcMicros now) {
  const auto found = table_.find(key);
  if (found == table_.end()) {
    return Micros{0};
  }
  // A clock that was set back must not make the wait longer than it was.
  found->second.last_wrong_at = std::min(found->second.last_wrong_at, now);
  return std::max(found->second.last_wrong_at + wait_after(found->second.wrong) - now, Micros{0});
}

bool AttemptTable::count(const std::string& key, UtcMicros now) {
  Count& count = entry(key);
  if (now - count.last_wrong_at >= kForgottenAfter) {
    count.wrong = 0;
  }
  count.wrong = std::min(count.wrong + 1, kMostCounted);
  count.last_wrong_at = now;
  return count.wrong >= kFree;
}

void AttemptTable::restore(const Attempts& attempts) {
  entry(attempts.key) = {attempts.wrong, attempts.last_wrong_at};
}

std::vector<Attempts> AttemptTable::with_wait() const {
  std::vector<Attempts> kept;
  for (const auto& [key, count] : table_) {
    if (count.wrong >= kFree) {
      kept.push_back({key, count.wrong, count.last_wrong_at});
    }
  }
  return kept;
}

std::string key_of_address(const std::string& peer_address) {
  constexpr std::size_t kLongestKey = 64;
  constexpr std::array<std::uint8_t, 12> kMappedIpv4{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0xff, 0xff};
  std::array<std::uint8_t, 16> bytes{};
  // A scope ("%eth0") says nothing about who asks.
  const std::string bare = peer_address.substr(0, peer_address.find('%'));
  if (::inet_pton(AF_INET, bare.c_str(), bytes.data()) == 1) {
    return "4:" + analysis::evidence::hex_from_bytes(std::span(bytes).first(4));
  }
  if (::inet_pton(AF_INET6, bare.c_str(), bytes.data()) == 1) {
    return std::equal(kMappedIpv4.begin(), kMappedIpv4.end(), bytes.begin())
               ? "4:" + analysis::evidence::hex_from_bytes(std::span(bytes).last(4))
               : "6:" + analysis::evidence::hex_from_bytes(std::span(bytes).first(8));
  }
  return "?:" + peer_address.substr(0, kLongestKey);
}

}  // namespace logger::web
