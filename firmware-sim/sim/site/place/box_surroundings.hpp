// What the probes of one box find, wherever it is taken and whoever breathes on it. One object per
// box; a pure function of the truth and of what happened to the box. One thread.
//
// The air probe has mass: after a move its temperature closes on that of the new place with a time
// constant, while the vapour around it is that of the new place at once, so a cold box carried into
// a warm room reads damp. All probes of the box go with it: away from the room they hang in the
// air.
#pragma once

#include <optional>

#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"
#include "firmware-sim/sim/site/place/box_place.hpp"
#include "firmware-sim/sim/site/site_truth.hpp"

namespace firmware::sim::site {

class BoxSurroundings {
 public:
  // REQUIRES (all calls): site.advance_to(at) was the last one.
  void move_to(BoxPlace place, const SiteTruth& site, analysis::base::UtcMicros at);
  // Someone breathes on the air probe: air of 34 deg C, nearly saturated, gone after two minutes.
  void breathe_on(analysis::base::UtcMicros at) { breath_at_ = at; }
  [[nodiscard]] SiteState seen(const SiteTruth& site, analysis::base::UtcMicros at) const;
  [[nodiscard]] BoxPlace place() const { return place_; }

 private:
  // How far each temperature probe was from the place it came to.
  struct Carried {
    analysis::base::UtcMicros at;
    analysis::base::KelvinDelta air;
    analysis::base::KelvinDelta core;
    analysis::base::KelvinDelta slab_surface;
  };

  BoxPlace place_ = BoxPlace::room;
  std::optional<Carried> carried_;
  std::optional<analysis::base::UtcMicros> breath_at_;
};

// The air probe's part of `state`, `since` after a breath reached it; unchanged before that.
[[nodiscard]] SiteState with_breath(const SiteState& state, analysis::base::Micros since);

}  // namespace firmware::sim::site
