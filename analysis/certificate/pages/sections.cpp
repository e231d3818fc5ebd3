#include "analysis/certificate/pages/sections.hpp"

#include <algorithm>
#include <utility>

#include "analysis/certificate/pages/charts.hpp"
#include "analysis/certificate/pages/values.hpp"
#include "analysis/drawing/axis.hpp"
#include "analysis/readiness/uncertainty/conformance.hpp"

namespace analysis::certificate {
namespace {

using drawing::Align;
using drawing::Block;
using drawing::Canvas;
using drawing::Cell;
using drawing::Column;
using drawing::Face;
using drawing::Point;
using drawing::Section;
using drawing::TextStyle;
using Rows = std::vector<std::vector<Cell>>;

// Lost ranges printed; the rest is counted, and is in the signed file.
constexpr std::size_t kMostLostRanges = 8;
// A list with more rows is set closer, and may be broken over a page end.
constexpr std::size_t kManyRows = 10;
constexpr double kColumnGap = 16.0;

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

Section spaced(const Setting& setting, Section section) {
  section.space_before = setting.section_space();
  return section;
}

TextStyle quiet(const Setting& setting) {
  return {setting.body_size() * 0.88, Face::regular, Align::left, drawing::kQuiet};
}

// Who saw it and when, for gates that a person observed; empty for the others.
std::string observation_text(const Setting& setting, const readiness::SiteGateNote& note) {
  const std::string by = setting.needed(note.by);
  const std::string at = moment_text(note.at);
  return note.remark.empty() ? filled(setting.texts.observed_by, {by, at})
                             : filled(setting.texts.observed_remark, {by, at, note.remark});
}

// A gate that a person observed as met shows his note, which says more than the gate's reason.
Cell finding_cell(const Setting& setting, const readiness::GateResult& gate) {
  const auto& notes = setting.facts.site_gates;
  const auto note = std::find_if(notes.begin(), notes.end(), [&](const auto& candidate) {
    return gate_id_of(candidate.gate) == gate.id;
  });
  if (note == notes.end()) {
    return {.text = setting.needed(gate.reason)};
  }
  if (gate.state == readiness::GateState::met) {
    return {.text = observation_text(setting, *note)};
  }
  return {.text = setting.needed(gate.reason), .note = observation_text(setting, *note)};
}

std::vector<Block> notes_not_asked_for(const Setting& setting) {
  const auto& gates = setting.facts.assessment.gates;
  std::vector<Block> blocks;
  for (const readiness::SiteGateNote& note : setting.facts.site_gates) {
    const std::string id = gate_id_of(note.gate);
    if (std::any_of(gates.begin(), gates.end(),
                    [&](const readiness::GateResult& gate) { return gate.id == id; })) {
      continue;
    }
    const char* state = note.met ? setting.texts.met : setting.texts.not_met;
    blocks.push_back(drawing::paragraph(
        setting.canvas,
        filled(setting.texts.also_observed, {setting.texts.gate_label(id), state,
                                             setting.needed(note.by), moment_text(note.at)}),
        quiet(setting), setting.width, 1.0));
  }
  return blocks;
}

// Panels share one time axis; only the last carries its labels.
Block chart_block(const Setting& setting, drawing::TimeChart chart, bool last) {
  const drawing::ChartStyle style{7.0 * setting.scale, last};
  const double height =
      setting.plot_height + drawing::room_around_plot(setting.canvas, chart, style);
  return Block{height + 4.0 * setting.scale,
               [chart = std::move(chart), style, height, width = setting.width,
                words = setting.texts.chart_words](Canvas& canvas, Point at) {
                 drawing::draw_time_chart(canvas, chart, {at.x, at.y, width, height}, style, words);
               }};
}

drawing::TableStyle list_style(const Setting& setting, std::size_t rows) {
  drawing::TableStyle style = setting.table_style();
  if (rows > kManyRows) {
    style.row_space *= 0.5;
  }
  return style;
}

Section list_or_sentence(const Setting& setting, const std::string& heading,
                         const std::vector<Column>& columns, const Rows& rows, const char* none,
                         double width, const drawing::TableStyle& style) {
  if (!rows.empty()) {
    return drawing::table_section(setting.canvas, setting.heading(heading), columns, rows, width,
                                  style);
  }
  const TextStyle plain{style.text_size, Face::regular, Align::left, drawing::kInk};
  return drawing::titled_section(setting.canvas, setting.heading(heading), width,
                                 {drawing::paragraph(setting.canvas, none, plain, width, 0.0)});
}

Section excursions_list(const Setting& setting, double width, std::size_t longest) {
  const CertificateFacts& facts = setting.facts;
  const PagesTexts& texts = setting.texts;
  Rows rows;
  for (const readiness::Excursion& excursion : facts.excursions) {
    rows.push_back({{.text = std::to_string(rows.size() + 1), .bold = true},
                    {.text = moment_text(excursion.range.from)},
                    {.text = duration_text(excursion.range.to - excursion.range.from)},
                    {.text = texts.role_label(excursion.role)},
                    {.text = role_value_text(excursion.worst, excursion.role, setting.units)}});
  }
  const auto shown = static_cast<std::int64_t>(facts.excursions.size());
  const std::string heading =
      facts.excursions_total > shown
          ? filled(texts.excursions_of,
                   {std::to_string(shown), std::to_string(facts.excursions_total)})
          : texts.excursions_title;
  const std::vector<Column> columns{{texts.list_number, 0.6},
                                    {texts.list_from, 2.3},
                                    {texts.list_length, 1.6},
                                    {texts.list_channel, 2.9},
                                    {texts.list_worst, 1.3, Align::right}};
  return list_or_sentence(setting, heading, columns, rows, texts.excursions_none, width,
                          list_style(setting, longest));
}

Section unknown_time_list(const Setting& setting, double width, std::size_t longest) {
  const CertificateFacts& facts = setting.facts;
  const PagesTexts& texts = setting.texts;
  Rows rows;
  for (const base::TimeRange& range : facts.unknown_time) {
    rows.push_back(
        {{.text = moment_text(range.from)}, {.text = duration_text(range.to - range.from)}});
  }
  const auto shown = static_cast<std::int64_t>(facts.unknown_time.size());
  const std::string heading =
      facts.unknown_time_total > shown
          ? filled(texts.unknown_time_of,
                   {std::to_string(shown), std::to_string(facts.unknown_time_total)})
          : texts.unknown_time_title;
  const std::vector<Column> columns{{texts.list_from, 1.3}, {texts.list_length, 1.0}};
  return list_or_sentence(setting, heading, columns, rows, texts.unknown_time_none, width,
                          list_style(setting, longest));
}

std::string calibration_due_text(const Setting& setting, const InstrumentFacts& instrument) {
  const auto& due = instrument.channel.calibration_due_at;
  if (!due) {
    return setting.texts.calibration_unknown;
  }
  const std::string date = moment_text(*due).substr(0, 10);
  return *due < setting.facts.period.to ? filled(setting.texts.calibration_overdue, {date}) : date;
}

// Expanded, k = 2, over the time that counts.
std::string uncertainty_text(const Setting& setting, const InstrumentFacts& instrument) {
  const auto standard =
      readiness::standard_uncertainty_from(instrument.channel, setting.facts.delivered_at);
  if (!standard) {
    return setting.texts.none_given;
  }
  const double expanded = readiness::kCoverageFactor * *standard;
  const std::string_view unit = base::file_unit_of(instrument.channel.scale.role);
  return unit == "celsius"      ? delta_text(base::KelvinDelta{expanded}, setting.units)
         : unit == "percent_rh" ? rh_text(base::RelativeHumidity{expanded})
                                : setting.texts.none_given;
}

std::vector<Cell> instrument_row(const Setting& setting, const InstrumentFacts& instrument) {
  const auto& texts = setting.texts;
  std::string serials = setting.needed(instrument.box_serial);
  if (!instrument.sensor_serial.empty()) {
    serials += ", " + instrument.sensor_serial;
  }
  const auto optional = [&](const std::string& text) {
    return text.empty() ? std::string(texts.none_given) : text;
  };
  return {{.text = instrument.channel.channel_id},
          {.text = texts.role_label(instrument.channel.scale.role)},
          {.text = serials},
          {.text = optional(instrument.placement)},
          {.text = optional(instrument.calibration_reference)},
          {.text = calibration_due_text(setting, instrument)},
          {.text = uncertainty_text(setting, instrument)}};
}

}  // namespace

Section gates_section(const Setting& setting) {
  const auto& texts = setting.texts;
  const auto& gates = setting.facts.assessment.gates;
  const bool any_action = std::any_of(gates.begin(), gates.end(),
                                      [](const auto& gate) { return !gate.action.empty(); });
  Rows rows;
  for (const readiness::GateResult& gate : gates) {
    const bool met = gate.state == readiness::GateState::met;
    rows.push_back({{.text = word_of_state(texts, gate.state),
                     .symbol = symbol_of_state(gate.state),
                     .bold = !met},
                    {.text = texts.gate_label(gate.id), .bold = !met},
                    finding_cell(setting, gate)});
    if (any_action) {
      rows.back().push_back({.text = gate.action});
    }
  }
  std::vector<Column> columns{{texts.gate_state, any_action ? 1.2 : 1.0},
                              {texts.gate, any_action ? 2.3 : 2.4},
                              {texts.gate_reason, any_action ? 4.2 : 5.6}};
  if (any_action) {
    columns.push_back({texts.gate_action, 2.7});
  }
  Section section = drawing::table_section(setting.canvas, setting.heading(texts.gates_title),
                                           columns, rows, setting.width, setting.table_style());
  for (Block& block : notes_not_asked_for(setting)) {
    section.body.push_back(std::move(block));
  }
  if (setting.units == Units::imperial) {
    section.body.push_back(drawing::paragraph(setting.canvas, texts.gates_imperial_note,
                                              quiet(setting), setting.width, 0.0));
  }
  return spaced(setting, std::move(section));
}

Section charts_section(const Setting& setting) {
  std::vector<drawing::TimeChart> charts = charts_from(setting.facts, setting.units, setting.texts);
  std::vector<Block> body;
  for (std::size_t i = 0; i < charts.size(); ++i) {
    body.push_back(chart_block(setting, std::move(charts[i]), i + 1 == charts.size()));
  }
  const drawing::ChartStyle style{7.0 * setting.scale, true};
  body.push_back(Block{11.0 * setting.scale,
                       [style, words = setting.texts.chart_words](Canvas& canvas, Point at) {
                         drawing::draw_chart_key(canvas, at, style, words);
                       }});
  const std::string bucket = duration_text(setting.facts.chart.bucket);
  body.push_back(drawing::paragraph(setting.canvas, filled(setting.texts.charts_note, {bucket}),
                                    quiet(setting), setting.width, 0.0));
  Section section = drawing::titled_section(
      setting.canvas, setting.heading(setting.texts.charts_title), setting.width, std::move(body));
  section.whole = true;
  return spaced(setting, std::move(section));
}

Section incidents_section(const Setting& setting) {
  const double left = (setting.width - kColumnGap) * 0.64;
  const double right = setting.width - kColumnGap - left;
  const std::size_t longest =
      std::max(setting.facts.excursions.size(), setting.facts.unknown_time.size());
  Section section = drawing::beside(excursions_list(setting, left, longest),
                                    unknown_time_list(setting, right, longest), left + kColumnGap);
  section.whole = longest <= kManyRows;
  return spaced(setting, std::move(section));
}

Section lost_records_section(const Setting& setting) {
  const CertificateFacts& facts = setting.facts;
  const PagesTexts& texts = setting.texts;
  if (facts.lost_records.empty()) {
    Section section;
    const TextStyle style{setting.body_size(), Face::regular, Align::left, drawing::kInk};
    section.lead = drawing::paragraph(setting.canvas, texts.lost_none, style, setting.width, 0.0);
    section.space_before = setting.section_space() * 0.6;
    return section;
  }
  Rows rows;
  std::int64_t rest = 0;
  const auto count = [](const GapFacts& gap) { return gap.last_sequence - gap.first_sequence + 1; };
  for (const GapFacts& gap : facts.lost_records) {
    if (rows.size() >= kMostLostRanges) {
      rest += count(gap);
      continue;
    }
    rows.push_back(
        {{.text = gap.box_id + ", " + std::to_string(gap.boot)},
         {.text = std::to_string(gap.first_sequence) + "–" + std::to_string(gap.last_sequence)},
         {.text = std::to_string(count(gap))},
         {.text = gap.reason}});
  }
  const std::vector<Column> columns{{texts.lost_box, 1.4},
                                    {texts.lost_sequences, 1.5},
                                    {texts.lost_count, 0.9, Align::right},
                                    {texts.lost_reason, 1.3}};
  Section section =
      drawing::table_in_halves(setting.canvas, setting.heading(texts.lost_title), columns, rows,
                               setting.width, kColumnGap, setting.table_style());
  if (rest > 0) {
    section.body.push_back(drawing::paragraph(
        setting.canvas,
        filled(texts.lost_more,
               {std::to_string(facts.lost_records.size() - kMostLostRanges), std::to_string(rest)}),
        quiet(setting), setting.width, 0.0));
  }
  return spaced(setting, std::move(section));
}

Section instruments_section(const Setting& setting) {
  const auto& texts = setting.texts;
  Rows rows;
  for (const InstrumentFacts& instrument : setting.facts.instruments) {
    rows.push_back(instrument_row(setting, instrument));
  }
  const std::vector<Column> columns{
      {texts.instrument_channel, 1.1},     {texts.instrument_measures, 2.3},
      {texts.instrument_box, 1.7},         {texts.instrument_placement, 2.9},
      {texts.instrument_calibration, 2.0}, {texts.instrument_due, 1.2},
      {texts.instrument_uncertainty, 0.9}};
  drawing::TableStyle style = setting.table_style();
  style.text_size *= 0.92;
  Section section = list_or_sentence(setting, texts.instruments_title, columns, rows,
                                     texts.instruments_none, setting.width, style);
  section.whole = rows.size() <= kManyRows;
  return spaced(setting, std::move(section));
}

}  // namespace analysis::certificate
