// Token buckets by key: each key may do `burst` things at once and `per_second` in the long run.
// The memory is bounded: of too many keys, those that did nothing for longest are forgotten. Time
// is passed in. Not for more than one thread.
#pragma once

#include <chrono>
#include <cstddef>
#include <map>
#include <string>

namespace logger::web {

struct Allowance {
  double burst = 1;
  double per_second = 1;
};

class LoadLimit {
 public:
  using Moment = std::chrono::steady_clock::time_point;

  explicit LoadLimit(Allowance allowance, std::size_t most_keys = 4096);

  // Zero: it may, and it is counted. Otherwise how long to wait, in whole seconds from 1; not
  // counted. O(log keys).
  [[nodiscard]] std::chrono::seconds wait_before(const std::string& key, Moment now);
  [[nodiscard]] std::size_t keys() const { return buckets_.size(); }

 private:
  struct Bucket {
    double tokens = 0;
    Moment filled_at;
  };
  void forget_oldest();

  Allowance allowance_;
  std::size_t most_keys_;
  std::map<std::string, Bucket> buckets_;
};

}  // namespace logger::web
