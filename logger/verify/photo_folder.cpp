#include "logger/verify/photo_folder.hpp"

#include <algorithm>
#include <set>

#include "analysis/evidence/digest.hpp"

namespace logger::verify {

using analysis::base::Failure;
using analysis::certificate::FoundFile;

namespace {

std::set<std::int64_t> lengths_listed(const std::string& certificate) {
  std::set<std::int64_t> lengths;
  if (const auto read = analysis::certificate::read_certificate(certificate)) {
    for (const auto& photo : read.value().facts.photos) {
      lengths.insert(photo.bytes);
    }
  }
  return lengths;
}

}  // namespace

FileResult<std::vector<FoundFile>> photos_in(const std::filesystem::path& folder,
                                             const std::string& certificate) {
  std::error_code error;
  const std::filesystem::directory_iterator entries(folder, error);
  if (error) {
    return Failure{FileFault{"--photos " + folder.string() + ": " + error.message() +
                             "; expected a folder with photos"}};
  }
  const std::set<std::int64_t> lengths = lengths_listed(certificate);
  std::vector<FoundFile> found;
  for (const auto& entry : entries) {
    if (entry.is_symlink(error) || !entry.is_regular_file(error)) {
      continue;
    }
    FoundFile file{entry.path().filename().string(), "",
                   static_cast<std::int64_t>(entry.file_size(error))};
    if (lengths.contains(file.bytes)) {
      const auto bytes = bytes_of(entry.path());
      if (!bytes) {
        return Failure{bytes.error()};
      }
      file.sha256_hex =
          analysis::evidence::hex_from_digest(analysis::evidence::sha256_from_bytes(bytes.value()));
    }
    found.push_back(std::move(file));
  }
  std::ranges::sort(found, {}, &FoundFile::name);
  return found;
}

}  // namespace logger::verify
