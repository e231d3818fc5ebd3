// The difference of two documents as a JSON merge patch (RFC 7396). Pure.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>

namespace logger::web {

// Applied to `before` the patch gives `after`, the order of members aside. nullopt where no merge
// patch can: a member that becomes null, since null in a patch takes a member away. Arrays are
// replaced whole. {} where nothing changed.
[[nodiscard]] std::optional<nlohmann::ordered_json> merge_patch_between(
    const nlohmann::ordered_json& before, const nlohmann::ordered_json& after);

}  // namespace logger::web
