// When what a certificate stands on was written down, and which tests it does not stand on.
#pragma once

#include <vector>

#include "analysis/certificate/facts.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

// Deliveries, laying, tests, placements and calibrations of the room, made of up to `until`, in
// order of time; gates are left out. `facts` names the room, its instruments and the tests that
// count; every other test is set aside with what it gave.
[[nodiscard]] std::vector<analysis::certificate::NotedFacts> noted_facts_from(
    const JobRecords& records, const analysis::certificate::CertificateFacts& facts,
    UtcMicros until);

}  // namespace logger::app
