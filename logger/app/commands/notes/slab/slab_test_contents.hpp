// The content of notes about tests of a slab: probes read by hand, dishes, carbide, and that a test
// has begun. Pure; every refusal is one line that names the option, the value and what was
// expected.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>

#include "logger/app/commands/commands.hpp"
#include "logger/app/job/job.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

[[nodiscard]] store::Result<nlohmann::json> dish_test_content_from(const NoteOptions& options);
[[nodiscard]] store::Result<nlohmann::json> carbide_test_content_from(const NoteOptions& options);
[[nodiscard]] store::Result<nlohmann::json> test_begun_content_from(const NoteOptions& options);

// What an rh-test takes from elsewhere where it is not typed.
struct RhTestSite {
  const std::optional<JobSlabBuild>& slab_build;  // thickness, faces
  std::optional<UtcMicros> sleeves_noted_at;      // the newest test-begun rh
  UtcMicros read_at;
  std::optional<UtcMicros> slab_poured_at;
};
[[nodiscard]] store::Result<nlohmann::json> rh_test_content_from(const NoteOptions& options,
                                                                 const RhTestSite& site);

}  // namespace logger::app
