#include "logger/app/plan/plan_pack.hpp"

#include <algorithm>
#include <limits>

#include "analysis/certificate/cautions.hpp"
#include "analysis/plan/flatness/flatness_texts.hpp"
#include "analysis/readiness/reason_texts.hpp"
#include "logger/app/outlook/texts/shown_values.hpp"
#include "logger/app/plan/plan_words.hpp"
#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::plan::JobPack;
using analysis::plan::PackGate;
using analysis::plan::PackRoom;
using analysis::plan::PackStep;
using analysis::readiness::SiteGate;
using analysis::readiness::SiteGateNote;

namespace {

std::vector<analysis::drawing::LabelledValue> labelled(std::vector<PlanWords> words) {
  std::vector<analysis::drawing::LabelledValue> values;
  for (PlanWords& each : words) {
    values.push_back({std::move(each.label), std::move(each.text)});
  }
  return values;
}

std::string noted_text(const SiteGateNote& note) {
  std::string text = std::string(note.open  ? "Open"
                                 : note.met ? "Met"
                                            : "Not met") +
                     ", " + note.by + ", " + analysis::base::minute_text_from_utc(note.at);
  for (const std::string& more : {note.grounds, note.to_do, note.remark}) {
    text += more.empty() ? "" : ". " + more;
  }
  return text;
}

PackGate gate_of(SiteGate gate, const analysis::plan::FlatnessWords& flatness,
                 const std::vector<SiteGateNote>& noted) {
  PackGate shown{gate_question(gate, flatness), "", false};
  const auto note = std::find_if(noted.begin(), noted.end(),
                                 [&](const SiteGateNote& each) { return each.gate == gate; });
  if (note != noted.end()) {
    shown.noted = noted_text(*note);
    shown.met = note->met;
  }
  return shown;
}

// What to do in a room, in order, with the moment it is sorted by.
class RoomSteps {
 public:
  RoomSteps(const PlannedRoom& planned, bool imperial) : planned_(planned), imperial_(imperial) {}

  struct Dated {
    UtcMicros by;
    PackStep step;
  };
  std::vector<Dated> all() {
    const JobPlan& plan = *planned_.room->plan;
    constexpr UtcMicros kUndated{std::numeric_limits<std::int64_t>::max()};
    const UtcMicros delivered = planned_.deliver_by.value_or(kUndated);
    const UtcMicros laid = plan.laying_on.value_or(kUndated);
    add(std::min(delivered, laid), "before the cartons come",
        "Room closed, heated and kept at " + band_text() +
            "; the questions and tests on its pages answered.");
    add(delivered, delivery_time(),
        std::to_string(planned_.cartons) +
            " cartons in the room, closed and flat, stacked as drawn; logging begun.");
    add(laid, "until laying",
        "Keep the climate. Lay when `dwellog status` says READY and every box is ticked.");
    add(laid, plan.laying_on ? date_text(*plan.laying_on) : "the day of laying",
        sheets_first() + "the rows as drawn, with the gap at all walls.");
    return std::move(steps_);
  }

 private:
  void add(UtcMicros by, std::string when, std::string what) {
    steps_.push_back({by, {std::move(when), planned_.room->name, std::move(what)}});
  }
  // The barrier lies below.
  [[nodiscard]] std::string sheets_first() const {
    const auto& plan = planned_.plan;
    return plan.barrier && plan.underlay ? "Barrier, underlay, then "
           : plan.barrier                ? "Barrier, then "
           : plan.underlay               ? "Underlay, then "
                                         : "Lay ";
  }
  [[nodiscard]] std::string band_text() const {
    const auto& limits = planned_.room->requirements;
    const ShownUnits units{imperial_};
    const auto degrees = [units](const auto& limit) {
      return fixed(shown_celsius(limit.value.value(), units), 0);
    };
    return degrees(limits.temperature_low) + "\u2013" + degrees(limits.temperature_high) + " " +
           temperature_unit(units) + ", " +
           fixed(analysis::base::percent_from_rh(limits.rh_low.value), 0) + "\u2013" +
           fixed(analysis::base::percent_from_rh(limits.rh_high.value), 0) + " %RH";
  }
  static std::string date_text(UtcMicros at) {
    return "on " + analysis::readiness::text_from_date(at);
  }
  [[nodiscard]] std::string delivery_time() const {
    if (planned_.deliver_by) {
      return "by " + analysis::base::minute_text_from_utc(*planned_.deliver_by);
    }
    if (planned_.stackings.empty() || !planned_.stackings.front().warms_up) {
      return "as the floor's instructions say";
    }
    return fixed(analysis::base::hours_from(planned_.stackings.front().lead), 0) +
           " h or more before laying";
  }

