#include "logger/app/room/noted_times.hpp"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

#include "analysis/readiness/reason_texts.hpp"

namespace logger::app {

using analysis::certificate::CertificateFacts;
using analysis::certificate::NotedFacts;
using analysis::readiness::text_from_number;
using nlohmann::json;

namespace {

constexpr std::array<std::string_view, 3> kTimedKinds = {"delivery", "laying", "test-begun"};

// The wettest value of a list, each of them by `value`.
template <class Value>
double wettest(const json& list, Value value) {
  double worst = 0.0;
  for (const json& entry : list) {
    worst = std::max(worst, value(entry));
  }
  return worst;
}

// What a test gave at its wettest place; of a delivery that another note holds.
std::string result_of(const store::Note& note, const json& content) {
  const auto list = [&content](const char* key) { return content.value(key, json::array()); };
  const auto member = [](const char* key) {
    return [key](const json& entry) { return entry.value(key, 0.0); };
  };
  if (note.kind == "rh-test") {
    return text_from_number(wettest(list("holes"), member("rh_percent"))) + " %RH";
  }
  if (note.kind == "carbide-test") {
    const auto percent = [](const json& sample) { return sample.get<double>(); };
    return text_from_number(wettest(list("samples_percent"), percent), 2) + " CM-%";
  }
  if (note.kind == "wood-test") {
    return text_from_number(wettest(list("readings"), member("shown_percent"))) + " % shown";
  }
  if (note.kind == "dish-test") {
    const auto emitted = [](const json& dish) {
      return dish.value("mass_gain_g", 0.0) / dish.value("area_m2", 1.0) /
             dish.value("exposure_hours", 1.0) * 24.0;
    };
    return text_from_number(wettest(list("dishes"), emitted)) + " g/m² in 24 h";
  }
  return "noted anew";
}

// Whether it is the one of its kind by which the certificate decides, where there can be one only.
bool counts(const store::Note& note, const CertificateFacts& facts) {
  const analysis::readiness::SubfloorTests& tests = facts.subfloor_tests;
  const auto is_of = [&note](const auto& test) { return test && test->at == note.at; };
  if (note.kind == analysis::certificate::kDeliverySubject) {
    return facts.delivered_at == note.at;
  }
  return !note.kind.ends_with("-test") ? true
         : note.kind == "rh-test"      ? is_of(tests.rh)
         : note.kind == "dish-test"    ? is_of(tests.dish)
         : note.kind == "carbide-test" ? is_of(tests.carbide)
                                       : is_of(tests.wood);
}

// Empty where the certificate says nothing of its kind.
std::string subject_of_note(const store::Note& note, const json& content) {
  if (note.kind == "placement") {
    return "placement." + content.value("channel_id", "");
  }
  const std::string of = note.kind == "laying"       ? content.value("step", "")
                         : note.kind == "test-begun" ? content.value("test", "")
                                                     : "";
  const bool told = note.kind.ends_with("-test") || std::ranges::count(kTimedKinds, note.kind) > 0;
  return told ? note.kind + (of.empty() ? "" : "." + of) : std::string{};
}

}  // namespace

std::vector<NotedFacts> noted_facts_from(const JobRecords& records, const CertificateFacts& facts,
                                         UtcMicros until) {
  const auto noted_at = [&facts](UtcMicros at) {
    return facts.simulated ? std::nullopt : std::optional(at);
  };
  const auto channel_id_of = [&facts](const store::Calibration& row) -> std::string {
    const auto found = std::ranges::find_if(facts.instruments, [&row](const auto& instrument) {
      return instrument.channel.box_id == row.box_id &&
             instrument.channel.channel_index == row.channel_index;
    });
    return found == facts.instruments.end() ? "" : found->channel.channel_id;
  };
  const auto measures_here = [&facts](const std::string& channel_id) {
    return std::ranges::any_of(facts.instruments, [&channel_id](const auto& instrument) {
      return instrument.channel.channel_id == channel_id;
    });
  };
  std::vector<NotedFacts> noted;
  for (const store::Note& note : records.notes) {
    const json content = content_of(note);
    const std::string subject = subject_of_note(note, content);
    const bool here = note.kind == "placement"
                          ? measures_here(content.value("channel_id", ""))
                          : note.room_id == facts.room.room_id || note.room_id.empty();
    if (subject.empty() || !here || note.at > until) {
      continue;
    }
    noted.push_back({subject, note.at, noted_at(note.noted_at),
                     counts(note, facts) ? std::string{} : result_of(note, content)});
  }
  for (const auto& row : records.calibrations) {
    const std::string channel_id = channel_id_of(row);
    if (!channel_id.empty() && row.valid_from <= until) {
      noted.push_back({"calibration." + channel_id, row.valid_from, noted_at(row.noted_at), {}});
    }
  }
  std::ranges::stable_sort(noted, {}, &NotedFacts::at);
  return noted;
}

}  // namespace logger::app
