// The brake on guessing: after five wrong attempts under one key each further one has to wait,
// 30 s doubled each time up to 1 h (our assumption). Pure; time is passed in and may jump; bounded
// memory. One thread.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "analysis/base/time.hpp"

namespace logger::web {

using analysis::base::Micros;
using analysis::base::UtcMicros;

struct Attempts {
  std::string key;
  int wrong = 0;
  UtcMicros last_wrong_at;
  bool operator==(const Attempts&) const = default;
};

class AttemptTable {
 public:
  static constexpr int kFree = 5;  // wrong attempts without a wait

  // Holds at most `most` keys; a further one takes the place of whose last attempt is longest ago.
  explicit AttemptTable(std::size_t most) : most_(most) {}

  // How long a next attempt has to wait; 0 = not at all.
  [[nodiscard]] Micros wait_of(const std::string& key, UtcMicros now);
  // Counts a wrong attempt; a day without any forgets those before. True when there is a wait now.
  bool count(const std::string& key, UtcMicros now);
  void forget(const std::string& key) { table_.erase(key); }

  void restore(const Attempts& attempts);
  // Those with a wait, for the file.
  [[nodiscard]] std::vector<Attempts> with_wait() const;
  [[nodiscard]] std::size_t size() const { return table_.size(); }

 private:
  struct Count {
    int wrong = 0;
    UtcMicros last_wrong_at;
  };
  Count& entry(const std::string& key);

  std::size_t most_;
  std::map<std::string, Count> table_;
};

// The key of an address: IPv4 whole, IPv6 by its first 64 bits, which one customer has whole (RFC
// 6177); IPv4 in IPv6 as IPv4. What is no address is a key as it stands, cut to 64 bytes.
[[nodiscard]] std::string key_of_address(const std::string& peer_address);

}  // namespace logger::web
