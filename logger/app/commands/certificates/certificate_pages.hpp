// The pages of a certificate as files: PDF and HTML from what was signed.
#pragma once

#include <string>

#include "analysis/certificate/certificate_json.hpp"
#include "analysis/certificate/pages.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

struct DrawnPages {
  std::string pdf;
  std::string html;
};

// unavailable, with what to do, where they can't be drawn.
[[nodiscard]] store::Result<DrawnPages> draw_pages(
    const analysis::certificate::ReadCertificate& certificate,
    const analysis::certificate::PageOptions& options);

[[nodiscard]] analysis::certificate::PageOptions page_options_from(bool letter, bool imperial);

}  // namespace logger::app
