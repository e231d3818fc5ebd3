// Lengths as people write them on a site: metric, or feet and inches with fractions. Pure.
#pragma once

#include <string>
#include <string_view>

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"

namespace analysis::plan {

using base::Metres;

// International yard and pound agreement of 1959.
inline constexpr double kMetresPerFoot = 0.3048;
inline constexpr double kMetresPerInch = 0.0254;

// "4.2", "4.2 m", "420 cm", "4200 mm", "12' 6 1/2\"", "12 ft 6 1/2 in", "6 1/2 in", "12'"; a bare
// number is metres. Error: one clause for people, what is wrong and what was expected.
[[nodiscard]] base::Result<Metres, std::string> length_from_text(std::string_view text);

// "3.81 m" to the millimetre, or "12' 6\"" rounded to a sixteenth of an inch.
[[nodiscard]] std::string metric_text_from(Metres length);
[[nodiscard]] std::string imperial_text_from(Metres length);
[[nodiscard]] std::string length_text_from(Metres length, bool imperial);  // one of the two
// As it is marked for the saw: "62.4 cm" to the millimetre, or feet and inches as above.
[[nodiscard]] std::string sawn_text_from(Metres length, bool imperial);
// As a gap is left: "9.5 mm" or "10 mm"; in inches rounded up to a sixteenth, never too narrow.
[[nodiscard]] std::string gap_text_from(Metres gap, bool imperial);

// The text with what belongs to one length in feet, inches and fractions ("1' 5 11/16\"") held
// together by no-break spaces, for whoever breaks it into lines.
[[nodiscard]] std::string lengths_held_in(std::string_view text);

}  // namespace analysis::plan
