// What every part of the pages is set with. Internal to the pages.
#pragma once

#include <string>

#include "analysis/certificate/content/content.hpp"
#include "analysis/drawing/canvas.hpp"
#include "analysis/drawing/qr_code.hpp"
#include "analysis/drawing/table.hpp"

namespace analysis::certificate {

inline constexpr double kColumnGap = 16.0;  // between two tables beside each other

// References outlive the setting of the pages.
struct Setting : ContentSource {
  const drawing::Canvas& canvas;  // to measure with
  const drawing::QrMatrix& code;  // of the digest
  double width = 0.0;             // of the content, points
  double scale = 1.0;             // of type and spaces; 1 = comfortable
  double plot_height = 60.0;      // of one chart

  [[nodiscard]] double body_size() const { return 8.0 * scale; }
  // White space gives way faster than type.
  [[nodiscard]] double air() const { return 2.0 * scale - 1.0; }
  [[nodiscard]] double label_width() const { return 60.0 * scale; }
  [[nodiscard]] double section_space() const { return 13.0 * air(); }
  [[nodiscard]] drawing::TableStyle table_style() const { return {body_size(), 2.3 * air(), 8.0}; }
  [[nodiscard]] drawing::Heading heading(const std::string& text) const {
    return {text, filled(texts.continued, {text}), 9.6 * scale};
  }
};

}  // namespace analysis::certificate
