#include "analysis/certificate/cautions.hpp"

namespace analysis::certificate {

std::vector<std::string> certificate_cautions() {
  return {
      "This paper records the conditions of a room. It does not warrant a floor.",
      "The floor maker's instructions, local codes and licensed trades come first, also where this "
      "paper says otherwise.",
      "The hours warm closed cartons through. The moisture in the panels hardly moves in that "
      "time; "
      "nothing here says that it has come to rest.",
      "Limits marked \"common practice\" were set without a source of the floor maker.",
      "What a person noted (gates, deliveries, placements) is that person's word; it was not "
      "measured.",
      "Whoever holds the signing key can sign again what was never handed over.",
  };
}

std::vector<std::string> site_cautions() {
  return {
      "The floor maker's instructions, local codes and licensed trades come first.",
      "Sanding, grinding or drilling concrete sets silica dust free: extract it and wear a mask.",
      "Before drilling probe holes, locate heating pipes, cables and tensioned tendons.",
      "Fuel-burning heaters give off carbon monoxide, can start fires and add water to the air.",
      "Mains-powered heaters, dryers and boxes: licensed electrician, GFCI/RCD.",
      "Old resilient floors and black adhesive may hold asbestos: have them tested before they are "
      "disturbed.",
      "Carbide moisture tests release a flammable gas.",
      "Calibration salts: wear gloves, guard the eyes, keep them away from children.",
      "Batteries: fuse them close to the cell, and charge them only as their maker says.",
      "Cartons are heavy: lift with two people. Stacks load the floor in one spot and can tip.",
  };
}

}  // namespace analysis::certificate
