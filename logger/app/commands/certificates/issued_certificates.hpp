// Certificates that lie in a folder, and which of them takes the place of which. One reader at a
// time needs no lock: files appear whole.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/certificate/certificate_json.hpp"
#include "analysis/certificate/verify.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

struct IssuedCertificate {
  path file;
  analysis::certificate::ReadCertificate read;
};

// Every *.json of the folder that is a certificate of this format and intact, by number; others are
// passed over. Cost: each is read whole.
[[nodiscard]] std::vector<IssuedCertificate> certificates_in(const path& folder);

// The one among them that takes the place of that number with that digest; nullptr where none does.
[[nodiscard]] const IssuedCertificate* successor_of(const std::vector<IssuedCertificate>& issued,
                                                    const std::string& number,
                                                    const std::string& sha256_hex);
// The room's last one that no other takes the place of, by time of issue; nullptr where there is
// none.
[[nodiscard]] const IssuedCertificate* newest_of_room(const std::vector<IssuedCertificate>& issued,
                                                      const std::string& room_id);

// What a new certificate of the room says of the one whose place it takes. not_found where there is
// no such file; invalid_input where it is not intact, of another room, or has a successor
// already.
[[nodiscard]] store::Result<analysis::certificate::SupersededFacts> superseded_from(
    const JobFolder& folder, const std::string& room_id, const std::string& number,
    const std::string& reason);

// What a verification found wrong first; "not intact" where it names nothing.
[[nodiscard]] std::string first_failure_of(const analysis::certificate::Verification& verification);

}  // namespace logger::app
