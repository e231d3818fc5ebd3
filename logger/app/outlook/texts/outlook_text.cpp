#include <algorithm>
#include <array>
#include <cctype>
#include <sstream>
#include <string_view>

#include "logger/app/outlook/texts/section_texts.hpp"
#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::base::minute_text_from_utc;

namespace {

constexpr std::size_t kLabelWidth = 11;
constexpr std::size_t kTextColumn = 2 + kLabelWidth;

// What wrapping must not part, held together by a blank that is none to it.
constexpr std::string_view kJoint = "\u00a0";

bool is_unit(std::string_view word) {
  static constexpr std::array<std::string_view, 20> kUnits{
      "%",  "%RH", "CM-%", "K",    "°C",  "°F",    "mm", "cm",  "m",   "in",
      "ft", "m2",  "h",    "days", "day", "years", "l",  "gal", "kPa", "kg/m2"};
  const auto end = word.find_last_not_of(".,;:)");
  word = word.substr(0, end == std::string_view::npos ? 0 : end + 1);
  return std::find(kUnits.begin(), kUnits.end(), word) != kUnits.end();
}
bool is_number(std::string_view word) {
  return !word.empty() && std::isdigit(static_cast<unsigned char>(word.back())) != 0;
}

// As wrapped(), but a number is never parted from its unit, nor "±" from its number.
std::string wrapped_with_units(const std::string& text, std::size_t indent) {
  std::istringstream words(text);
  std::string word, before, joined;
  while (words >> word) {
    const bool together = before == "±" || (is_number(before) && is_unit(word));
    joined += (joined.empty() ? "" : together ? std::string(kJoint) : " ") + word;
    before = word;
  }
  std::string result = wrapped(joined, indent);
  for (auto at = result.find(kJoint); at != std::string::npos; at = result.find(kJoint, at)) {
    result.replace(at, kJoint.size(), " ");
  }
  return result;
}

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
