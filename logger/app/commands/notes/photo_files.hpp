// Photos that belong to a note: a copy of each is kept under the name of its digest, and the note
// holds the digest.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

struct KeptPhoto {
  std::string sha256_hex;
  std::int64_t bytes = 0;
};

// Copies each file to JOBDIR/photos/<sha256>.<ext>, on disk when it returns. All are looked at
// before the first is copied. invalid_input for a file that is not there, empty, above 50 MB or no
// photo, and for the same photo twice; corrupt where a copy of that name holds other bytes.
[[nodiscard]] store::Result<std::vector<KeptPhoto>> keep_photos(const JobFolder& folder,
                                                                const std::vector<path>& files);

// Keeps one photo's bytes likewise. invalid_input where they are none; corrupt as above.
[[nodiscard]] store::Result<KeptPhoto> keep_photo(const JobFolder& folder, std::string_view bytes);
// The copy of that digest; not_found where there is none, or no such digest.
[[nodiscard]] store::Result<path> kept_photo_file(const JobFolder& folder,
                                                  std::string_view sha256_hex);

// By the first bytes: jpg, png, webp, heic, tif; nullopt for anything else.
[[nodiscard]] std::optional<std::string> photo_kind_from(std::string_view bytes);

}  // namespace logger::app
