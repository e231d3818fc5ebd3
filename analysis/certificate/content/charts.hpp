// The charts of a certificate from its facts. Internal to the pages.
#pragma once

#include <vector>

#include "analysis/certificate/content/texts.hpp"
#include "analysis/certificate/facts.hpp"
#include "analysis/certificate/pages.hpp"
#include "analysis/drawing/time_chart.hpp"

namespace analysis::certificate {

// In order: room air temperature and humidity, stack core (with the room air for comparison), slab
// humidity at depth, slab surface temperature; those of which there is a series. Values in the
// units asked for. Excursions carry the number of their row in facts.excursions, from 1.
[[nodiscard]] std::vector<drawing::TimeChart> charts_from(const CertificateFacts& facts,
                                                          Units units, const PagesTexts& texts);

// bad_digest where it is none; bad_number where a bucket or a limit is not finite or beyond +-1e6.
[[nodiscard]] base::Result<void, PagesError> check_drawable(const CertificateFacts& facts,
                                                            std::string_view digest_hex);
[[nodiscard]] PagesError pages_error_from(drawing::DrawError error);

}  // namespace analysis::certificate
