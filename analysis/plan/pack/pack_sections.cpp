#include "analysis/plan/pack/pack_sections.hpp"

#include <algorithm>
#include <utility>

#include "analysis/plan/layout/cut_list.hpp"
#include "analysis/plan/room/length_text.hpp"
#include "analysis/plan/sheet/plan_drawing.hpp"
#include "analysis/plan/sheet/room_frame.hpp"

namespace analysis::plan {
namespace {

using drawing::Align;
using drawing::Block;
using drawing::Canvas;
using drawing::Cell;
using drawing::Column;
using drawing::Face;
using drawing::Point;
using drawing::Section;
using drawing::Size;
using drawing::TextStyle;

constexpr double kBody = 8.5;  // points
constexpr double kLabelWidth = 62.0;
constexpr double kSectionSpace = 14.0;
constexpr double kSignSpace = 7.0;          // above and below a row that is signed by hand
constexpr double kRowsShare = 0.66;         // of a page's height that the drawing of the rows takes
constexpr double kSiteShare = 0.45;         // likewise of stacks and test places
constexpr const char* kOpenBox = "\u2610";  // a box to tick
constexpr const char* kTickedBox = "\u2611";  // ticked
constexpr const char* kSignLine = "____________________________";

drawing::Heading heading(const std::string& text, double size = 11.0) {
  return {text, text + ", continued", size};
}

drawing::TableStyle table_style(double row_space = 2.8) { return {kBody, row_space, 8.0}; }

Section spaced_section(Section section) {
  section.space_before = kSectionSpace;
  return section;
}

Block text_block(const PackSetting& setting, std::string text) {
  const TextStyle style{kBody, Face::regular, Align::left, drawing::kInk};
  return drawing::paragraph(setting.canvas, std::move(text), style, setting.width, 2.0);
}

void add_words(const PackSetting& setting, const std::vector<drawing::LabelledValue>& words,
               std::vector<Block>& body) {
  for (const drawing::LabelledValue& each : words) {
    body.push_back(
        drawing::labelled_values(setting.canvas, {each}, kLabelWidth, setting.width, kBody));
  }
}

// A drawing of the room in the middle of the width, at the largest scale that leaves `share` of the
// page's height.
template <class Draw>
Block room_block(const PackSetting& setting, const Region& room, double share, Draw draw) {
  const int scale = frame_scale_for(room, {setting.width, setting.height * share});
  const Size size = frame_size(room, scale);
  const double indent = std::max(0.0, (setting.width - size.width) / 2.0);
  return Block{size.height, [=](Canvas& canvas, Point at) {
                 draw(canvas, Point{at.x + indent, at.y}, scale);
               }};
}

Section rows_section(const PackSetting& setting, const PackRoom& room) {
  const bool imperial = setting.imperial;
  std::vector<Block> body{room_block(
      setting, room.plan->room, kRowsShare, [&room, imperial](Canvas& canvas, Point at, int scale) {
        draw_plan(canvas, at, {*room.plan, *room.request, scale, imperial});
      })};
  for (std::string& line : plan_legend({*room.plan, *room.request, 1, imperial})) {
    body.push_back(text_block(setting, std::move(line)));
  }
  body.push_back(Block{6.0, {}});
  add_words(setting, room.laying, body);
  return drawing::titled_section(setting.canvas, heading(room.heading, 13.0), setting.width,
                                 std::move(body));
}

Section cut_section(const PackSetting& setting, const PackRoom& room, std::size_t part) {
  const std::string name = part_name(*room.plan, part);
  const auto list = cut_list_from(room.plan->parts[part].layout,
                                  {room.plan->floor, room.request->panel, room.request->rules});
  std::vector<std::vector<Cell>> rows;
  for (const CutRow& row : list) {
    rows.push_back({{kOpenBox},
                    {name + std::to_string(row.row), "", std::nullopt, true},
                    {rip_text_from(row, setting.imperial)},
                    {pieces_text_from(row, setting.imperial)}});
  }
  const std::string title = name.empty() ? "Cut list" : "Cut list, part " + name;
  return spaced_section(drawing::table_section(
      setting.canvas, heading(title),
      {{"laid", 0.5}, {"row", 0.6}, {"rip to", 2.6}, {"pieces from left to right", 6.5}}, rows,
      setting.width, table_style(2.0)));
}

// Either the stacks and what they leave free, or the places of tests.
SiteSheet site_sheet(const PackRoom& room, bool stacks, int scale, bool imperial) {
  SiteSheet sheet{*room.plan, *room.request, {}, {}, {}, {}, scale, imperial};
  if (stacks) {
    sheet.stacks = room.stacks;
    sheet.clear = room.clear;
    sheet.heaters = room.heaters;
  } else {
    sheet.places = room.test_places;
  }
  return sheet;
}

Section site_section(const PackSetting& setting, const PackRoom& room, bool stacks) {
  std::vector<Block> body;
  if (stacks ? !room.stacks.empty() : !room.test_places.empty()) {
    const bool imperial = setting.imperial;
    body.push_back(room_block(setting, room.plan->room, kSiteShare,
                              [&room, imperial, stacks](Canvas& canvas, Point at, int scale) {
                                draw_site(canvas, at, site_sheet(room, stacks, scale, imperial));
                              }));
    for (std::string& line : site_legend(site_sheet(room, stacks, 1, imperial))) {
      body.push_back(text_block(setting, std::move(line)));
    }
  }
  add_words(setting, stacks ? room.stacking : room.tests, body);
  Section section = drawing::titled_section(
      setting.canvas, heading(stacks ? "Cartons in the room" : "Where to test the slab"),
      setting.width, std::move(body));
  section.whole = true;
  return spaced_section(std::move(section));
}

Section gates_section(const PackSetting& setting, const PackRoom& room) {
  std::vector<std::vector<Cell>> rows;
  for (const PackGate& gate : room.gates) {
    rows.push_back({{gate.met ? kTickedBox : kOpenBox}, {gate.question, gate.noted}, {kSignLine}});
  }
  Section section = drawing::table_section(
      setting.canvas, heading("To be looked at before laying"),
      {{"yes", 0.4}, {"question, and what was noted", 6.2}, {"name, date, signature", 3.6}}, rows,
      setting.width, table_style(kSignSpace));
  section.whole = true;
  return spaced_section(std::move(section));
}

}  // namespace

std::vector<Section> job_sections(const PackSetting& setting, const JobPack& pack) {
  std::vector<Section> sections;
  std::vector<Block> facts;
  add_words(setting, pack.facts, facts);
  sections.push_back(drawing::titled_section(setting.canvas, heading(pack.job, 16.0), setting.width,
                                             std::move(facts)));
  std::vector<std::vector<Cell>> steps;
  for (const PackStep& step : pack.steps) {
    steps.push_back({{kOpenBox}, {step.when, "", std::nullopt, true}, {step.room}, {step.what}});
  }
  sections.push_back(spaced_section(
      drawing::table_section(setting.canvas, heading("What to do when"),
                             {{"done", 0.5}, {"when", 2.0}, {"room", 2.0}, {"what", 6.0}}, steps,
                             setting.width, table_style(4.0))));
  std::vector<Block> cautions;
  for (const std::string& caution : pack.cautions) {
    cautions.push_back(text_block(setting, "\u2022 " + caution));
  }
  sections.push_back(spaced_section(drawing::titled_section(setting.canvas, heading("Cautions"),
                                                            setting.width, std::move(cautions))));
  return sections;
}

std::vector<Section> order_sections(const PackSetting& setting, const OrderList& order) {
  std::vector<std::vector<Cell>> rows;
  for (const OrderLine& line : order.lines) {
    rows.push_back({{kOpenBox},
                    {quantity_text(line), "", std::nullopt, true},
                    {line.item, line.reckoning},
                    {price_text(line, order.currency), unit_price_text(line)}});
  }
  Section section =
      drawing::table_section(setting.canvas, heading("Order", 13.0),
                             {{"there", 0.6},
                              {"quantity", 1.3},
                              {"what, and how reckoned", 6.5},
                              {order.currency.empty() ? "" : "price", 2.4, Align::right}},
                             rows, setting.width, table_style(4.0));
  if (const std::string total = total_text(order); !total.empty()) {
    section.body.push_back(Block{4.0, {}});
    section.body.push_back(drawing::labelled_values(setting.canvas, {{"Total", total}}, kLabelWidth,
                                                    setting.width, kBody));
  }
  return {section};
}

std::vector<Section> room_sections(const PackSetting& setting, const PackRoom& room) {
  std::vector<Section> sections{rows_section(setting, room)};
  for (std::size_t part = 0; part < room.plan->parts.size(); ++part) {
    sections.push_back(cut_section(setting, room, part));
  }
  sections.push_back(site_section(setting, room, true));
  if (!room.tests.empty()) {
    sections.push_back(site_section(setting, room, false));
  }
  if (!room.gates.empty()) {
    sections.push_back(gates_section(setting, room));
  }
  return sections;
}

}  // namespace analysis::plan
