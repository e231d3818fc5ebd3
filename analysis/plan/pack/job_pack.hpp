// The job pack: the plan on paper, for whoever delivers, lays and looks at the site. Pure; any
// thread. The same pack gives the same bytes under the same library and font versions: its dates of
// making are the begin of 1970, and what it was made from stands in its foot.
#pragma once

#include <string>
#include <vector>

#include "analysis/drawing/canvas.hpp"
#include "analysis/drawing/table.hpp"
#include "analysis/plan/room_plan.hpp"
#include "analysis/plan/sheet/site_drawing.hpp"
#include "analysis/plan/takeoff/order_list.hpp"

namespace analysis::plan {

struct PackStep {
  std::string when;
  std::string room;
  std::string what;
};
// Something a person looks at and signs for.
struct PackGate {
  std::string question;
  std::string noted;  // who, when, what; empty = nothing yet
  bool met = false;   // the box is ticked
};
// REQUIRES: `plan` is of `request`, both outlive the drawing; marks and outlines in the plan's
// frame.
struct PackRoom {
  std::string heading;
  const RoomPlan* plan = nullptr;
  const RoomPlanRequest* request = nullptr;
  std::vector<drawing::LabelledValue> laying;
  std::vector<drawing::LabelledValue> stacking;
  std::vector<PlacedStack> stacks;
  std::vector<Outline> clear;
  std::vector<WallStretch> heaters;
  std::vector<drawing::LabelledValue> tests;  // of the slab; empty = no such page
  std::vector<PlaceMark> test_places;
  std::vector<PackGate> gates;
};
struct JobPack {
  std::string job;
  std::vector<drawing::LabelledValue> facts;  // site, installer, client
  std::vector<PackStep> steps;                // in order
  std::vector<std::string> cautions;
  OrderList order;
  std::vector<PackRoom> rooms;
  std::string made_from;  // "job.json, SHA-256 ..."
  std::string software;
};
struct PackOptions {
  bool letter = false;  // else A4
  bool imperial = false;
};

// First the job, what to do when and cautions; the order; then each room on pages of its own.
// Errors: those of drawing; too_tall where one text is taller than a page.
[[nodiscard]] base::Result<std::string, drawing::DrawError> draw_job_pack_pdf(
    const JobPack& pack, const PackOptions& options);

}  // namespace analysis::plan