  const PlannedRoom& planned_;
  bool imperial_;
  std::vector<Dated> steps_;
};

std::vector<PackStep> steps_of(const PackSource& source) {
  std::vector<RoomSteps::Dated> dated;
  for (const PlannedRoom& planned : source.report.rooms) {
    const auto steps = RoomSteps(planned, source.imperial).all();
    dated.insert(dated.end(), steps.begin(), steps.end());
  }
  std::stable_sort(dated.begin(), dated.end(),
                   [](const auto& a, const auto& b) { return a.by < b.by; });
  std::vector<PackStep> steps{{"now", "all rooms", "Order what the next page lists."}};
  for (auto& each : dated) {
    steps.push_back(std::move(each.step));
  }
  return steps;
}

std::vector<analysis::plan::PlaceMark> test_places_of(const PlannedRoom& planned) {
  return planned.slab_tests ? place_marks(planned.slab_tests->places, planned.plan.turned_degrees)
                            : std::vector<analysis::plan::PlaceMark>{};
}

PackRoom pack_room_of(const PlannedRoom& planned, const PackSource& source) {
  const JobRoom& room = *planned.room;
  PackRoom pack;
  pack.heading = room.name + ", " + plan_area_text(planned.plan.floor_area, source.imperial);
  pack.plan = &planned.plan;
  pack.request = &room.plan->request;
  pack.laying = labelled(laying_words(planned, source.imperial));
  pack.laying.insert(pack.laying.begin(), {"Floor", room.floor_product});
  pack.stacking = labelled(stacking_words(planned, source.imperial));
  pack.stacks = planned.places;
  pack.clear = planned.kept_clear;
  pack.heaters = room.plan->heaters;
  pack.tests = labelled(slab_test_words(planned, source.imperial));
  pack.test_places = test_places_of(planned);
  const auto found = source.noted.find(room.id);
  const auto noted = found == source.noted.end() ? std::vector<SiteGateNote>{} : found->second;
  for (const SiteGate gate : room.requirements.site_gates) {
    pack.gates.push_back(gate_of(gate, {room.requirements.flatness, source.imperial}, noted));
  }
  return pack;
}

}  // namespace

analysis::plan::SiteSheet site_sheet_of(const PlannedRoom& planned, bool imperial) {
  const JobPlan& job = *planned.room->plan;
  return {planned.plan, job.request, planned.places, planned.kept_clear, test_places_of(planned),
          job.heaters,  50,          imperial};
}

JobPack job_pack_from(const PackSource& source) {
  JobPack pack;
  pack.job = (source.simulated ? "SIMULATED SITE: " : "") + source.job.name;
  pack.facts = {{"Site", source.job.site_address}, {"Installer", source.job.installer}};
  if (!source.job.client.empty()) {
    pack.facts.push_back({"Client", source.job.client});
  }
  std::string rooms;
  for (const PlannedRoom& planned : source.report.rooms) {
    rooms += (rooms.empty() ? "" : "; ") + planned.room->name + ", " +
             plan_area_text(planned.plan.floor_area, source.imperial);
    pack.rooms.push_back(pack_room_of(planned, source));
  }
  pack.facts.push_back({"Rooms", rooms});
  for (const std::string& id : source.report.rooms_without_plan) {
    pack.facts.push_back({"No plan", "room " + id + " has none in job.json"});
  }
  pack.steps = steps_of(source);
  pack.cautions = analysis::certificate::site_cautions();
  pack.order = order_from_plan(source.report, source.imperial);
  pack.made_from = "made from job.json, SHA-256 " + source.job_sha256_hex;
  pack.software = "dwellog";
  return pack;
}

}  // namespace logger::app
