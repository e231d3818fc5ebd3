// Where, how deep and when a planned room's slab is tested, out of job.json alone.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "analysis/plan/slab_places/slab_places.hpp"
#include "logger/app/job/job.hpp"

namespace logger::app {

struct SlabTestsPlan {
  analysis::plan::SlabPlaces places;     // of holes and dishes
  std::size_t by_area = 0;               // what this room's own area asks for
  std::vector<std::string> shared_with;  // rooms on the same slab, this one left out
  std::size_t whole_slab = 0;            // places over all of them
  std::optional<std::size_t> by_job;     // probes_at_least
  std::optional<analysis::base::Metres> depth;
  std::optional<std::size_t> carbide_samples;         // unheated; where the job asks for them
  std::optional<std::size_t> carbide_samples_heated;  // likewise
  std::string no_places_because;                      // then `places` is empty
};

// nullopt where the room has no slab in job.json, a timber subfloor (subfloor_kind), or no plan.
// Rooms lie on one slab where job.json says the same slab_poured_at and slab_build.thickness_mm of
// them: the count is then made over all of it, and each room gets its share, one at least.
[[nodiscard]] std::optional<SlabTestsPlan> slab_tests_plan_from(const Job& job,
                                                                const JobRoom& room);

[[nodiscard]] nlohmann::ordered_json json_from(const SlabTestsPlan& plan);

}  // namespace logger::app
