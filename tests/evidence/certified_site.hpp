// The site of logged_site.hpp with its store and certificate made once, and what the tests of the
// log check ask of a verification.
#pragma once

#include <catch2/catch.hpp>
#include <string>
#include <vector>

#include "tests/evidence/logged_site.hpp"

namespace logged_site {

using analysis::certificate::LineKind;
using analysis::certificate::VerificationStatus;
using example::lines_of;

inline const SiteStore& site() {
  static const SiteStore store{history()};
  return store;
}

// In the middle of the readings.
inline std::uint64_t middle() { return site().entry_of_record(2, 3) + 2; }

inline const Certified& good() {
  static const Certified certified = certify(site(), {.bounds = {middle()}});
  return certified;
}

inline bool says(const std::string& lines, const std::string& text) {
  return lines.find(text) != std::string::npos;
}

// What failed; something must have.
inline std::string failures(const Verification& v) {
  CHECK(v.status == VerificationStatus::not_proved);
  return lines_of(v, LineKind::failed);
}

inline std::vector<std::string> lines_in(const std::string& text) {
  std::vector<std::string> lines;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = text.find('\n', at) + 1;
    lines.push_back(text.substr(at, end - at));
    at = end;
  }
  return lines;
}

inline std::string joined(const std::vector<std::string>& lines) {
  std::string text;
  for (const std::string& line : lines) {
    text += line;
  }
  return text;
}

inline Certified with_log(Certified certified, std::string log_text) {
  certified.log_text = std::move(log_text);
  return certified;
}

inline std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

}  // namespace logged_site
