#include "logger/web/handler/request/load_limit.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace logger::web {

LoadLimit::LoadLimit(Allowance allowance, std::size_t most_keys)
    : allowance_(allowance), most_keys_(most_keys) {}

std::chrono::seconds LoadLimit::wait_before(const std::string& key, Moment now) {
  const auto [found, is_new] = buckets_.try_emplace(key, Bucket{allowance_.burst, now});
  Bucket& bucket = found->second;
  const double passed = std::chrono::duration<double>(now - bucket.filled_at).count();
  bucket.tokens = std::min(allowance_.burst, bucket.tokens + passed * allowance_.per_second);
  bucket.filled_at = now;
  if (is_new && buckets_.size() > most_keys_) {
    forget_oldest();
  }
  if (bucket.tokens < 1) {
    const double wait = std::ceil((1 - bucket.tokens) / allowance_.per_second);
    return std::chrono::seconds{std::max<std::int64_t>(1, static_cast<std::int64_t>(wait))};
  }
  bucket.tokens -= 1;
  return std::chrono::seconds{0};
}

// A quarter at once, so that a flood of new keys does not search all of them for each.
void LoadLimit::forget_oldest() {
  std::vector<Moment> moments;
  for (const auto& [key, bucket] : buckets_) {
    moments.push_back(bucket.filled_at);
  }
  const auto quarter = moments.begin() + static_cast<std::ptrdiff_t>(moments.size() / 4);
  std::nth_element(moments.begin(), quarter, moments.end());
  // The newest, which the caller holds, stays.
  const Moment newest = *std::max_element(moments.begin(), moments.end());
  std::erase_if(buckets_, [&](const auto& entry) {
    return entry.second.filled_at <= *quarter && entry.second.filled_at < newest;
  });
}

}  // namespace logger::web
