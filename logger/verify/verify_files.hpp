// Verifies certificate files offline, with the words and exit statuses of `dwellog verify` and
// dwellog-verify alike. Needs no store and no network. One call at a time.
#pragma once

#include <filesystem>
#include <iosfwd>
#include <string>
#include <vector>

#include "analysis/certificate/verify.hpp"

namespace logger::verify {

struct VerifyOptions {
  std::filesystem::path certificate;
  std::filesystem::path key;                         // empty = not given
  std::vector<std::filesystem::path> handovers;      // in order, from the key to the certificate's
  std::filesystem::path readings;                    // empty = not given
  std::filesystem::path log{};                       // empty = not given
  std::vector<std::filesystem::path> since{};        // checkpoints
  std::vector<std::filesystem::path> authorities{};  // PEM, trusted for time stamps
  std::vector<std::filesystem::path> stamps{};       // of checkpoints
  std::vector<std::filesystem::path> newer{};        // certificates that may take its place
  std::filesystem::path photos{};                    // folder; empty = not looked at
};

// Name of the program, which starts each line of an error, and where it writes.
struct Output {
  std::string program;
  std::ostream& out;
  std::ostream& err;
};

// Prints what is proved and what is not; gives the exit status (exit_status.hpp): that of
// analysis::certificate::VerificationStatus, kExitInput for a file that is not there or not what
// it should be, kExitCouldNotDo for one that can't be read.
int verify_files(const VerifyOptions& options, const Output& output);

// What the result line says of a status that has more than one meaning.
struct ResultWords {
  const char* proved = "PROVED";
  const char* intact = "INTACT, KEY NOT GIVEN FROM OUTSIDE";
};
// Prints the lines and the result; gives the exit status.
int print_verification(const analysis::certificate::Verification& verification,
                       const ResultWords& words, std::ostream& out);

// "dwellog <version>": the rules that a recomputation follows.
[[nodiscard]] std::string rules_text();

}  // namespace logger::verify
