// Earlier states of a log, from checkpoints, that the rebuilt log is compared with. Pure.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "analysis/certificate/verify.hpp"
#include "analysis/evidence/checkpoint.hpp"

namespace analysis::certificate {

struct ComparedHead {
  evidence::Checkpoint checkpoint;
  bool is_anchor = false;  // that of the certificate; else one that was given
  // Known from another hand than the certificate's: given, or stamped by an authority one trusts.
  bool is_independent = true;
  bool reached = false;  // the rebuilt log has a boundary there
  bool same = false;     // and the same root
  std::uint64_t readings_below = 0;
};

// A checkpoint that counts for this certificate: signed with its key or one that handed over to it,
// and of the same kind of site. `what` names it in the fault.
[[nodiscard]] base::Result<evidence::Checkpoint, Fault> checkpoint_for(
    const ReadCertificate& certificate, const VerifyInput& input, const std::string& what,
    const std::string& text);

// The certificate's anchor and the checkpoints given, by size; what can't be used is told in
// `lines`.
[[nodiscard]] std::vector<ComparedHead> compared_heads_from(const ReadCertificate& certificate,
                                                            const VerifyInput& input,
                                                            std::vector<VerificationLine>& lines);

// What the comparison with a log of `log_size` entries gave. `agrees_up_to`: the largest smaller
// size at which the log is as it was.
[[nodiscard]] VerificationLine line_from(const ComparedHead& head,
                                         const ReadCertificate& certificate, std::uint64_t log_size,
                                         std::uint64_t agrees_up_to);

}  // namespace analysis::certificate
