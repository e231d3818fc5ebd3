// Time stamps of a verification: the anchor that the certificate carries and the files given with
// --stamp, under the authorities given with --authority.
#pragma once

#include <string_view>
#include <vector>

#include "analysis/certificate/verify.hpp"
#include "logger/verify/given_files.hpp"

namespace logger::verify {

// Empty without authorities. A stamp that proves nothing carries its fault; the FileFault is of an
// authority's file that holds no certificate, of a file that can't be read, of stamps without an
// authority, and of a build that can't check time stamps.
[[nodiscard]] FileResult<std::vector<analysis::certificate::StampedDigest>> stamps_from_files(
    const std::vector<std::filesystem::path>& authorities,
    const std::vector<std::filesystem::path>& stamps, std::string_view certificate);

}  // namespace logger::verify
