// What every part of the pages is set with. Internal to the pages.
#pragma once

#include <string>

#include "analysis/certificate/facts.hpp"
#include "analysis/certificate/pages.hpp"
#include "analysis/certificate/pages/texts.hpp"
#include "analysis/drawing/canvas.hpp"
#include "analysis/drawing/qr_code.hpp"
#include "analysis/drawing/table.hpp"

namespace analysis::certificate {

// References outlive the setting of the pages.
struct Setting {
  const CertificateFacts& facts;
  const PagesTexts& texts;
  const drawing::Canvas& canvas;  // to measure with
  const drawing::QrMatrix& code;  // of the digest
  std::string digest_hex;
  Units units = Units::metric;
  double width = 0.0;         // of the content, points
  double scale = 1.0;         // of type and spaces; 1 = comfortable
  double plot_height = 60.0;  // of one chart

  [[nodiscard]] double body_size() const { return 8.0 * scale; }
  // White space gives way faster than type.
  [[nodiscard]] double air() const { return 2.0 * scale - 1.0; }
  [[nodiscard]] double label_width() const { return 60.0 * scale; }
  [[nodiscard]] double section_space() const { return 13.0 * air(); }
  [[nodiscard]] drawing::TableStyle table_style() const { return {body_size(), 2.3 * air(), 8.0}; }
  [[nodiscard]] drawing::Heading heading(const std::string& text) const {
    return {text, filled(texts.continued, {text}), 9.6 * scale};
  }
  // A text the certificate can't do without.
  [[nodiscard]] std::string needed(const std::string& text) const {
    return text.empty() ? texts.withheld : text;
  }
};

// The words and the sign of a verdict or of a gate's state.
[[nodiscard]] const char* verdict_word(const PagesTexts& texts, readiness::Verdict verdict);
[[nodiscard]] drawing::Symbol symbol_of(readiness::Verdict verdict);

}  // namespace analysis::certificate
