// Writes a log extract (docs/evidence-log.md): what a verifier needs beside the readings of a
// certificate to rebuild the root of the log.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/time.hpp"
#include "analysis/evidence/merkle_proof.hpp"
#include "logger/store/sqlite_handle.hpp"

namespace logger::store {

// The readings of one boot: all its stored records with these sequences, both included.
struct RecordSpan {
  std::string box_id;
  std::uint32_t boot = 0;
  std::int64_t first_sequence = 0;
  std::int64_t last_sequence = 0;
};

struct ExtractRequest {
  std::uint64_t size = 0;  // of the log, as its checkpoint states it
  // When the readings begin: the clock exchanges that date them are shown, older ones are not.
  analysis::base::UtcMicros from;
  std::vector<RecordSpan> readings;   // at most one a boot
  std::vector<std::uint64_t> bounds;  // sizes of checkpoints that are to be compared; any order
};

struct ExtractSummary {
  std::uint64_t readings = 0;
  // For each of the bounds that is at most `size`: how many readings stand below it.
  std::map<std::uint64_t, std::uint64_t> readings_below;
  std::uint64_t hidden_entries = 0;  // shown as hashes only
  analysis::evidence::TreeHead head;
};

// Takes the next bytes of the file.
using ExtractSink = std::function<Result<void>(std::string_view)>;

// As EvidenceLog::extract. REQUIRES: a read transaction.
[[nodiscard]] Result<ExtractSummary> write_log_extract(Connection& connection,
                                                       const ExtractRequest& request,
                                                       const ExtractSink& sink);

}  // namespace logger::store
