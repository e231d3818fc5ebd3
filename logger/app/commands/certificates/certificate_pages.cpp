#include "logger/app/commands/certificates/certificate_pages.hpp"

#include "analysis/certificate/html/html_page.hpp"

namespace logger::app {

using store::ErrorCode;
using store::failure;

store::Result<DrawnPages> draw_pages(const analysis::certificate::ReadCertificate& certificate,
                                     const analysis::certificate::PageOptions& options) {
  auto shown = options;
  shown.redacted_fields = certificate.redacted.size();
  auto pdf =
      analysis::certificate::draw_certificate_pdf(certificate.facts, certificate.sha256_hex, shown);
  auto html = analysis::certificate::draw_certificate_html(certificate.facts,
                                                           certificate.sha256_hex, shown);
  if (!pdf || !html) {
    return failure(ErrorCode::unavailable,
                   "no pages: " + std::string(text_of(!pdf ? pdf.error() : html.error())));
  }
  return DrawnPages{std::move(pdf).value(), std::move(html).value()};
}

analysis::certificate::PageOptions page_options_from(bool letter, bool imperial) {
  return {letter ? analysis::certificate::Paper::letter : analysis::certificate::Paper::a4,
          imperial ? analysis::certificate::Units::imperial : analysis::certificate::Units::metric};
}

}  // namespace logger::app
