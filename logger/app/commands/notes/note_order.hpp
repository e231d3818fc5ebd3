// What a note's time may not contradict in what was noted before: the pour, the delivery, the
// laying. Pure; any thread.
#pragma once

#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

// invalid_input, in one line with both times: a delivery before the slab of its room was poured or
// while its floor is being laid; a laying that ends before it began, or begins after its end unless
// cartons came in between. `step`: "began" or "finished" of a laying, else empty.
[[nodiscard]] store::Result<void> check_note_order(const store::Note& note, std::string_view step,
                                                   const JobRoom& room, const JobRecords& records);

}  // namespace logger::app
