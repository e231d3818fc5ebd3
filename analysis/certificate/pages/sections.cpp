#include "analysis/certificate/pages/sections.hpp"

#include <algorithm>
#include <utility>

#include "analysis/certificate/content/charts.hpp"

namespace analysis::certificate {
namespace {

using drawing::Align;
using drawing::Block;
using drawing::Canvas;
using drawing::Face;
using drawing::Point;
using drawing::Section;
using drawing::TextStyle;

// A list with more rows is set closer, and may be broken over a page end.
constexpr std::size_t kManyRows = 10;

Section spaced(const Setting& setting, Section section) {
  section.space_before = setting.section_space();
  return section;
}

TextStyle quiet(const Setting& setting) {
  return {setting.body_size() * 0.88, Face::regular, Align::left, drawing::kQuiet};
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

void add_notes(const Setting& setting, const TableContent& table, Section& section) {
  if (!table.notes.empty()) {
    section.body.push_back(Block{2.0 * setting.scale, {}});
  }
  for (const std::string& note : table.notes) {
    section.body.push_back(
        drawing::paragraph(setting.canvas, note, quiet(setting), setting.width, 1.0));
  }
}

// The table, or what stands in its place where it has no rows; its notes are left to the caller.
Section table_or_sentence(const Setting& setting, const TableContent& table, double width,
                          const drawing::TableStyle& style) {
  const drawing::Heading heading = setting.heading(table.heading);
  if (!table.rows.empty()) {
    return drawing::table_section(setting.canvas, heading, table.columns, table.rows, width, style);
  }
  const TextStyle plain{style.text_size, Face::regular, Align::left, drawing::kInk};
  return drawing::titled_section(
      setting.canvas, heading, width,
      {drawing::paragraph(setting.canvas, table.none, plain, width, 0.0)});
}

drawing::TableStyle small_style(const Setting& setting) {
  drawing::TableStyle style = setting.table_style();
  style.text_size *= 0.92;
  return style;
}

}  // namespace

Section gates_section(const Setting& setting) {
  const TableContent table = gates_content(setting);
  Section section =
      drawing::table_section(setting.canvas, setting.heading(table.heading), table.columns,
                             table.rows, setting.width, setting.table_style());
  add_notes(setting, table, section);
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
                         drawing::draw_chart_key(canvas, at, drawing::kNoWrap, style, words);
                       }});
  body.push_back(
      drawing::paragraph(setting.canvas, charts_note(setting), quiet(setting), setting.width, 0.0));
  Section section = drawing::titled_section(
      setting.canvas, setting.heading(setting.texts.charts_title), setting.width, std::move(body));
  section.whole = true;
  return spaced(setting, std::move(section));
}

Section incidents_section(const Setting& setting) {
  const double left = (setting.width - kColumnGap) * 0.64;
  const double right = setting.width - kColumnGap - left;
  const TableContent excursions = excursions_content(setting);
  const TableContent unknown_time = unknown_time_content(setting);
  const std::size_t longest = std::max(excursions.rows.size(), unknown_time.rows.size());
  const drawing::TableStyle style = list_style(setting, longest);
  Section section =
      drawing::beside(table_or_sentence(setting, excursions, left, style),
                      table_or_sentence(setting, unknown_time, right, style), left + kColumnGap);
  section.whole = longest <= kManyRows;
  return spaced(setting, std::move(section));
}

Section lost_records_section(const Setting& setting) {
  const TableContent table = lost_records_content(setting);
  if (table.rows.empty()) {
    Section section;
    const TextStyle style{setting.body_size(), Face::regular, Align::left, drawing::kInk};
    section.lead = drawing::paragraph(setting.canvas, table.none, style, setting.width, 0.0);
    section.space_before = setting.section_space() * 0.6;
    return section;
  }
  Section section =
      drawing::table_in_halves(setting.canvas, setting.heading(table.heading), table.columns,
                               table.rows, setting.width, kColumnGap, setting.table_style());
  add_notes(setting, table, section);
  return spaced(setting, std::move(section));
}

Section instruments_section(const Setting& setting) {
  const TableContent table = instruments_content(setting);
  Section section = table_or_sentence(setting, table, setting.width, small_style(setting));
  section.whole = table.rows.size() <= kManyRows;
  return spaced(setting, std::move(section));
}

std::optional<Section> site_notes_section(const Setting& setting) {
  const TableContent table = site_notes_content(setting);
  if (table.rows.empty() && table.notes.empty()) {
    return std::nullopt;
  }
  Section section;
  if (!table.rows.empty()) {
    section = table_or_sentence(setting, table, setting.width, small_style(setting));
  }
  add_notes(setting, table, section);
  return spaced(setting, std::move(section));
}

}  // namespace analysis::certificate
