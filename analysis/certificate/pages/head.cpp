#include "analysis/certificate/pages/head.hpp"

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include "analysis/certificate/pages/values.hpp"
#include "analysis/drawing/axis.hpp"
#include "analysis/readiness/reason_texts.hpp"

namespace analysis::certificate {

using drawing::Align;
using drawing::Block;
using drawing::Canvas;
using drawing::Face;
using drawing::LabelledValue;
using drawing::Pen;
using drawing::Point;
using drawing::Section;
using drawing::TextStyle;

const char* verdict_word(const PagesTexts& texts, readiness::Verdict verdict) {
  switch (verdict) {
    case readiness::Verdict::ready:
      return texts.ready;
    case readiness::Verdict::not_ready:
      return texts.not_ready;
    case readiness::Verdict::cannot_tell:
      break;
  }
  return texts.cannot_tell;
}

drawing::Symbol symbol_of(readiness::Verdict verdict) {
  switch (verdict) {
    case readiness::Verdict::ready:
      return drawing::Symbol::disc_tick;
    case readiness::Verdict::not_ready:
      return drawing::Symbol::square_cross;
    case readiness::Verdict::cannot_tell:
      break;
  }
  return drawing::Symbol::diamond_query;
}

namespace {

std::string gate_counts(const Setting& setting) {
  const auto& assessment = setting.facts.assessment;
  const auto count = [&](readiness::GateState state) {
    return std::to_string(
        std::count_if(assessment.gates.begin(), assessment.gates.end(),
                      [&](const readiness::GateResult& gate) { return gate.state == state; }));
  };
  return filled(setting.texts.gate_counts,
                {moment_text(assessment.at), count(readiness::GateState::met),
                 count(readiness::GateState::not_met), count(readiness::GateState::unknown)});
}

// Only a "ready" can be wrongly one; empty otherwise.
std::string wrong_ready_text(const Setting& setting) {
  const auto& assessment = setting.facts.assessment;
  if (assessment.verdict != readiness::Verdict::ready) {
    return {};
  }
  return assessment.wrong_ready_probability
             ? filled(setting.texts.wrong_ready,
                      {readiness::text_from_upper_share(*assessment.wrong_ready_probability)})
             : setting.texts.wrong_ready_unknown;
}

const char* verdict_meaning(const PagesTexts& texts, readiness::Verdict verdict) {
  switch (verdict) {
    case readiness::Verdict::ready:
      return texts.ready_means;
    case readiness::Verdict::not_ready:
      return texts.not_ready_means;
    case readiness::Verdict::cannot_tell:
      break;
  }
  return texts.cannot_tell_means;
}

std::string moment_or(const std::optional<UtcMicros>& at, const char* otherwise) {
  return at ? moment_text(*at) : otherwise;
}

Block column_of(const Setting& setting, const char* title, std::vector<LabelledValue> values,
                double width) {
  const TextStyle style{setting.body_size() * 1.06, Face::bold, Align::left, drawing::kInk};
  return drawing::stacked(
      {drawing::paragraph(setting.canvas, title, style, width, 3.0 * setting.scale),
       drawing::labelled_values(setting.canvas, std::move(values), setting.label_width(), width,
                                setting.body_size())});
}

Block in_columns(std::vector<Block> columns, double step) {
  double height = 0.0;
  for (const Block& column : columns) {
    height = std::max(height, column.height);
  }
  return Block{height, [columns = std::move(columns), step](Canvas& canvas, Point at) {
                 for (const Block& column : columns) {
                   column.draw(canvas, at);
                   at.x += step;
                 }
               }};
}

// Rounded down: hours that are not complete must not read as complete.
std::string hours_number(double hours) {
  return drawing::number_text(std::max(0.0, std::floor(hours * 10.0 + 1e-6) / 10.0), 1);
}

std::string required_number(double hours) {
  const bool whole = std::abs(hours - std::round(hours)) < 1e-6;
  return drawing::number_text(hours, whole ? 0 : 1);
}

// The big number and its bar.
Block progress_block(const Setting& setting, double width) {
  const double done = setting.facts.assessment.dwell_done_hours;
  const double needed = base::hours_from(setting.facts.requirements.dwell.value);
  const TextStyle style{17.0 * setting.scale, Face::bold, Align::left, drawing::kInk};
  Block number = drawing::paragraph(
      setting.canvas,
      filled(setting.texts.hours_done, {hours_number(done), required_number(needed)}), style, width,
      3.0 * setting.scale);
  const double share = needed > 0.0 ? std::clamp(done / needed, 0.0, 1.0) : 1.0;
  const double bar_height = 9.0 * setting.scale;
  Block bar{bar_height, [=](Canvas& canvas, Point at) {
              canvas.fill_rect({at.x, at.y, width, bar_height}, drawing::kWash);
              canvas.fill_rect({at.x, at.y, width * share, bar_height}, drawing::kCurve);
              canvas.stroke_rect({at.x, at.y, width, bar_height},
                                 Pen{drawing::kInk, 0.8, drawing::Dash::solid});
              for (int quarter = 1; quarter < 4; ++quarter) {
                const double x = at.x + width * quarter / 4.0;
                canvas.line({x, at.y + bar_height}, {x, at.y + bar_height + 2.5},
                            Pen{drawing::kContext, 0.7, drawing::Dash::solid});
              }
            }};
  return drawing::stacked({std::move(number), std::move(bar)});
}

std::string run_range_text(const Setting& setting) {
  const readiness::DwellState& dwell = setting.facts.dwell;
  std::string text;
  if (dwell.run_temperature_min && dwell.run_temperature_max) {
    text = filled(setting.texts.range_of,
                  {temperature_text(*dwell.run_temperature_min, setting.units),
                   temperature_text(*dwell.run_temperature_max, setting.units)});
  }
  if (dwell.run_rh_min && dwell.run_rh_max) {
    text += text.empty() ? "" : "\n";
    text +=
        filled(setting.texts.range_of, {rh_text(*dwell.run_rh_min), rh_text(*dwell.run_rh_max)});
  }
  return text.empty() ? setting.texts.run_not_begun : text;
}

std::vector<LabelledValue> hours_left_values(const Setting& setting) {
  const auto& assessment = setting.facts.assessment;
  const auto& texts = setting.texts;
  std::vector<LabelledValue> values;
  if (assessment.dwell_left_hours <= 0.0) {
    values.push_back({texts.hours_left, texts.hours_none_left});
  } else {
    values.push_back(
        {texts.hours_left, duration_text(base::micros_from_hours(assessment.dwell_left_hours))});
    values.push_back(
        {texts.hours_expected_at,
         assessment.dwell_expected_at
             ? filled(texts.hours_expected_if, {moment_text(*assessment.dwell_expected_at)})
             : texts.hours_not_foreseeable});
  }
  if (assessment.dwell_done_at) {
    values.push_back({texts.hours_completed_at, moment_text(*assessment.dwell_done_at)});
  }
  values.push_back({texts.resets, std::to_string(setting.facts.dwell.resets)});
  return values;
}

std::vector<LabelledValue> run_values(const Setting& setting) {
  const auto& dwell = setting.facts.dwell;
  const auto& texts = setting.texts;
  return {{texts.run_began, moment_or(dwell.run_started_at, texts.run_not_begun)},
          {texts.run_range, run_range_text(setting)},
          {texts.whole_log,
           filled(texts.whole_log_shares, {hours_number(dwell.total_in_seconds / 3600.0),
                                           hours_number(dwell.total_out_seconds / 3600.0),
                                           hours_number(dwell.total_unknown_seconds / 3600.0)})},
          {texts.unknown_share, share_text(setting.facts.assessment.unknown_share)}};
}

}  // namespace

Section verdict_section(const Setting& setting) {
  const readiness::Verdict verdict = setting.facts.assessment.verdict;
  const drawing::Symbol symbol = symbol_of(verdict);
  const double sign = 58.0 * setting.scale;
  const double indent = sign + 16.0;
  const double width = setting.width - indent;
  const TextStyle word{34.0 * setting.scale, Face::bold, Align::left, drawing::colour_of(symbol)};
  const TextStyle meaning{10.0 * setting.scale, Face::regular, Align::left, drawing::kInk};
  const TextStyle counts{setting.body_size(), Face::regular, Align::left, drawing::kQuiet};
  std::vector<Block> lines{
      drawing::paragraph(setting.canvas, verdict_word(setting.texts, verdict), word, width, 0.0),
      drawing::paragraph(setting.canvas, verdict_meaning(setting.texts, verdict), meaning, width,
                         2.0),
      drawing::paragraph(setting.canvas, gate_counts(setting), counts, width, 0.0)};
  if (const std::string wrong = wrong_ready_text(setting); !wrong.empty()) {
    lines.push_back(drawing::paragraph(setting.canvas, wrong, counts, width, 0.0));
  }
  Block words = drawing::stacked(std::move(lines));
  const double height = std::max(words.height, sign);
  Section section;
  section.lead =
      Block{height, [=](Canvas& canvas, Point at) {
              drawing::draw_symbol(canvas, symbol, {at.x + sign / 2.0, at.y + height / 2.0}, sign);
              words.draw(canvas, {at.x + indent, at.y + (height - words.height) / 2.0});
            }};
  return section;
}

Section subject_section(const Setting& setting) {
  const CertificateFacts& facts = setting.facts;
  const PagesTexts& texts = setting.texts;
  const double gap = 14.0;
  const double width = (setting.width - 2.0 * gap) / 3.0;
  const std::string client = facts.parties.client.empty() ? texts.none_given : facts.parties.client;
  std::vector<Block> columns{
      column_of(
          setting, texts.what,
          {{texts.room, setting.needed(facts.room.room_name)},
           {texts.floor, setting.needed(facts.room.floor_product)},
           {texts.area, area_text(base::SquareMetres{facts.room.floor_area_m2}, setting.units)}},
          width),
      column_of(setting, texts.where,
                {{texts.job, setting.needed(facts.parties.job_name)},
                 {texts.site, setting.needed(facts.parties.site_address)},
                 {texts.installer, setting.needed(facts.parties.installer)},
                 {texts.client, client}},
                width),
      column_of(setting, texts.when,
                {{texts.period_from, moment_text(facts.period.from)},
                 {texts.period_to, moment_text(facts.period.to)},
                 {texts.delivered, moment_or(facts.delivered_at, texts.not_noted)},
                 {texts.slab_poured, moment_or(facts.slab_poured_at, texts.not_noted)},
                 {texts.issued, moment_text(facts.issued_at)}},
                width)};
  Section section;
  section.space_before = setting.section_space();
  section.lead = in_columns(std::move(columns), width + gap);
  return section;
}

Section hours_section(const Setting& setting) {
  const char* title = setting.facts.requirements.cumulative ? setting.texts.hours_title_cumulative
                                                            : setting.texts.hours_title;
  const double gap = 14.0;
  const double width = (setting.width - 2.0 * gap) / 3.0;
  std::vector<Block> columns{
      progress_block(setting, width),
      drawing::labelled_values(setting.canvas, hours_left_values(setting), setting.label_width(),
                               width, setting.body_size()),
      drawing::labelled_values(setting.canvas, run_values(setting), setting.label_width(), width,
                               setting.body_size())};
  Section section = drawing::titled_section(setting.canvas, setting.heading(title), setting.width,
                                            {in_columns(std::move(columns), width + gap)});
  section.space_before = setting.section_space();
  return section;
}

}  // namespace analysis::certificate
