// The certificate as one HTML file: no script, nothing fetched from elsewhere, the charts inside
// it. It shows what the pages (PDF) show, from the facts alone, and proves nothing by itself. Pure;
// any thread; the same input gives the same bytes.
#pragma once

#include <string>

#include "analysis/base/result.hpp"
#include "analysis/certificate/facts.hpp"
#include "analysis/certificate/pages.hpp"

namespace analysis::certificate {

// `options.paper` is left to the printing browser. Errors: font_missing (texts of the charts are
// measured), drawing_failed, bad_digest, bad_number.
[[nodiscard]] base::Result<std::string, PagesError> draw_certificate_html(
    const CertificateFacts& facts, const std::string& certificate_json_sha256_hex,
    const PageOptions& options, const PagesTexts& texts = english_texts());

}  // namespace analysis::certificate
