#include "firmware-sim/core/lost_list.hpp"

#include <algorithm>

namespace firmware::core {
namespace {

void drop_front(LostBlock& lost) {
  std::copy(lost.ranges.begin() + 1, lost.ranges.end(), lost.ranges.begin());
  --lost.count;
  lost.ranges[lost.count] = LostRange{};
}

void add_range(const LostRange& range, LostBlock& lost) {
  lost.total += range.last - range.first + 1;
  if (lost.count > 0) {
    LostRange& last = lost.ranges[lost.count - std::size_t{1}];
    if (last.boot == range.boot && last.last + 1 == range.first) {
      last.last = range.last;
      return;
    }
  }
  if (lost.count == kLostRanges) {
    drop_front(lost);
  }
  lost.ranges[lost.count] = range;
  ++lost.count;
}

}  // namespace

void add_lost(RecordKey key, LostBlock& lost) {
  add_range({key.boot, key.sequence, key.sequence}, lost);
}

void add_lost_before(RecordKey newest, std::uint32_t count, LostBlock& lost) {
  const std::uint32_t listed = std::min(count, newest.sequence);
  lost.total += count - listed;
  if (listed > 0) {
    add_range({newest.boot, newest.sequence - listed + 1, newest.sequence}, lost);
  }
}

void forget_lost_through(std::uint32_t total, LostBlock& lost) {
  std::uint32_t listed = 0;
  for (std::size_t i = 0; i < lost.count; ++i) {
    listed += lost.ranges[i].last - lost.ranges[i].first + 1;
  }
  const std::uint32_t before_list = lost.total - listed;
  std::uint32_t drop = total > before_list ? std::min(total - before_list, listed) : 0;
  while (drop > 0) {
    LostRange& front = lost.ranges[0];
    const std::uint32_t size = front.last - front.first + 1;
    if (drop < size) {
      front.first += drop;
      return;
    }
    drop -= size;
    drop_front(lost);
  }
}

}  // namespace firmware::core
