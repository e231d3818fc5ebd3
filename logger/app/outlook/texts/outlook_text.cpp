#include "logger/app/outlook/texts/section_texts.hpp"
#include "logger/app/text/terminal_text.hpp"
#include "logger/app/text/unit_wrap.hpp"

namespace logger::app {

using analysis::base::minute_text_from_utc;

namespace {

constexpr std::size_t kLabelWidth = 11;
constexpr std::size_t kTextColumn = 2 + kLabelWidth;

void add_section(std::string& text, const OutlookSection& section) {
  text += '\n' + section.title + '\n';
  for (const OutlookLine& line : section.lines) {
    text +=
        "  " + padded(line.label, kLabelWidth) + wrapped_with_units(line.text, kTextColumn) + '\n';
  }
  if (!section.chart.empty()) {
    text += '\n' + section.chart;
  }
}

void add_room(std::string& text, const RoomOutlook& room, ShownUnits units) {
  text += '\n' +
          heading_text({room.room_name, room.room_id, room.floor_area_m2, room.floor_product},
                       units.imperial) +
          "\n  " +
          wrapped("Now: " + verdict_banner(room.assessment.verdict) +
                      " (`dwellog status` says why). What follows is an expectation for planning, "
                      "not a promise.",
                  2) +
          '\n';
  add_section(text, when_section(room));
  if (!room.when.delivery_ahead) {
    add_section(text, heat_section(room, units));
    add_section(text, moisture_section(room, units));
  }
  if (room.slab) {
    add_section(text, slab_section(room, units));
  }
  if (room.wood_subfloor) {
    add_section(text, wood_subfloor_section(room));
  }
  add_section(text, air_section(room, units));
  add_section(text, movement_section(room, units));
  add_section(text, uncertainty_section(room, units));
  text += "\nCautions\n";
  for (const std::string& caution : room.cautions) {
    text += "  - " + wrapped_with_units(caution, 4) + '\n';
  }
}

}  // namespace

void add_missing(OutlookSection& section, const std::vector<std::string>& missing) {
  for (std::size_t i = 0; i < missing.size(); ++i) {
    section.lines.push_back({i == 0 ? "Not known" : "", missing[i]});
  }
}

std::string text_from_outlook(const OutlookReport& report, bool imperial) {
  std::string text = simulated_line(report.simulated);
  text += wrapped(report.job_name, 0) + ", outlook at " + minute_text_from_utc(report.now) + '\n';
  for (const RoomOutlook& room : report.rooms) {
    add_room(text, room, {imperial});
  }
  return text;
}

}  // namespace logger::app
