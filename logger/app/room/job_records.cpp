#include <algorithm>
#include <nlohmann/json.hpp>
#include <type_traits>

#include "analysis/readiness/gates/gates.hpp"
#include "logger/app/room/room_tracker.hpp"
#include "logger/app/room/site_work.hpp"

namespace logger::app {

using analysis::base::utc_from_rfc3339;
using analysis::readiness::ChannelSetup;
using analysis::readiness::RoomSetup;
using analysis::readiness::SiteGateNote;
using analysis::readiness::TestBegun;
using analysis::readiness::TimedTest;
using nlohmann::json;
using store::Note;

namespace {

ChannelSetup channel_setup_from(const JobBox& box, const JobChannel& channel,
                                const JobRecords& records) {
  ChannelSetup setup;
  setup.box_id = box.id;
  setup.channel_index = channel.index;
  setup.channel_id = channel.id;
  setup.scale = channel.scale;
  setup.specification = channel.specification;
  setup.placed_at = channel.placed_at;
  setup.calibration_due_at = channel.calibration_due_at;
  for (const store::Calibration& row : records.calibrations) {
    if (row.box_id == box.id && row.channel_index == channel.index) {
      // A later row for the same moment supersedes.
      std::erase_if(setup.calibrations,
                    [&row](const auto& older) { return older.valid_from == row.valid_from; });
      setup.calibrations.push_back(
          {row.valid_from, row.due_at, row.gain, row.offset, row.expanded_uncertainty});
    }
  }
  std::stable_sort(setup.calibrations.begin(), setup.calibrations.end(),
                   [](const auto& a, const auto& b) { return a.valid_from < b.valid_from; });
  if (!setup.calibrations.empty()) {
    setup.calibration_due_at = setup.calibrations.back().due_at;
  }
  for (const Note& note : records.notes) {
    if (note.kind == "placement" && content_of(note).value("channel_id", "") == channel.id) {
      setup.placed_at = note.at;
    }
  }
  return setup;
}

void add_site_gate(std::vector<SiteGateNote>& gates, const Note& note) {
  const json content = content_of(note);
  const auto gate = analysis::readiness::site_gate_from_name(content.value("gate", ""));
  if (!gate) {
    return;
  }
  std::erase_if(gates, [&](const SiteGateNote& older) { return older.gate == *gate; });
  const bool open = content.value("state", "") == "open";
  gates.push_back({*gate, content.value("met", false), note.by, content.value("remark", ""),
                   note.at, note.noted_at, content.value("grounds", ""), open,
                   open ? content.value("action", "") : ""});
}

constexpr double kGrams = 1000.0;
constexpr double kPercent = 100.0;

// As stated, less what the log shows outside where the two contradict each other.
Micros service_hours_in(const json& content) {
  return analysis::base::micros_from_hours(
      std::max(content.value("service_hours", 0.0) - content.value("outside_hours", 0.0), 0.0));
}

analysis::readiness::DishTestNote dish_test_from(const Note& note, const JobRoom& room) {
  using namespace analysis::base;
  const json content = content_of(note);
  analysis::readiness::DishTestNote test{{}, note.by, note.at};
  test.survey.floor = SquareMetres{room.floor_area_m2};
  test.survey.service_conditions_held = service_hours_in(content);
  for (const json& dish : content.value("dishes", json::array())) {
    test.survey.dishes.push_back({Kilograms{dish.value("mass_gain_g", 0.0) / kGrams},
                                  SquareMetres{dish.value("area_m2", 0.0)},
                                  micros_from_hours(dish.value("exposure_hours", 0.0))});
  }
  return test;
}

analysis::readiness::RhTestNote rh_test_from(const Note& note, const JobRoom& room) {
  using namespace analysis::base;
  constexpr double kMillimetres = 1000.0;
  const json content = content_of(note);
  analysis::readiness::RhTestNote found{{}, note.by, note.at};
  found.test.thickness = Metres{content.value("thickness_mm", 0.0) / kMillimetres};
  found.test.dries_from_both_faces = content.value("both_faces", false);
  found.test.floor = SquareMetres{room.floor_area_m2};
  found.test.service_conditions_held = service_hours_in(content);
  const auto drilled = utc_from_rfc3339(content.value("drilled_at_utc", ""));
  for (const json& hole : content.value("holes", json::array())) {
    analysis::readiness::RhTestPlace place{Metres{hole.value("depth_mm", 0.0) / kMillimetres},
                                           rh_from_percent(hole.value("rh_percent", 0.0)),
                                           drilled ? note.at - *drilled : Micros{0}};
    if (hole.contains("slab_celsius")) {
      place.slab = Celsius{hole.value("slab_celsius", 0.0)};
    }
    found.test.places.push_back(place);
  }
  return found;
}

void add_begun_test(RoomNotes& notes, const Note& note) {
  const auto test = analysis::readiness::timed_test_from_name(content_of(note).value("test", ""));
  if (!test) {
    return;
  }
  std::erase_if(notes.begun_tests, [&](const TestBegun& older) { return older.test == *test; });
  notes.begun_tests.push_back({*test, note.at});
  if (*test == TimedTest::rh) {
    notes.sleeves_drilled_at = note.at;
  }
}

using SlabTestGate = std::optional<analysis::readiness::GateResult> (*)(
    const analysis::readiness::FloorRequirements&, const analysis::readiness::RoomEvidence&);

// Whether the test by itself says met or not met, or nothing asks for it.
template <class Test>
bool decides(const Test& test, Test analysis::readiness::SubfloorTests::*place, SlabTestGate gate,
             const JobRoom& room) {
  analysis::readiness::RoomEvidence evidence;
  evidence.subfloor_tests.*place = test;
  const auto result = gate(room.requirements, evidence);
  return !result || result->state != analysis::readiness::GateState::unknown;
}

// A test that does not count never takes the place of one that does.
template <class Test>
void take_test(analysis::readiness::SubfloorTests& tests,
               std::optional<Test> analysis::readiness::SubfloorTests::*place, SlabTestGate gate,
               std::type_identity_t<Test> newer, const JobRoom& room) {
  const std::optional<Test> candidate(std::move(newer));
  if (!(tests.*place) || decides(candidate, place, gate, room) ||
      !decides(tests.*place, place, gate, room)) {
    tests.*place = candidate;
  }
}

// A result ends what began before it.
void take_result(std::vector<TestBegun>& begun, TimedTest test, UtcMicros at) {
  std::erase_if(begun,
                [&](const TestBegun& older) { return older.test == test && older.at <= at; });
}

analysis::readiness::CarbideTestNote carbide_test_from(const Note& note, const JobRoom& room) {
  const json content = content_of(note);
  analysis::readiness::CarbideTestNote test{{}, note.by, note.at};
  test.survey.floor = analysis::base::SquareMetres{room.floor_area_m2};
  test.survey.heated = content.value("heated", false);
  for (const json& percent : content.value("samples_percent", json::array())) {
    test.survey.samples.push_back(
        analysis::readiness::CarbideMoisture{percent.get<double>() / kPercent});
  }
  return test;
}

analysis::readiness::WoodTestNote wood_test_from(const Note& note) {
  using namespace analysis::base;
  const json content = content_of(note);
  analysis::readiness::WoodTestNote test;
  test.by = note.by;
  test.at = note.at;
  test.compensation = content.value("meter_compensates", false)
                          ? analysis::physics::MeterCompensation::temperature
                          : analysis::physics::MeterCompensation::none;
  test.species = {content.value("species_slope", 1.0),
                  content.value("species_offset_percent", 0.0) / kPercent};
  for (const json& reading : content.value("readings", json::array())) {
    test.readings.push_back({MoistureContent{reading.value("shown_percent", 0.0) / kPercent},
                             Celsius{reading.value("wood_celsius", 0.0)}});
  }
  return test;
}

}  // namespace

json content_of(const Note& note) {
  json content = json::parse(note.content_json, nullptr, false);
  return content.is_object() ? content : json::object();
}

analysis::physics::StackGeometry geometry_of(const JobStack& stack) {
  using analysis::base::Metres;
  return {stack.carton_length, Metres{stack.carton_width.value() * stack.cartons_wide},
          Metres{stack.carton_height.value() * stack.cartons_high},
          stack.on_battens ? analysis::physics::StackBottom::on_battens
                           : analysis::physics::StackBottom::on_floor};
}

store::Result<JobRecords> job_records_from(store::ReadingStore& store) {
  auto notes = store.notes(0);
  if (!notes) {
    return store::Failure{notes.error()};
  }
  auto calibrations = store.calibrations();
  if (!calibrations) {
    return store::Failure{calibrations.error()};
  }
  return JobRecords{std::move(notes).value(), std::move(calibrations).value()};
}

JobRecords records_as_of(JobRecords records, UtcMicros moment) {
  std::erase_if(records.notes,
                [moment](const Note& note) { return note.at > moment && note.kind != "delivery"; });
  std::erase_if(records.calibrations, [moment](const store::Calibration& calibration) {
    return calibration.valid_from > moment;
  });
  return records;
}

RoomSetup room_setup_from(const Job& job, const JobRoom& room, const JobRecords& records) {
  RoomSetup setup;
  setup.room_id = room.id;
  setup.requirements = room.requirements;
  setup.slab_poured_at = room.slab_poured_at;
  if (room.stack) {
    setup.stack = analysis::readiness::StackSetup{geometry_of(*room.stack), std::nullopt};
  }
  for (const JobBox& box : job.boxes) {
    for (const JobChannel& channel : box.channels) {
      if (channel.room_id == room.id) {
        setup.channels.push_back(channel_setup_from(box, channel, records));
      }
    }
  }
  for (const Note& note : records.notes) {
    if (note.kind == "delivery" && (note.room_id == room.id || note.room_id.empty())) {
      setup.delivered_at = note.at;
      const json content = content_of(note);
      if (setup.stack) {
        setup.stack->delivered =
            content.contains("carton_celsius")
                ? std::optional(analysis::base::Celsius{content.value("carton_celsius", 0.0)})
                : std::nullopt;
      }
    }
  }
  return setup;
}

std::vector<const Note*> notes_by_time(const JobRecords& records, const std::string& room_id) {
  std::vector<const Note*> notes;
  for (const Note& note : records.notes) {
    if (note.room_id == room_id) {
      notes.push_back(&note);
    }
  }
  std::stable_sort(notes.begin(), notes.end(),
                   [](const Note* a, const Note* b) { return a->at < b->at; });
  return notes;
}

std::string placement_remark_from(const JobRecords& records, const std::string& channel_id) {
  std::string remark;
  for (const Note& note : records.notes) {
    const json content = note.kind == "placement" ? content_of(note) : json::object();
    if (content.value("channel_id", "") == channel_id) {
      remark = content.value("remark", "");
    }
  }
  return remark;
}

RoomNotes room_notes_from(const JobRecords& records, const JobRoom& room,
                          std::optional<UtcMicros> until) {
  using analysis::readiness::SubfloorTests;
  namespace gates = analysis::readiness::gates;
  RoomNotes found;
  found.laid_at = laying_from(records, room.id).finished_at;
  if (until && found.laid_at > until) {
    found.laid_at.reset();
  }
  for (const Note* each : notes_by_time(records, room.id)) {
    const Note& note = *each;
    if (until && note.at > *until) {
      continue;
    }
    if (note.kind == "gate") {
      add_site_gate(found.site_gates, note);
    } else if (note.kind == "dish-test") {
      take_test(found.subfloor_tests, &SubfloorTests::dish, gates::slab_emission_gate,
                dish_test_from(note, room), room);
      take_result(found.begun_tests, TimedTest::dish, note.at);
    } else if (note.kind == "rh-test") {
      take_test(found.subfloor_tests, &SubfloorTests::rh, gates::slab_gate,
                rh_test_from(note, room), room);
      take_result(found.begun_tests, TimedTest::rh, note.at);
      found.sleeves_drilled_at = utc_from_rfc3339(content_of(note).value("drilled_at_utc", ""));
    } else if (note.kind == "test-begun") {
      add_begun_test(found, note);
    } else if (note.kind == "carbide-test") {
      take_test(found.subfloor_tests, &SubfloorTests::carbide, gates::slab_carbide_gate,
                carbide_test_from(note, room), room);
    } else if (note.kind == "wood-test") {
      found.subfloor_tests.wood = wood_test_from(note);
    }
  }
  return found;
}

const JobRoom* find_room(const Job& job, const std::string& room_id) {
  const auto found = std::find_if(job.rooms.begin(), job.rooms.end(),
                                  [&](const JobRoom& room) { return room.id == room_id; });
  return found == job.rooms.end() ? nullptr : &*found;
}

const JobBox* find_box(const Job& job, const std::string& box_id) {
  const auto found = std::find_if(job.boxes.begin(), job.boxes.end(),
                                  [&](const JobBox& box) { return box.id == box_id; });
  return found == job.boxes.end() ? nullptr : &*found;
}

std::vector<std::string> boxes_of_room(const Job& job, const std::string& room_id) {
  std::vector<std::string> box_ids;
  for (const JobBox& box : job.boxes) {
    if (std::any_of(box.channels.begin(), box.channels.end(),
                    [&](const JobChannel& channel) { return channel.room_id == room_id; })) {
      box_ids.push_back(box.id);
    }
  }
  return box_ids;
}

}  // namespace logger::app
