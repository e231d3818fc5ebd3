// The job pack: what stands on it, that nothing lies off the page, for rooms of odd shapes. All
// rooms are invented.
#include "analysis/plan/pack/job_pack.hpp"

#include <algorithm>

#include "analysis/plan/slab_places/slab_places.hpp"
#include "tests/drawing/pdf_tools.hpp"
#include "tests/plan/plan_rooms.hpp"

using namespace analysis::plan;
using namespace plan_tests;

namespace {

bool has(const std::string& text, const std::string& words) {
  return text.find(words) != std::string::npos;
}

struct PackSite {
  std::vector<RoomPlanRequest> requests;
  std::vector<RoomPlan> plans;
  JobPack pack;

  explicit PackSite(const std::vector<Outline>& outlines) {
    for (const Outline& outline : outlines) {
      requests.push_back(request_for(outline));
      requests.back().doors = {{1, Metres{0.2}, {Metres{0.8}, Transition::to_lower}, false, ""}};
    }
    for (const RoomPlanRequest& request : requests) {
      plans.push_back(plan_of(request));
    }
    pack.job = "Mill Lane 4 (invented)";
    pack.facts = {{"Site", "Mill Lane 4"}, {"Installer", "A. Fitter"}};
    pack.steps = {{"by 2026-05-02 00:00 UTC", "Hall", "Cartons in the room."}};
    pack.cautions = {"Cartons are heavy: lift with two people."};
    std::vector<OrderedRoom> ordered;
    for (std::size_t i = 0; i < plans.size(); ++i) {
      pack.rooms.push_back(room(i));
      ordered.push_back({"room " + std::to_string(i + 1),
                         "Laminate",
                         {8, SquareMetres{1.92}},
                         0,
                         0.1,
                         &requests[i],
                         &plans[i],
                         {}});
    }
    pack.order = order_list_from(ordered, false);
    pack.made_from = "made from job.json, SHA-256 00ff";
    pack.software = "dwellog";
  }
  PackSite(const PackSite&) = delete;
  PackSite& operator=(const PackSite&) = delete;

  [[nodiscard]] PackRoom room(std::size_t i) const {
    PackRoom room;
    room.heading = "Room " + std::to_string(i + 1);
    room.plan = &plans[i];
    room.request = &requests[i];
    room.laying = {{"Rows", "as many as there are"}};
    room.stacking = {{"Stacking", "as drawn"}};
    const Bounds bounds = bounds_of(plans[i].room.outer);
    room.stacks = {
        {{bounds.low_x_m + 0.1, bounds.low_x_m + 0.5, bounds.low_y_m + 0.1, bounds.low_y_m + 0.3},
         7}};
    room.tests = {{"Where", "at the marks"}};
    room.test_places = {{{bounds.low_x_m + 0.3, bounds.low_y_m + 0.3}, "T1"}};
    room.gates = {{"Is the subfloor clean?", "", false},
                  {"Is the subfloor solid?", "Met, A. Fitter", true}};
    return room;
  }
  [[nodiscard]] std::string pdf(PackOptions options = {}) const {
    const auto bytes = draw_job_pack_pdf(pack, options);
    REQUIRE(bytes.has_value());
    return bytes.value();
  }
};

const Outline kLShape{{0, 0}, {9.2, 0}, {9.2, 4.6}, {5.4, 4.6}, {5.4, 9.1}, {0, 9.1}};
const Outline kTriangle{{0, 0}, {5.2, 0}, {0, 4.4}};

void check_on_page(const std::string& pdf, double width, double height) {
  for (const tests::PdfWord& word : tests::words_of_pdf(pdf)) {
    INFO(word.text << " on page " << word.page);
    CHECK(word.left >= 20.0);
    CHECK(word.right <= width - 20.0);
    CHECK(word.top >= 20.0);
    CHECK(word.bottom <= height - 14.0);
  }
}

}  // namespace

TEST_CASE("The job pack says what to order, how to lay and what to look at") {
  const PackSite site({rectangle(5, 4)});
  const std::string text = tests::text_of_pdf(site.pdf());
  for (const char* words :
       {"Mill Lane 4 (invented)",
        "What to do when",
        "by 2026-05-02 00:00 UTC",
        "Cautions",
        "lift with two people",
        "Order",
        "12 cartons",
        "22.00 m²",
        "Cut list",
        "whole",
        "Cartons in the room",
        "Where to test the slab",
        "T1",
        "D1",
        "reducer, to a lower floor",
        "5.00 m",
        "4.00 m",
        "when printed at full size",
        "Leave 10 mm free",
        "To be looked at before laying",
        "Is the subfloor clean?",
        "Met, A. Fitter",
        "SHA-256 00ff",
        "floor maker's instructions, local codes and licensed trades come first"}) {
    INFO(words);
    CHECK(has(text, words));
  }
  // A box that was noted as met is ticked, the others are open.
  CHECK(has(text, "\u2611"));
  CHECK(has(text, "\u2610"));
  for (const char* never : {"safe", "guaranteed", "warrant"}) {
    CHECK_FALSE(has(text, never));
  }
}

TEST_CASE("The same pack gives the same bytes") {
  const PackSite site({rectangle(5, 4)});
  CHECK(site.pdf() == PackSite({rectangle(5, 4)}).pdf());
  CHECK(tests::dates_of_pdf(site.pdf()).find("1970-01-01T00:00:00Z") != std::string::npos);
}

TEST_CASE("Rooms of odd shapes stay on the page, on both papers") {
  const PackSite site({kLShape, rectangle(9.6, 1.15), kTriangle, rectangle(1.2, 14.0)});
  const std::string a4 = site.pdf();
  check_on_page(a4, 595.3, 841.9);
  check_on_page(site.pdf({true, true}), 612.0, 792.0);
  // Job, order, and at least a page for each room.
  CHECK(tests::pages_of_pdf(a4) >= 6);
  // A floor of two parts names them.
  const std::string text = tests::text_of_pdf(a4);
  CHECK(has(text, "Cut list, part A"));
  CHECK(has(text, "Cut list, part B"));
  CHECK(has(text, "Black strip = joint"));
}

TEST_CASE("Names that are too long for a line are wrapped or clipped, never an error") {
  PackSite site({rectangle(5, 4)});
  const std::string name(200, 'W');
  site.pack.job = name;
  site.pack.facts.push_back({"Client", name});
  site.pack.rooms.front().heading = name;
  check_on_page(site.pdf(), 595.3, 841.9);
}
