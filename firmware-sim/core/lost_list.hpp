// The list of lost ranges: adding to it and forgetting from it. At most kLostRanges ranges; with
// more the oldest leave the list and stay in the total. Freestanding, pure.
#pragma once

#include <cstdint>

#include "firmware-sim/core/record_codec.hpp"

namespace firmware::core {

// REQUIRES: key above all listed ones.
void add_lost(RecordKey key, LostBlock& lost);
// Adds `count` records, of which `newest` is the last. As many as can be of its boot are listed,
// the others are in the total only; {0, 0} = none is listed. REQUIRES: as above, for the first of
// them.
void add_lost_before(RecordKey newest, std::uint32_t count, LostBlock& lost);
// Drops the records from the front that were listed when the total was `total`.
void forget_lost_through(std::uint32_t total, LostBlock& lost);

}  // namespace firmware::core
