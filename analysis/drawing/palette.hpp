// Colours of charts and pages. Chosen so that their greys differ too: every meaning is also carried
// by a shape, a pattern or a word.
#pragma once

#include <array>

namespace analysis::drawing {

// Each 0..1, sRGB.
struct Colour {
  double red = 0.0;
  double green = 0.0;
  double blue = 0.0;
  bool operator==(const Colour&) const = default;
};

inline constexpr Colour kInk{0.11, 0.13, 0.15};
inline constexpr Colour kQuiet{0.36, 0.39, 0.42};  // labels, second lines
inline constexpr Colour kRule{0.80, 0.82, 0.83};   // hairlines, grid
inline constexpr Colour kPaper{1.0, 1.0, 1.0};
inline constexpr Colour kWash{0.955, 0.96, 0.96};  // quiet panels
inline constexpr Colour kWatermark{0.915, 0.915, 0.915};
inline constexpr Colour kCurve{0.05, 0.27, 0.36};       // mean of what was measured
inline constexpr Colour kCurveRange{0.62, 0.74, 0.79};  // lowest to highest
inline constexpr Colour kAllowed{0.925, 0.955, 0.925};  // between the limits
inline constexpr Colour kContext{0.47, 0.50, 0.53};     // a second curve, for comparison
inline constexpr Colour kAlarm{0.62, 0.20, 0.07};       // out of limits, not met
inline constexpr Colour kMet{0.09, 0.36, 0.25};         // met, ready

// Names for forms in which the reader's device chooses between light and dark.
struct NamedColour {
  const char* name;
  Colour colour;
};
inline constexpr std::array<NamedColour, 12> kPalette{{{"ink", kInk},
                                                       {"quiet", kQuiet},
                                                       {"rule", kRule},
                                                       {"paper", kPaper},
                                                       {"wash", kWash},
                                                       {"watermark", kWatermark},
                                                       {"curve", kCurve},
                                                       {"range", kCurveRange},
                                                       {"allowed", kAllowed},
                                                       {"context", kContext},
                                                       {"alarm", kAlarm},
                                                       {"met", kMet}}};

}  // namespace analysis::drawing
