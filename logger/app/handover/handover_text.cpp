#include <algorithm>

#include "logger/app/charts/course_curve.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/handover/care_sections.hpp"
#include "logger/app/job/job_file.hpp"
#include "logger/app/plan/plan_words.hpp"
#include "logger/app/text/terminal_chart.hpp"
#include "logger/app/text/terminal_text.hpp"
#include "logger/app/text/unit_wrap.hpp"

namespace logger::app {

using analysis::plan::CareDocument;
using analysis::plan::CareSection;
using analysis::plan::CareSheet;

namespace {

constexpr std::size_t kCareLabel = 15;

// The buckets of the pages' chart, joined or stretched to the columns of a terminal.
TerminalChart terminal_chart_from(const analysis::drawing::TimeChart& chart) {
  const auto& buckets = chart.lines.front().buckets;
  TerminalLine mean{"mean", "●", {}};
  TerminalLine low{"at least " + fixed(*chart.limit_low, chart.limit_decimals), "─", {}};
  TerminalBand band{"lowest to highest", {}};
  BucketMeans columns;
  for (std::size_t c = 0; c < kChartColumns; ++c) {
    const std::size_t begin = c * buckets.size() / kChartColumns;
    const std::size_t end = std::max(begin + 1, (c + 1) * buckets.size() / kChartColumns);
    for (std::size_t i = begin; i < end; ++i) {
      if (const auto& bucket = buckets[i]) {
        columns.add(c, {bucket->low, bucket->mean, bucket->high}, kChartColumns);
      }
    }
  }
  for (const auto& column : columns.take()) {
    mean.columns.push_back(column ? std::optional(column->mean) : std::nullopt);
    band.columns.push_back(column ? std::optional(std::pair(column->low, column->high))
                                  : std::nullopt);
    low.columns.push_back(chart.limit_low);
  }
  const auto span = span_of(chart);
  return {chart.unit,
          1.0,
          span,
          {std::move(mean), std::move(low)},
          std::move(band),
          TerminalLimit{"at most " + fixed(*chart.limit_high, chart.limit_decimals),
                        *chart.limit_high}};
}

void add_care_section(std::string& text, const CareSection& section) {
  text += '\n' + section.title + '\n';
  for (const auto& line : section.lines) {
    text += "  " + padded(line.label, kCareLabel) + wrapped_with_units(line.text, 2 + kCareLabel) +
            '\n';
  }
  if (section.chart) {
    text += '\n' + text_from_chart(terminal_chart_from(*section.chart));
  }
}

// "Mill Lane 12; 29.9 m²"; what is not known is left out.
std::string subject_text(const HandoverReport& report, const RoomHandover& room, bool imperial) {
  std::string text = report.site_address == kTemplateAddress ? "" : report.site_address;
  if (room.floor_area_m2 > 0.0) {
    text += (text.empty() ? "" : "; ") +
            plan_area_text(analysis::base::SquareMetres{room.floor_area_m2}, imperial);
  }
  return text;
}

// For the installer; it stands on no page.
std::string mending_text(const RoomHandover& room) {
  std::string text;
  for (const HandoverLack& lack : room.missing) {
    text += "  " + padded(text.empty() ? "To mend it" : "", kCareLabel) +
            wrapped(lack.mend, 2 + kCareLabel) + '\n';
  }
  return text.empty() ? text : "\nFor the installer, on no page\n" + text;
}

}  // namespace

CareDocument care_document_from(const HandoverReport& report, bool imperial) {
  const ShownUnits units{imperial};
  CareDocument document;
  document.title = "Your floor: care and record";
  document.job = report.job_name;
  document.foot = "Made " + analysis::base::minute_text_from_utc(report.now) +
                  ". The floor maker's instructions come first. This paper is not signed.";
  document.creator = software_text();
  document.made_at = report.now;
  document.simulated = report.simulated;
  for (const RoomHandover& room : report.rooms) {
    CareSheet sheet{room.room_name, subject_text(report, room, imperial), {}};
    sheet.sections.push_back(laid_section(room, units));
    sheet.sections.push_back(climate_section(room, units));
    sheet.sections.push_back(care_section(room));
    sheet.sections.push_back(watch_section(report, room));
    if (room.service) {
      sheet.sections.push_back(service_section(room, units));
    }
    document.sheets.push_back(std::move(sheet));
  }
  return document;
}

std::string text_from_handover(const HandoverReport& report, bool imperial) {
  const CareDocument document = care_document_from(report, imperial);
  std::string text =
      simulated_line(report.simulated) + wrapped(document.job, 0) + ", " + document.title + '\n';
  for (std::size_t i = 0; i < document.sheets.size(); ++i) {
    const RoomHandover& room = report.rooms[i];
    text +=
        '\n' + heading_text({room.room_name, room.room_id, room.floor_area_m2, room.floor_product},
                            imperial);
    for (const CareSection& section : document.sheets[i].sections) {
      add_care_section(text, section);
    }
    text += mending_text(room);
  }
  return text + '\n' + wrapped(document.foot, 0) + '\n';
}

}  // namespace logger::app
