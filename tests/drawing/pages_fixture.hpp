// Certificate facts of a site that never was. Every value, name and place is invented.
#pragma once

#include <string>

#include "analysis/certificate/facts.hpp"

namespace tests {

// Six days: cold cartons delivered, a heater that fails in the fourth night, a cable unplugged for
// an hour, a slab that dries; ready at the end. Charts with 240 buckets of 36 minutes.
[[nodiscard]] analysis::certificate::CertificateFacts invented_facts();

// The same site with long texts everywhere, 20 of 57 excursions, 20 of 31 gaps, all gates with long
// reasons, many instruments and lost records.
[[nodiscard]] analysis::certificate::CertificateFacts invented_facts_with_much_to_say();

// The same with texts that try to end what stands around them and to turn their neighbours round.
[[nodiscard]] analysis::certificate::CertificateFacts hostile_facts();

inline constexpr const char* kInventedDigest =
    "3f1c0a5be2d94786a1b0c9d8e7f60514233241506f7e8d9cabbac9d8e7f60123";

[[nodiscard]] inline bool contains(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

}  // namespace tests
