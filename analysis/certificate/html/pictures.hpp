// The pictures of the HTML form: signs, charts, the code. Internal to it.
#pragma once

#include <string>

#include "analysis/base/result.hpp"
#include "analysis/certificate/content/content.hpp"
#include "analysis/drawing/canvas.hpp"
#include "analysis/drawing/symbols.hpp"

namespace analysis::certificate {

using Markup = base::Result<std::string, drawing::DrawError>;

[[nodiscard]] Markup symbol_markup(drawing::Symbol symbol);
// All charts as figures that a screen reader is told about, with the signs explained below.
[[nodiscard]] Markup charts_markup(const ContentSource& source);
// The digest as a QR code.
[[nodiscard]] Markup code_markup(const ContentSource& source);

}  // namespace analysis::certificate
