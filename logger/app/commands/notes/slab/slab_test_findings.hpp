// What a noted test of a slab gives: its arithmetic and what it means for the room, or why it may
// not be read yet. Pure.
#pragma once

#include <string>
#include <vector>

#include "analysis/readiness/slab/test_times.hpp"
#include "logger/app/job/job.hpp"
#include "logger/store/error.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::app {

// Of a note of rh-test, dish-test or carbide-test, its content filled; nothing for other notes.
// invalid_input, one line, where the practice would not accept when it was read (sleeves too young,
// dishes too short or too long, the room too short as in use), unless it is kept `as_found`; and in
// any case where a dish would have stood longer than since it was set (`begun`: noted before).
[[nodiscard]] store::Result<std::vector<std::string>> slab_test_findings_from(
    const store::Note& note, const JobRoom& room,
    const std::vector<analysis::readiness::TestBegun>& begun, bool as_found);

}  // namespace logger::app
