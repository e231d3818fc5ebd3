// The fields of a certificate: path -> value, from its facts and back. Format:
// docs/certificate-format.md. Pure; any thread.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/certificate/facts.hpp"
#include "analysis/evidence/fault.hpp"
#include "analysis/evidence/sealed_fields.hpp"

namespace analysis::certificate {

// All but number, issued_at and simulated, which the header holds.
[[nodiscard]] evidence::FieldValues fields_from_facts(CertificateFacts facts);

// The inverse. `redacted`: fields that were taken out; their texts become kRedactedText. Refuses a
// missing or malformed field and one whose value is written otherwise than fields_from_facts does.
// Fields of other names are left to the caller.
[[nodiscard]] base::Result<CertificateFacts, evidence::Fault> facts_from_fields(
    const evidence::SealedHeader& header, const evidence::FieldValues& fields,
    const std::vector<std::string>& redacted);

// What contradicts itself in the facts, as one line; nullopt when nothing does.
[[nodiscard]] std::optional<std::string> contradiction_in(const CertificateFacts& facts);

// Fields that FactsBuilder computes from the readings.
inline constexpr std::array<std::string_view, 8> kComputedFields = {
    "assessment",           "dwell", "excursions", "unknown_time", "lost_records",
    "largest_time_error_s", "chart", "readings"};

// The first place at which two values of a computed field differ by more than one step of rounding,
// as ".gates.2.state: signed \"met\", recomputed \"unknown\""; nullopt when they agree.
[[nodiscard]] std::optional<std::string> first_difference(const nlohmann::json& signed_value,
                                                          const nlohmann::json& recomputed);

}  // namespace analysis::certificate
