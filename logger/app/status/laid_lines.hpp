// What a room is once its floor is being laid or lies: words and members of the status document.
// Pure.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>

#include "analysis/certificate/facts.hpp"
#include "analysis/readiness/service/service_air.hpp"
#include "logger/app/outlook/texts/shown_values.hpp"

namespace logger::app {

// "In service: mean of 24 h 20.1 °C (keep 17.0 to 23.0 °C), 52.3 %RH (keep 45.0 to 60.0 %RH); in
// the climate to keep."
[[nodiscard]] std::string service_sentence(const analysis::readiness::ServiceAir& air,
                                           const analysis::readiness::ServiceClimate& climate,
                                           ShownUnits units);
// Of a row in a list: "in the climate to keep", "too dry", "not known".
[[nodiscard]] std::string service_state(const analysis::readiness::ServiceAir& air,
                                        const analysis::readiness::ServiceClimate& climate);

// {"began_at_utc", "finished_at_utc"}; null where laying did not begin.
[[nodiscard]] nlohmann::ordered_json json_from_laying(
    const analysis::certificate::LayingFacts& laying);
// Means with their hours and the limits; null where no floor lies.
[[nodiscard]] nlohmann::ordered_json json_from_service(
    const std::optional<analysis::readiness::ServiceAir>& air,
    const analysis::readiness::ServiceClimate& climate);

}  // namespace logger::app
