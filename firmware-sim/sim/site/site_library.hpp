// Sites by name. Every figure is invented; none stands for a real room, floor or product.
// Thread-safe.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "firmware-sim/sim/site/site_parameters.hpp"

namespace firmware::sim::site {

// "late-winter" (the parameters' defaults), "spring-damp", "wet-slab", "summer-cooled",
// "fuel-heated".
[[nodiscard]] const std::vector<std::string_view>& site_names();
// nullopt when there is no site of that name.
[[nodiscard]] std::optional<SiteParameters> site_from_name(std::string_view name);

}  // namespace firmware::sim::site
