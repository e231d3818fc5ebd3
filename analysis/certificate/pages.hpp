// The certificate as pages to print: PDF drawn from the facts alone. Pure; any thread. The same
// facts, digest and options give the same bytes under the same library and font versions. It shows
// a certificate and proves nothing by itself: what is signed is the JSON whose digest it carries.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

#include "analysis/base/result.hpp"
#include "analysis/certificate/facts.hpp"

namespace analysis::certificate {

enum class Paper : std::uint8_t { a4, letter };
enum class Units : std::uint8_t { metric, imperial };
struct PageOptions {
  Paper paper = Paper::a4;
  Units units = Units::metric;      // gate findings stay as they were signed, metric
  std::size_t redacted_fields = 0;  // that were taken out of the copy that is shown
};

// The words on the pages: content/texts.hpp.
struct PagesTexts;
[[nodiscard]] const PagesTexts& english_texts();

enum class PagesError : std::uint8_t {
  font_missing = 1,
  drawing_failed = 2,
  text_too_long = 3,  // one gate's or instrument's text is taller than a page
  bad_digest = 4,     // not 64 lower-case hex digits
  bad_number = 5,     // a value that is not finite or beyond +-1e6 in its file unit
};
// One line for people: what, and what to do.
[[nodiscard]] std::string_view text_of(PagesError error);

// One to three pages for all but absurd facts: the type is set smaller, within bounds, before a
// page is added; what does not fit goes on the next page, nothing is cut. Empty texts that a
// certificate needs print as "(withheld)". Simulated facts are marked on every page, always.
[[nodiscard]] base::Result<std::string, PagesError> draw_certificate_pdf(
    const CertificateFacts& facts, const std::string& certificate_json_sha256_hex,
    const PageOptions& options, const PagesTexts& texts = english_texts());

}  // namespace analysis::certificate
