// Everything a condition certificate says, before it is signed and after it is read back. The pages
// (PDF) are drawn from this alone, so that they can show nothing that was not signed.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/time.hpp"
#include "analysis/readiness/room_replay.hpp"
#include "analysis/readiness/service/laid_floor.hpp"
#include "analysis/readiness/verdict.hpp"

namespace analysis::certificate {

using base::UtcMicros;

inline constexpr std::size_t kMostChartBuckets = 240;  // of each series

struct PartyFacts {
  std::string job_name;
  std::string site_address;
  std::string installer;
  std::string client;  // may be empty
};

struct RoomFacts {
  std::string room_id;
  std::string room_name;
  double floor_area_m2 = 0.0;
  std::string floor_product;  // what is to be laid, as the installer names it
};

// Stands for the serial number of a box whose readings were imported: nothing numbers its rows.
inline constexpr std::string_view kImportedSerial = "imported";

// One channel as an instrument.
struct InstrumentFacts {
  readiness::ChannelSetup channel;
  std::string box_serial;
  std::string sensor_serial;          // may be empty
  std::string placement;              // in words
  std::string calibration_reference;  // may be empty
};

// Lowest, mean and highest good value in one bucket, in the file unit of the role.
struct ChartBucket {
  double low = 0.0;
  double mean = 0.0;
  double high = 0.0;
  bool operator==(const ChartBucket&) const = default;
};
struct ChartSeries {
  std::string channel_id;
  base::ChannelRole role = base::ChannelRole::room_air_temperature;
  std::vector<std::optional<ChartBucket>> buckets;  // nullopt = nothing recorded
};
struct ChartFacts {
  UtcMicros from;
  base::Micros bucket{0};  // the same for every series; at most 240 buckets
  std::vector<ChartSeries> series;
};

struct GapFacts {
  std::string box_id;
  std::uint32_t boot = 0;
  std::int64_t first_sequence = 0;
  std::int64_t last_sequence = 0;
  std::string reason;  // "overflow", "corrupt", "missing"
};

// The readings that lie beside the certificate: their count and the RFC 9162 tree root over their
// record lines (each line without its line end is a leaf). The roots of the tree's aligned blocks
// of `block_records` leaves tell a reader of another file where it differs.
struct ReadingsFacts {
  std::int64_t records = 0;
  std::string root_sha256_hex;
  std::int64_t block_records = 0;
  std::vector<std::string> block_roots_sha256_hex;
  bool operator==(const ReadingsFacts&) const = default;
};

// The certificate that this one takes the place of.
struct SupersededFacts {
  std::string number;
  std::string certificate_sha256_hex;  // of its bytes
  std::string reason;
};

// When the floor was laid and what was left and set, as noted; nullopt = not noted.
struct LayingFacts {
  std::optional<UtcMicros> began_at;
  std::optional<UtcMicros> finished_at;
  readiness::LaidFloor laid;  // of the note that it is finished
  bool operator==(const LayingFacts&) const = default;
};

// A sensor was put in its place.
struct PlacementFacts {
  std::string channel_id;
  UtcMicros at;
  std::string by;
  std::string remark;
};

// Before the subject of a photo whose note a later one of the same subject took the place of.
inline constexpr std::string_view kSupersededSubject = "superseded.";
// A photo that belongs to a note. The photo itself lies beside, or with whoever took it.
struct PhotoFacts {
  // "gate.<gate>", "placement.<channel id>", or the kind of the note; the first two may be
  // superseded.
  std::string subject;
  UtcMicros at;  // of the note
  std::string sha256_hex;
  std::int64_t bytes = 0;
};

// A checkpoint of the evidence log that was time-stamped by someone else (RFC 3161).
struct AnchorFacts {
  std::string checkpoint;    // the signed line, without its line end
  UtcMicros stamped_at;      // as the token says
  std::string authority;     // as the token names it
  std::string token_base64;  // DER of the token's response
};

// Where the readings stand in the store's evidence log (docs/evidence-log.md).
struct LogFacts {
  std::string checkpoint;              // the signed line at the issue, without its line end
  std::optional<AnchorFacts> anchor;   // the newest that there was
  std::int64_t readings_anchored = 0;  // readings below the anchor; the others are self-declared
};

inline constexpr const char* kDeliverySubject = "delivery";

// When what the certificate stands on was written down. The gates' own facts say it of gates.
struct NotedFacts {
  // The note's kind, with what it is of: "delivery", "laying.began", "test-begun.rh", "rh-test",
  // "placement.<channel id>", "calibration.<channel id>".
  std::string subject;
  UtcMicros at;                       // when it was so
  std::optional<UtcMicros> noted_at;  // nullopt under simulated time
  // What a test gave that does not count; of a delivery that it was noted anew; else empty.
  std::string set_aside;
};

// Over a day after what it says was seen; an evening at the desk is no wonder.
template <class Note>
[[nodiscard]] bool was_written_down_later(const Note& note) {
  return note.noted_at && *note.noted_at - note.at > std::chrono::hours(24);
}

struct CertificateFacts {
  std::string number;  // "<room>-<n>", unique in the job
  UtcMicros issued_at;
  base::TimeRange period;
  bool simulated = false;
  PartyFacts parties;
  RoomFacts room;
  readiness::FloorRequirements requirements;
  std::optional<UtcMicros> delivered_at;
  std::optional<UtcMicros> slab_poured_at;
  std::vector<InstrumentFacts> instruments;
  std::optional<readiness::StackSetup> stack;
  std::optional<SupersededFacts> supersedes;
  LayingFacts laying;
  std::vector<PlacementFacts> placements;             // in order of time
  std::vector<PhotoFacts> photos;                     // in order of time
  std::vector<readiness::SiteGateNote> site_gates;    // met or not met
  std::vector<readiness::SiteGateNote> open_answers;  // of other gates
  readiness::SubfloorTests subfloor_tests;
  std::vector<NotedFacts> noted;  // in order of time
  readiness::RoomAssessment assessment;
  readiness::DwellState dwell;
  std::vector<readiness::Excursion> excursions;  // longest 20, in order of time
  std::int64_t excursions_total = 0;
  std::vector<base::TimeRange> unknown_time;  // longest 20 gaps in the room air, in order of time
  std::int64_t unknown_time_total = 0;
  std::vector<GapFacts> lost_records;
  base::Micros largest_time_error{0};
  ChartFacts chart;
  ReadingsFacts readings;
  std::optional<LogFacts> log;  // nullopt = the readings come from no log
  std::vector<std::string> cautions;
  std::string software;  // "dwellog 0.1.0", library and font versions
};

// Time that whoever chose the period left out, where it is long enough to hide something.
struct PeriodEdges {
  std::optional<base::Micros> after_delivery;  // from the delivery to the period's begin: over 1 h
  std::optional<base::Micros> before_issue;    // from its end to the issue: over a day
};
[[nodiscard]] inline PeriodEdges period_edges(const CertificateFacts& facts) {
  PeriodEdges edges;
  if (facts.delivered_at && facts.period.from - *facts.delivered_at > std::chrono::hours(1)) {
    edges.after_delivery = facts.period.from - *facts.delivered_at;
  }
  // The machine's time of the issue says nothing of a simulated period.
  if (!facts.simulated && facts.issued_at - facts.period.to > std::chrono::hours(24)) {
    edges.before_issue = facts.issued_at - facts.period.to;
  }
  return edges;
}

// A calibration that sets in within the period, or moves values at all: who chose it chose values.
[[nodiscard]] inline bool moves_values(const readiness::DatedCalibration& calibration,
                                       const base::TimeRange& period) {
  const bool within = calibration.valid_from > period.from && calibration.valid_from < period.to;
  return calibration.valid_from < period.to &&
         (within || calibration.gain != 1.0 || calibration.offset != 0.0);
}

}  // namespace analysis::certificate
