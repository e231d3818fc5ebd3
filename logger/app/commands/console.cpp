// What the commands share: errors, versions, moments.
#include <sodium.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <ostream>
#include <sstream>

#include "analysis/drawing/canvas.hpp"
#include "analysis/drawing/visible_text.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/verify/verify_files.hpp"

namespace logger::app {

using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

bool is_utf8(const std::string& text) {
  try {
    return !nlohmann::json(text).dump().empty();
  } catch (const nlohmann::json::exception&) {
    return false;
  }
}

}  // namespace

int report(const Console& console, const store::Error& error) {
  std::istringstream lines(error.context);
  std::string line;
  while (std::getline(lines, line)) {
    console.err << "dwellog: " << analysis::drawing::visible_text(line) << '\n';
  }
  return exit_status_of(error);
}

int refuse(const Console& console, std::string text) {
  return report(console, {store::ErrorCode::invalid_input, std::move(text), 0});
}

std::string software_text() {
  const auto drawing = analysis::drawing::drawing_versions();
  return verify::rules_text() + ", " +
         (drawing ? drawing.value() : std::string(text_of(drawing.error()))) + ", libsodium " +
         sodium_version_string();
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

Result<void> check_text(const char* option, const std::string& text, std::size_t shortest,
                        std::size_t longest) {
  const bool one_line = text.find_first_of("\n\t") == std::string::npos;
  if (is_utf8(text) && one_line && analysis::drawing::visible_text(text) == text &&
      text.size() >= shortest && text.size() <= longest) {
    return {};
  }
  return failure(
      ErrorCode::invalid_input,
      std::string(option) + ": expected " + std::to_string(shortest) + " to " +
          std::to_string(longest) +
          " bytes of UTF-8 on one line, without characters that control or turn round the "
          "text");
}

}  // namespace logger::app
