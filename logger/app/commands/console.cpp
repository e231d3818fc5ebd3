// What the commands share: errors, versions, moments.
#include <ostream>
#include <sstream>

#include "analysis/drawing/canvas.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/verify/verify_files.hpp"

namespace logger::app {

int report(const Console& console, const store::Error& error) {
  std::istringstream lines(error.context);
  std::string line;
  while (std::getline(lines, line)) {
    console.err << "dwellog: " << line << '\n';
  }
  return exit_status_of(error);
}

std::string software_text() {
  const auto drawing = analysis::drawing::drawing_versions();
  return verify::rules_text() + ", " +
         (drawing ? drawing.value() : std::string(text_of(drawing.error())));
}

store::Result<std::optional<analysis::base::UtcMicros>> moment_from_option(
    const std::string& option, const std::string& text) {
  if (text.empty()) {
    return std::optional<analysis::base::UtcMicros>{};
  }
  const auto at = analysis::base::utc_from_rfc3339(text);
  if (!at) {
    return store::failure(store::ErrorCode::invalid_input,
                          option + " `" + text + "`; expected a time as 2026-03-02T07:00:00Z");
  }
  return at;
}

}  // namespace logger::app
