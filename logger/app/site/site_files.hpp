// Files of a job folder that are handed out or taken in over the page. Names from outside are
// looked up, never made into paths.
#pragma once

#include <string>
#include <string_view>

#include "logger/app/commands/job_folder.hpp"
#include "logger/web/site/site.hpp"

namespace logger::app {

inline constexpr std::uintmax_t kMostHandedOut = 64'000'000;     // bytes of one file
inline constexpr std::uintmax_t kLeftForReadings = 200'000'000;  // free bytes no photo may touch

// A file of an issued certificate. not_found for an unknown number or kind; invalid_input for one
// above kMostHandedOut.
[[nodiscard]] store::Result<web::StoredFile> certificate_file_from(const JobFolder& folder,
                                                                   const std::string& number,
                                                                   const std::string& kind);
// A kept photo; corrupt where its bytes are not those of its digest.
[[nodiscard]] store::Result<web::StoredFile> photo_from(const JobFolder& folder,
                                                        const std::string& sha256_hex);
// Keeps a JPEG, PNG or WebP picture and gives its digest. invalid_input for anything else; no_space
// where the disk is needed for readings.
[[nodiscard]] store::Result<std::string> photo_taken_in(const JobFolder& folder,
                                                        std::string_view bytes);

}  // namespace logger::app
