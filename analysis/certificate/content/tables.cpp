// The tables and lists of the content, in the order in which they are shown.
#include <algorithm>

#include "analysis/certificate/content/content.hpp"
#include "analysis/certificate/content/values.hpp"
#include "analysis/readiness/reason_texts.hpp"
#include "analysis/readiness/uncertainty/conformance.hpp"

namespace analysis::certificate {

using drawing::Align;
using drawing::Cell;

namespace {

// Lost ranges shown; the rest is counted, and is in the signed file.
constexpr std::size_t kMostLostRanges = 8;
drawing::Symbol symbol_of_state(readiness::GateState state) {
  switch (state) {
    case readiness::GateState::met:
      return drawing::Symbol::disc_tick;
    case readiness::GateState::not_met:
      return drawing::Symbol::square_cross;
    case readiness::GateState::unknown:
      break;
  }
  return drawing::Symbol::diamond_query;
}

const char* word_of_state(const PagesTexts& texts, readiness::GateState state) {
  switch (state) {
    case readiness::GateState::met:
      return texts.met;
    case readiness::GateState::not_met:
      return texts.not_met;
    case readiness::GateState::unknown:
      break;
  }
  return texts.unknown;
}

std::string gate_id_of(readiness::SiteGate gate) {
  return "site." + std::string(readiness::name_of(gate));
}

// Who saw it and when, on what grounds where they are wanted, the remark.
std::string observation_text(const ContentSource& source, const readiness::SiteGateNote& note,
                             bool with_grounds) {
  const std::string by = source.needed(note.by);
  const std::string at = moment_text(note.at);
  std::string more = with_grounds && !note.grounds.empty() ? source.shown(note.grounds) : "";
  more += more.empty() || note.remark.empty() ? "" : "; ";
  more += note.remark.empty() ? "" : source.shown(note.remark);
  std::string text = more.empty() ? filled(source.texts.observed_by, {by, at})
                                  : filled(source.texts.observed_remark, {by, at, more});
  if (was_written_down_later(note)) {
    text = filled(source.texts.written_down_later, {text, moment_text(*note.noted_at)});
  }
  const std::string photos =
      photos_text(source, "gate." + std::string(readiness::name_of(note.gate)), note.at);
  return photos.empty() ? text : text + "\n" + photos;
}

const readiness::SiteGateNote* note_of(const std::vector<readiness::SiteGateNote>& notes,
                                       const readiness::GateResult& gate) {
  const auto found = std::ranges::find_if(
      notes, [&](const auto& candidate) { return gate_id_of(candidate.gate) == gate.id; });
  return found == notes.end() ? nullptr : &*found;
}

// A gate that a person observed as met shows his note, which says more than the gate's reason.
Cell finding_cell(const ContentSource& source, const readiness::GateResult& gate) {
  const readiness::SiteGateNote* note = note_of(source.facts.site_gates, gate);
  const bool withheld = gate.reason == kRedactedText;
  if (note == nullptr && withheld) {
    note = note_of(source.facts.open_answers, gate);
  }
  if (note == nullptr) {
    return {.text = source.needed(gate.reason)};
  }
  if (gate.state == readiness::GateState::met) {
    return {.text = observation_text(source, *note, true)};
  }
  // A reason that is not withheld names the grounds already.
  return {.text = source.needed(gate.reason), .note = observation_text(source, *note, withheld)};
}

std::vector<std::string> notes_not_asked_for(const ContentSource& source) {
  const auto& gates = source.facts.assessment.gates;
  std::vector<std::string> notes;
  for (const readiness::SiteGateNote& note : source.facts.site_gates) {
    const std::string id = gate_id_of(note.gate);
    if (std::any_of(gates.begin(), gates.end(),
                    [&](const readiness::GateResult& gate) { return gate.id == id; })) {
      continue;
    }
    const char* state = note.met ? source.texts.met : source.texts.not_met;
    notes.push_back(
        filled(source.texts.also_observed,
               {source.texts.gate_label(id), state, source.needed(note.by), moment_text(note.at)}));
  }
  return notes;
}

std::string calibration_due_text(const ContentSource& source, const InstrumentFacts& instrument) {
  const auto& due = instrument.channel.calibration_due_at;
  if (!due) {
    return source.texts.calibration_unknown;
  }
  const std::string date = moment_text(*due).substr(0, 10);
  return *due < source.facts.period.to ? filled(source.texts.calibration_overdue, {date}) : date;
}

// Expanded, k = 2, over the time that counts.
std::string uncertainty_text(const ContentSource& source, const InstrumentFacts& instrument) {
  const auto standard =
      readiness::standard_uncertainty_from(instrument.channel, source.facts.delivered_at);
  if (!standard) {
    return source.texts.none_given;
  }
  const double expanded = readiness::kCoverageFactor * *standard;
  const std::string_view unit = base::file_unit_of(instrument.channel.scale.role);
  return unit == "celsius"      ? delta_text(base::KelvinDelta{expanded}, source.units)
         : unit == "percent_rh" ? rh_text(base::RelativeHumidity{expanded})
                                : source.texts.none_given;
}

std::vector<Cell> instrument_row(const ContentSource& source, const InstrumentFacts& instrument) {
  const auto& texts = source.texts;
  std::string serials = source.needed(instrument.box_serial);
  if (!instrument.sensor_serial.empty()) {
    serials += ", " + instrument.sensor_serial;
  }
  return {{.text = instrument.channel.channel_id},
          {.text = texts.role_label(instrument.channel.scale.role)},
          {.text = serials},
          {.text = source.optional(instrument.placement)},
          {.text = source.optional(instrument.calibration_reference)},
          {.text = calibration_due_text(source, instrument)},
          {.text = uncertainty_text(source, instrument)}};
}

// The calibrations that made other values of what the sensor gave, with what they did.
void add_values_set(const ContentSource& source, const InstrumentFacts& instrument,
                    std::vector<std::string>& notes) {
  const std::string_view unit = base::file_unit_of(instrument.channel.scale.role);
  const std::string unit_text = unit == "celsius" ? " K" : unit == "percent_rh" ? " %RH" : "";
  for (const readiness::DatedCalibration& calibration : instrument.channel.calibrations) {
    if (moves_values(calibration, source.facts.period)) {
      notes.push_back(filled(source.texts.values_set,
                             {instrument.channel.channel_id, moment_text(calibration.valid_from),
                              drawing::number_text(calibration.gain, 4),
                              drawing::number_text(calibration.offset, 2) + unit_text}));
    }
  }
}

// A list of which only the longest are shown.
std::string list_heading(const char* title, const char* title_of, std::size_t shown,
                         std::int64_t total) {
  return total > static_cast<std::int64_t>(shown)
             ? filled(title_of, {std::to_string(shown), std::to_string(total)})
             : title;
}

}  // namespace

TableContent gates_content(const ContentSource& source) {
  const auto& texts = source.texts;
  const auto& gates = source.facts.assessment.gates;
  const bool any_action = std::any_of(gates.begin(), gates.end(),
                                      [](const auto& gate) { return !gate.action.empty(); });
  const bool laid = is_after_laying_began(source.facts);
  const bool with_actions = any_action && !laid;
  TableContent table{texts.gates_title,
                     {{texts.gate_state, with_actions ? 1.2 : 1.0},
                      {texts.gate, with_actions ? 2.3 : 2.4},
                      {texts.gate_reason, with_actions ? 4.2 : 5.6}},
                     {},
                     texts.none_given,
                     notes_not_asked_for(source)};
  for (const readiness::GateResult& gate : gates) {
    const bool met = gate.state == readiness::GateState::met;
    table.rows.push_back({{.text = word_of_state(texts, gate.state),
                           .symbol = symbol_of_state(gate.state),
                           .bold = !met},
                          {.text = texts.gate_label(gate.id), .bold = !met},
                          finding_cell(source, gate)});
    if (with_actions) {
      table.rows.back().push_back({.text = source.shown(gate.action)});
    }
  }
  if (with_actions) {
    table.columns.push_back({texts.gate_action, 2.7});
  } else if (any_action) {
    table.notes.push_back(
        filled(texts.actions_left_out, {moment_text(*source.facts.laying.began_at)}));
  }
  if (source.units == Units::imperial) {
    table.notes.push_back(texts.gates_imperial_note);
  }
  return table;
}

TableContent instruments_content(const ContentSource& source) {
  const auto& texts = source.texts;
  TableContent table{texts.instruments_title,
                     {{texts.instrument_channel, 1.1},
                      {texts.instrument_measures, 2.3},
                      {texts.instrument_box, 1.7},
                      {texts.instrument_placement, 2.9},
                      {texts.instrument_calibration, 2.0},
                      {texts.instrument_due, 1.2},
                      {texts.instrument_uncertainty, 0.9}},
                     {},
                     texts.instruments_none,
                     {}};
  for (const InstrumentFacts& instrument : source.facts.instruments) {
    table.rows.push_back(instrument_row(source, instrument));
    add_values_set(source, instrument, table.notes);
  }
  return table;
}

TableContent excursions_content(const ContentSource& source) {
  const CertificateFacts& facts = source.facts;
  const PagesTexts& texts = source.texts;
  TableContent table{list_heading(texts.excursions_title, texts.excursions_of,
                                  facts.excursions.size(), facts.excursions_total),
                     {{texts.list_number, 0.6},
                      {texts.list_from, 2.3},
                      {texts.list_length, 1.6},
                      {texts.list_channel, 2.9},
                      {texts.list_worst, 1.3, Align::right}},
                     {},
                     texts.excursions_none,
                     {}};
  for (const readiness::Excursion& excursion : facts.excursions) {
    table.rows.push_back(
        {{.text = std::to_string(table.rows.size() + 1), .bold = true},
         {.text = moment_text(excursion.range.from)},
         {.text = duration_text(excursion.range.to - excursion.range.from)},
         {.text = texts.role_label(excursion.role)},
         {.text = role_value_text(excursion.worst, excursion.role, source.units)}});
  }
  return table;
}

TableContent unknown_time_content(const ContentSource& source) {
  const CertificateFacts& facts = source.facts;
  const PagesTexts& texts = source.texts;
  TableContent table{list_heading(texts.unknown_time_title, texts.unknown_time_of,
                                  facts.unknown_time.size(), facts.unknown_time_total),
                     {{texts.list_from, 1.3}, {texts.list_length, 1.0}},
                     {},
                     texts.unknown_time_none,
                     {}};
  for (const base::TimeRange& range : facts.unknown_time) {
    table.rows.push_back(
        {{.text = moment_text(range.from)}, {.text = duration_text(range.to - range.from)}});
  }
  return table;
}

namespace {

bool any_import(const CertificateFacts& facts) {
  return std::ranges::any_of(facts.instruments, [](const InstrumentFacts& instrument) {
    return instrument.box_serial == kImportedSerial;
  });
}

}  // namespace

TableContent lost_records_content(const ContentSource& source) {
  const CertificateFacts& facts = source.facts;
  const PagesTexts& texts = source.texts;
  TableContent table{texts.lost_title,
                     {{texts.lost_box, 1.4},
                      {texts.lost_sequences, 1.5},
                      {texts.lost_count, 0.9, Align::right},
                      {texts.lost_reason, 1.3}},
                     {},
                     any_import(facts) ? texts.lost_not_to_tell : texts.lost_none,
                     {}};
  std::int64_t rest = 0;
  const auto count = [](const GapFacts& gap) { return gap.last_sequence - gap.first_sequence + 1; };
  for (const GapFacts& gap : facts.lost_records) {
    if (table.rows.size() >= kMostLostRanges) {
      rest += count(gap);
      continue;
    }
    table.rows.push_back(
        {{.text = gap.box_id + ", " + std::to_string(gap.boot)},
         {.text = std::to_string(gap.first_sequence) + "–" + std::to_string(gap.last_sequence)},
         {.text = std::to_string(count(gap))},
         {.text = texts.lost_reason_label(gap.reason)}});
  }
  if (rest > 0) {
    table.notes.push_back(filled(
        texts.lost_more,
        {std::to_string(facts.lost_records.size() - kMostLostRanges), std::to_string(rest)}));
  }
  return table;
}

}  // namespace analysis::certificate
