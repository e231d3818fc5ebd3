// A made-up room for the certificate tests: one box, five channels, a reading every 15 minutes, and
// everything as it should be.
#pragma once

#include <functional>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "analysis/certificate/certificate_json.hpp"
#include "analysis/certificate/facts_builder.hpp"
#include "analysis/certificate/verify.hpp"

namespace example {

using analysis::base::Micros;
using analysis::base::UtcMicros;
using analysis::certificate::CertificateFacts;
using analysis::certificate::Reading;
using analysis::certificate::Verification;

inline constexpr UtcMicros kStart{1'772'348'400'000'000};  // 2026-03-01T07:00:00Z
inline constexpr Micros kInterval = std::chrono::minutes(15);
inline const std::string kSoftware = "dwellog test";

// Facts without what comes out of the readings; the period is `hours` long.
CertificateFacts declared(int hours = 60);
// Of the same room; no part of declared().
analysis::readiness::RhTestNote probe_test();
// From the period's start to its end, both included; boot 2 begins after `reboot_after` records.
std::vector<Reading> readings(int hours = 60, int reboot_after = 150);

struct Issued {
  CertificateFacts facts;
  std::string readings_text;
  std::string certificate;
};
// REQUIRES: readings that the builder accepts and facts that can be issued.
Issued issue(CertificateFacts declared, const std::vector<Reading>& readings);
// Of that site as it is.
const Issued& good();
std::string readings_text_from(const std::vector<Reading>& readings);

analysis::evidence::SigningKey key(std::uint8_t first_byte = 1);

// With the right key from outside, and the readings when there are any.
Verification verify(const std::string& certificate, const std::string* readings_text = nullptr);
// All lines of one kind, each with its line end.
std::string lines_of(const Verification& verification, analysis::certificate::LineKind kind);

// The canonical bytes after `change` was made to the parsed document.
std::string changed(const std::string& certificate,
                    const std::function<void(nlohmann::json&)>& change);

}  // namespace example
