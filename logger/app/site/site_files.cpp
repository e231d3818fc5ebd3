#include "logger/app/site/site_files.hpp"

#include <algorithm>

#include "analysis/certificate/readings_file.hpp"
#include "logger/app/commands/certificates/certificate_files.hpp"
#include "logger/app/commands/export_rows.hpp"
#include "logger/app/commands/notes/photo_files.hpp"

namespace logger::app {

using store::ErrorCode;
using store::Failure;
using store::failure;
using store::Result;
using web::StoredFile;

namespace {

using TypeOfWord = std::pair<std::string_view, std::string_view>;

constexpr std::string_view kUnknownType = "application/octet-stream";
constexpr TypeOfWord kCertificateTypes[] = {{"json", "application/json"},
                                            {"pdf", "application/pdf"},
                                            {"html", "text/html; charset=utf-8"},
                                            {"csv", "text/csv; charset=utf-8"},
                                            {"log", kUnknownType},
                                            {"sha256s", "text/plain; charset=utf-8"}};
constexpr TypeOfWord kPhotoTypes[] = {{".jpg", "image/jpeg"},  {".png", "image/png"},
                                      {".webp", "image/webp"}, {".heic", "image/heic"},
                                      {".tif", "image/tiff"},  {".pdf", "application/pdf"}};

template <std::size_t N>
std::string type_of(const TypeOfWord (&types)[N], std::string_view word) {
  const auto found = std::ranges::find(types, word, &TypeOfWord::first);
  return std::string(found == std::end(types) ? kUnknownType : found->second);
}

Result<void> add_file(const path& file, std::string& bytes) {
  std::error_code error;
  const auto size = std::filesystem::file_size(file, error);
  if (!error && size > kMostHandedOut) {
    return failure(ErrorCode::invalid_input,
                   file.filename().string() + " has " + std::to_string(size) +
                       " bytes; the page hands out up to " + std::to_string(kMostHandedOut) +
                       ": copy it from the job folder");
  }
  const auto read = read_file(file);
  if (!read) {
    return Failure{read.error()};
  }
  bytes += read.value();
  return {};
}

}  // namespace

Result<StoredFile> certificate_file_from(const JobFolder& folder, const std::string& number,
                                         const std::string& kind) {
  std::error_code error;
  const CertificateFiles files = files_of(folder, number);
  const auto paths = files_of_kind(files, kind);
  if (!analysis::certificate::is_plain_name(number) || paths.empty() ||
      !std::filesystem::exists(files.json, error)) {
    return failure(ErrorCode::not_found, "no such file of a certificate");
  }
  StoredFile file{"", type_of(kCertificateTypes, kind), paths.front().filename().string()};
  if (kind == "sha256s") {
    file.file_name = number + ".sha256s";
  }
  for (const path& part : paths) {
    if (const auto added = add_file(part, file.bytes); !added) {
      return Failure{added.error()};
    }
  }
  return file;
}

Result<StoredFile> photo_from(const JobFolder& folder, const std::string& sha256_hex) {
  const auto found = kept_photo_file(folder, sha256_hex);
  if (!found) {
    return Failure{found.error()};
  }
  StoredFile file{"", type_of(kPhotoTypes, found.value().extension().string()),
                  found.value().filename().string()};
  if (const auto added = add_file(found.value(), file.bytes); !added) {
    return Failure{added.error()};
  }
  if (sha256_hex_of(file.bytes) != sha256_hex) {
    return failure(ErrorCode::corrupt,
                   found.value().string() + ": holds other bytes than its name says");
  }
  return file;
}

Result<std::string> photo_taken_in(const JobFolder& folder, std::string_view bytes) {
  const auto kind = photo_kind_from(bytes);
  // What every browser shows again.
  if (kind != "jpg" && kind != "png" && kind != "webp") {
    return failure(ErrorCode::invalid_input,
                   "the photo is neither JPEG, PNG nor WebP by its first bytes");
  }
  std::error_code error;
  const auto space = std::filesystem::space(folder.root, error);
  if (!error && space.available < kLeftForReadings + bytes.size()) {
    return failure(ErrorCode::no_space, "the disk is nearly full and is kept for readings");
  }
  const auto kept = keep_photo(folder, bytes);
  return kept ? Result<std::string>(kept.value().sha256_hex) : Failure{kept.error()};
}

}  // namespace logger::app
