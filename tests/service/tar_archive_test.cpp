// The archive form: what standard tools read, long names, and members that are no plain files.
#include "logger/app/backup/tar_archive.hpp"

#include <sstream>

#include "tests/service/backup_job.hpp"

using namespace backup_tests;
using Catch::Matchers::Contains;
using logger::store::Result;
using store_tests::must;

namespace {

std::string archive_of(const std::string& path, const std::string& content) {
  std::string bytes;
  TarWriter tar([&](std::string_view more) {
    bytes += more;
    return Result<void>{};
  });
  must(tar.begin({path, content.size(), 0640, kMadeAt}));
  must(tar.write(content));
  must(tar.end());
  must(tar.finish());
  return bytes;
}

Result<std::optional<TarMember>> first_of(const std::string& archive) {
  std::istringstream in(archive);
  TarReader reader(
      [&](std::span<char> bytes) -> Result<std::size_t> {
        in.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
        return static_cast<std::size_t>(in.gcount());
      },
      "test.tar");
  return reader.next();
}

std::string with_checksum(std::string archive) {
  archive.replace(148, 8, 8, ' ');
  unsigned sum = 0;
  for (std::size_t i = 0; i < 512; ++i) {
    sum += static_cast<unsigned char>(archive[i]);
  }
  std::ostringstream octal;
  octal << std::oct << sum;
  std::string field = octal.str();
  field.insert(0, 6 - field.size(), '0');
  return archive.replace(148, 7, field + '\0');
}

}  // namespace

TEST_CASE("AMemberReadsBackAsItWasWritten") {
  const std::string long_path = "photos/" + std::string(96, 'p') + ".jpg";
  for (const std::string& path : {std::string("job.json"), long_path}) {
    const auto member = must(first_of(archive_of(path, "0123456789")));
    REQUIRE(member);
    CHECK(member->path == path);
    CHECK(member->size == 10);
    CHECK(member->mode == 0640);
    CHECK(member->modified_at == kMadeAt);
  }
}

TEST_CASE("StandardTarReadsTheArchive") {
  const ScratchFolder scratch;
  const std::string content(1000, 'c');
  write(scratch.path() / "a.tar", archive_of("photos/" + std::string(96, 'p') + ".jpg", content));
  const std::string command =
      "tar -xf " + (scratch.path() / "a.tar").string() + " -C " + scratch.path().string();
  REQUIRE(std::system(command.c_str()) == 0);
  CHECK(bytes_of(scratch.path() / "photos" / (std::string(96, 'p') + ".jpg")) == content);
}

TEST_CASE("NamesAndSizesBeyondTheFormAreRefused") {
  TarWriter tar([](std::string_view) { return Result<void>{}; });
  CHECK_FALSE(tar.begin({"photos/" + std::string(101, 'p'), 1, 0644, kMadeAt}));
  CHECK_FALSE(tar.begin({std::string(101, 'p'), 1, 0644, kMadeAt}));
  CHECK_FALSE(tar.begin({"job.json", kMaxTarMemberBytes + 1, 0644, kMadeAt}));
  CHECK(tar.begin({"job.json", kMaxTarMemberBytes, 0644, kMadeAt}));
}

TEST_CASE("LinksFoldersAndDevicesAreRefused") {
  // Hard link, symbolic link, devices, folder, fifo, contiguous, pax and GNU extensions.
  for (const char type : std::string("1234567xgLKS")) {
    std::string archive = archive_of("job.json", "");
    archive[156] = type;
    const auto member = first_of(with_checksum(archive));
    REQUIRE_FALSE(member);
    CHECK_THAT(member.error().context, Contains("no plain file"));
  }
}
