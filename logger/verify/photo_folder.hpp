// The files of a folder of photos, with their digests.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "analysis/certificate/verify.hpp"
#include "logger/verify/given_files.hpp"

namespace logger::verify {

// Files directly in the folder, by name; links and folders in it are passed over. Only a file as
// long as one of the photos that `certificate` lists is read.
[[nodiscard]] FileResult<std::vector<analysis::certificate::FoundFile>> photos_in(
    const std::filesystem::path& folder, const std::string& certificate);

}  // namespace logger::verify
