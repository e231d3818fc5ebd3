// The parts of the job pack as sections to be set on pages. Internal to this folder.
#pragma once

#include <string>
#include <vector>

#include "analysis/drawing/flow.hpp"
#include "analysis/plan/pack/job_pack.hpp"

namespace analysis::plan {

// References outlive the setting of the pages.
struct PackSetting {
  const drawing::Canvas& canvas;  // to measure with
  double width = 0.0;             // of the content, points
  double height = 0.0;
  bool imperial = false;
};

// The job, what to do when, cautions.
[[nodiscard]] std::vector<drawing::Section> job_sections(const PackSetting& setting,
                                                         const JobPack& pack);
[[nodiscard]] std::vector<drawing::Section> order_sections(const PackSetting& setting,
                                                           const OrderList& order);
// Rows, cut list, stacks, slab tests, gates. REQUIRES: `room` outlives the sections.
[[nodiscard]] std::vector<drawing::Section> room_sections(const PackSetting& setting,
                                                          const PackRoom& room);

}  // namespace analysis::plan
