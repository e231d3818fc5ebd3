#include "logger/app/commands/notes/photo_files.hpp"

#include <algorithm>
#include <array>

#include "logger/app/commands/export_rows.hpp"

namespace logger::app {

using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr std::uintmax_t kMostBytes = 50'000'000;
constexpr std::size_t kDigestLetters = 64;

struct Signature {
  std::size_t offset;
  std::string_view bytes;
  const char* extension;
};
// Sources: ITU-T T.81 (1992), B.1.1.3: start of image and the marker after it; W3C PNG (2003), 5.2;
// ISO/IEC 23008-12 (2017), 10.2: brands of the file type box; RFC 9649 (2024), 2.4; TIFF revision
// 6.0 (1992), section 2: byte order and 42.
constexpr std::array<Signature, 9> kSignatures{{{0, "\xFF\xD8\xFF", "jpg"},
                                                {0, "\x89PNG\r\n\x1A\n", "png"},
                                                {4, "ftypheic", "heic"},
                                                {4, "ftypheix", "heic"},
                                                {4, "ftypmif1", "heic"},
                                                {4, "ftypmsf1", "heic"},
                                                {8, "WEBP", "webp"},
                                                {0, {"II*\0", 4}, "tif"},
                                                {0, {"MM\0*", 4}, "tif"}}};

struct ReadPhoto {
  KeptPhoto photo;
  path copy;
};

Result<std::string> photo_bytes_from(const path& file) {
  std::error_code error;
  const auto size = std::filesystem::file_size(file, error);
  if (error) {
    return failure(ErrorCode::invalid_input, "--photo " + file.string() + ": " + error.message() +
                                                 "; expected a file that can be read");
  }
  if (size == 0 || size > kMostBytes) {
    return failure(ErrorCode::invalid_input, "--photo " + file.string() + ": " +
                                                 std::to_string(size) + " bytes; expected 1 to " +
                                                 std::to_string(kMostBytes));
  }
  return read_file(file);
}

// Says where the copy belongs; a copy that is there must hold the same bytes. `name` for people.
Result<ReadPhoto> looked_at(const JobFolder& folder, std::string_view bytes,
                            const std::string& name) {
  const auto kind = photo_kind_from(bytes);
  if (!kind) {
    return failure(
        ErrorCode::invalid_input,
        name + " is no photo by its first bytes; expected JPEG, PNG, WebP, HEIC or TIFF");
  }
  const std::string digest = sha256_hex_of(bytes);
  ReadPhoto read{{digest, static_cast<std::int64_t>(bytes.size())},
                 folder.photos() / (digest + "." + *kind)};
  std::error_code error;
  if (std::filesystem::exists(read.copy, error)) {
    const auto kept = read_file(read.copy);
    if (!kept || kept.value() != bytes) {
      return failure(ErrorCode::corrupt, read.copy.string() +
                                             ": holds other bytes than its name says; it was "
                                             "changed, nothing was noted");
    }
  }
  return read;
}

Result<ReadPhoto> looked_at(const JobFolder& folder, const path& file) {
  const auto bytes = photo_bytes_from(file);
  return bytes ? looked_at(folder, bytes.value(), "--photo " + file.string())
               : store::Failure{bytes.error()};
}

}  // namespace

std::optional<std::string> photo_kind_from(std::string_view bytes) {
  const auto found = std::ranges::find_if(kSignatures, [&](const Signature& signature) {
    return bytes.size() > signature.offset &&
           bytes.substr(signature.offset).starts_with(signature.bytes);
  });
  return found == kSignatures.end() ? std::nullopt : std::optional<std::string>(found->extension);
}

Result<KeptPhoto> keep_photo(const JobFolder& folder, std::string_view bytes) {
  const auto read = looked_at(folder, bytes, "the photo");
  if (!read) {
    return store::Failure{read.error()};
  }
  std::error_code error;
  std::filesystem::create_directories(folder.photos(), error);
  const auto written = write_file(read.value().copy, bytes, 0644);
  return written ? Result<KeptPhoto>(read.value().photo) : store::Failure{written.error()};
}

Result<path> kept_photo_file(const JobFolder& folder, std::string_view sha256_hex) {
  const bool digest = sha256_hex.size() == kDigestLetters &&
                      sha256_hex.find_first_not_of("0123456789abcdef") == std::string_view::npos;
  std::error_code error;
  if (digest) {
    for (const auto& entry : std::filesystem::directory_iterator(folder.photos(), error)) {
      if (entry.path().stem() == sha256_hex) {
        return entry.path();
      }
    }
  }
  return failure(ErrorCode::not_found, "no such photo");
}

Result<std::vector<KeptPhoto>> keep_photos(const JobFolder& folder,
                                           const std::vector<path>& files) {
  std::vector<ReadPhoto> photos;
  for (const path& file : files) {
    auto read = looked_at(folder, file);
    if (!read) {
      return store::Failure{read.error()};
    }
    const auto same = [&](const ReadPhoto& other) {
      return other.photo.sha256_hex == read.value().photo.sha256_hex;
    };
    if (std::ranges::any_of(photos, same)) {
      return failure(ErrorCode::invalid_input,
                     "--photo " + file.string() + ": the same photo is given twice");
    }
    photos.push_back(std::move(read).value());
  }
  std::vector<KeptPhoto> kept;
  for (std::size_t i = 0; i < photos.size(); ++i) {
    const auto bytes = photo_bytes_from(files[i]);
    if (!bytes || sha256_hex_of(bytes.value()) != photos[i].photo.sha256_hex) {
      return failure(ErrorCode::io, "--photo " + files[i].string() + ": changed while it was read");
    }
    if (const auto written = keep_photo(folder, bytes.value()); !written) {
      return store::Failure{written.error()};
    }
    kept.push_back(photos[i].photo);
  }
  return kept;
}

}  // namespace logger::app
