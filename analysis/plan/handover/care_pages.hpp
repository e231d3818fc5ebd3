// Papers for whoever lives on a floor, as pages to print: labelled sentences and a chart, one room
// after the other. Pure; any thread. The same document gives the same bytes under the same library
// and font versions. Nothing on it is signed: it proves nothing.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "analysis/drawing/canvas.hpp"
#include "analysis/drawing/time_chart.hpp"

namespace analysis::plan {

// A labelled paragraph; an empty label continues the one before.
struct CareLine {
  std::string label;
  std::string text;
};
struct CareSection {
  std::string title;
  std::vector<CareLine> lines;
  std::optional<drawing::TimeChart> chart;  // below the lines
};
// One room; begins on a page of its own.
struct CareSheet {
  std::string heading;
  std::string subject;  // below it: the floor and its size
  std::vector<CareSection> sections;
};
struct CareDocument {
  std::string title;
  std::string job;  // at the right of each page's head
  std::string foot;
  std::string creator;
  base::UtcMicros made_at;
  bool simulated = false;  // marked on every page
  std::vector<CareSheet> sheets;
};

// Two pages a sheet where the type may be set small enough for that, more otherwise; nothing is
// cut. too_tall where one paragraph is taller than a page.
[[nodiscard]] base::Result<std::string, drawing::DrawError> draw_care_pdf(
    const CareDocument& document, drawing::Size page);

}  // namespace analysis::plan
