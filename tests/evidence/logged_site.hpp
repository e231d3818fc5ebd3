// The made-up room of example_site.hpp, recorded in a store with an evidence log, and certified
// from there as certify does: two boxes, of which the room has one; a reboot, two records that were
// lost, a raw count kept beside a fault; records before and after the period.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/evidence/merkle_proof.hpp"
#include "logger/store/reading_store.hpp"
#include "tests/evidence/example_site.hpp"
#include "tests/store/store_folder.hpp"

namespace logged_site {

using analysis::certificate::AnchorFacts;
using analysis::certificate::LogFacts;
using analysis::certificate::Reading;
using analysis::certificate::Verification;
using analysis::evidence::TreeHead;
using logger::store::CommitBatch;

inline constexpr int kHours = 6;

// One batch a commit, oldest first; three rounds of 15 minutes in each.
using History = std::vector<CommitBatch>;
[[nodiscard]] History history();
// Of a few entries, all inside the period of an hour.
[[nodiscard]] History short_history();

// A store file that holds it.
class SiteStore {
 public:
  explicit SiteStore(const History& history);
  [[nodiscard]] std::string path() const { return folder_.file(); }
  [[nodiscard]] TreeHead head() const;
  [[nodiscard]] TreeHead head_at(std::uint64_t size) const;
  [[nodiscard]] std::uint64_t entry_of_record(std::int64_t boot, std::int64_t sequence) const;

 private:
  store_tests::StoreFolder folder_;
};

// A checkpoint as a file holds it.
[[nodiscard]] std::string checkpoint_text(const TreeHead& head, std::uint8_t key = 1,
                                          bool simulated = true);

struct Certified {
  analysis::certificate::CertificateFacts declared;  // with what is said of the log
  std::vector<Reading> readings;
  std::string certificate;
  std::string readings_text;
  std::string log_text;
};

struct CertifyOptions {
  int hours = kHours;
  std::vector<std::uint64_t> bounds{};  // sizes of known checkpoints
  std::optional<TreeHead> anchor{};
  std::int64_t anchored_too_many = 0;  // of the readings stated as anchored
};
[[nodiscard]] Certified certify(const SiteStore& store, const CertifyOptions& options = {});

// The holder of the key signs other readings over the same log.
[[nodiscard]] Certified signed_anew(Certified certified, std::vector<Reading> readings);

struct VerifyOptions {
  std::vector<std::string> since{};
  std::vector<std::string> handovers{};
  std::uint8_t outside_key = 1;
  std::vector<analysis::certificate::StampedDigest> stamps{};
};
[[nodiscard]] Verification verify(const Certified& certified, const VerifyOptions& options = {});

}  // namespace logged_site
