#include "analysis/certificate/pages/head.hpp"

#include <algorithm>
#include <utility>
#include <vector>

namespace analysis::certificate {

using drawing::Align;
using drawing::Block;
using drawing::Canvas;
using drawing::Face;
using drawing::Pen;
using drawing::Point;
using drawing::Section;
using drawing::TextStyle;

namespace {

constexpr double kHeadColumnGap = 14.0;

double column_width(const Setting& setting) { return (setting.width - 2.0 * kHeadColumnGap) / 3.0; }

Block values_block(const Setting& setting, std::vector<drawing::LabelledValue> values) {
  return drawing::labelled_values(setting.canvas, std::move(values), setting.label_width(),
                                  column_width(setting), setting.body_size());
}

Block column_of(const Setting& setting, LabelledList list) {
  const TextStyle style{setting.body_size() * 1.06, Face::bold, Align::left, drawing::kInk};
  return drawing::stacked({drawing::paragraph(setting.canvas, std::move(list.title), style,
                                              column_width(setting), 3.0 * setting.scale),
                           values_block(setting, std::move(list.values))});
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

// The big number and its bar.
Block progress_block(const Setting& setting, const HoursContent& hours) {
  const double width = column_width(setting);
  const double share = hours.share_done;
  const TextStyle style{17.0 * setting.scale, Face::bold, Align::left, drawing::kInk};
  Block number = drawing::paragraph(setting.canvas, hours.done, style, width, 3.0 * setting.scale);
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

}  // namespace

std::optional<Section> notices_section(const Setting& setting) {
  const TextStyle style{setting.body_size(), Face::bold, Align::left, drawing::kInk};
  std::vector<Block> lines;
  for (std::string& notice : notices_content(setting)) {
    lines.push_back(
        drawing::paragraph(setting.canvas, std::move(notice), style, setting.width, 2.0));
  }
  if (lines.empty()) {
    return std::nullopt;
  }
  Section section;
  section.lead = drawing::stacked(std::move(lines));
  return section;
}

Section verdict_section(const Setting& setting) {
  const VerdictContent verdict = verdict_content(setting);
  const drawing::Symbol symbol = verdict.symbol;
  const double sign = 58.0 * setting.scale;
  const double indent = sign + 16.0;
  const double width = setting.width - indent;
  // A longer verdict is set smaller, so that it stays on one line.
  constexpr std::size_t kLongWord = 11;
  const double word_size = verdict.word.size() > kLongWord ? 26.0 : 34.0;
  const TextStyle word{word_size * setting.scale, Face::bold, Align::left,
                       drawing::colour_of(symbol)};
  const TextStyle meaning{10.0 * setting.scale, Face::regular, Align::left, drawing::kInk};
  const TextStyle details{setting.body_size(), Face::regular, Align::left, drawing::kQuiet};
  std::vector<Block> lines{
      drawing::paragraph(setting.canvas, verdict.word, word, width, 0.0),
      drawing::paragraph(setting.canvas, verdict.meaning, meaning, width, 2.0)};
  for (const std::string& detail : verdict.details) {
    lines.push_back(drawing::paragraph(setting.canvas, detail, details, width, 0.0));
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
  std::vector<Block> columns;
  for (LabelledList& list : subject_content(setting)) {
    columns.push_back(column_of(setting, std::move(list)));
  }
  Section section;
  section.space_before = setting.section_space();
  section.lead = in_columns(std::move(columns), column_width(setting) + kHeadColumnGap);
  return section;
}

Section hours_section(const Setting& setting) {
  HoursContent hours = hours_content(setting);
  std::vector<Block> columns{progress_block(setting, hours),
                             values_block(setting, std::move(hours.left)),
                             values_block(setting, std::move(hours.run))};
  Section section = drawing::titled_section(
      setting.canvas, setting.heading(hours.heading), setting.width,
      {in_columns(std::move(columns), column_width(setting) + kHeadColumnGap)});
  section.space_before = setting.section_space();
  return section;
}

}  // namespace analysis::certificate
