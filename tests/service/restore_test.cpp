// `dwellog restore`: what it refuses, and that the folder is then as it was.
#include <functional>
#include <sstream>

#include "analysis/evidence/checkpoint.hpp"
#include "analysis/evidence/signing_key.hpp"
#include "logger/app/backup/tar_archive.hpp"
#include "tests/service/backup_job.hpp"

using namespace backup_tests;
using analysis::evidence::sha256_from_bytes;
using Catch::Matchers::Contains;
using logger::store::ErrorCode;
using logger::store::Result;
using store_tests::must;

namespace {

struct Part {
  std::string path;
  std::string bytes;
};

// An archive of these members, whatever they are.
std::string archive_of(const std::vector<Part>& members) {
  std::string bytes;
  TarWriter tar([&](std::string_view more) {
    bytes += more;
    return Result<void>{};
  });
  for (const Part& part : members) {
    must(tar.begin({part.path, part.bytes.size(), 0644, kMadeAt}));
    must(tar.write(part.bytes));
    must(tar.end());
  }
  must(tar.finish());
  return bytes;
}

BackupManifest manifest_of(const std::vector<Part>& parts) {
  BackupManifest manifest{kMadeAt, "House (invented)", "test", false, {}, {}};
  for (const Part& part : parts) {
    manifest.parts.push_back({part.path, part.bytes.size(), sha256_from_bytes(part.bytes)});
  }
  return manifest;
}

// An archive that begins with this manifest and its digest.
std::string archive_under(const std::string& manifest, const std::vector<Part>& parts) {
  std::vector<Part> members{{"manifest.json", manifest},
                            {"manifest.json.sha256", digest_line_from_manifest(manifest)}};
  members.insert(members.end(), parts.begin(), parts.end());
  return archive_of(members);
}

std::string backup_of(const std::vector<Part>& parts) {
  return archive_under(must(text_from_manifest(manifest_of(parts))), parts);
}

// The job of `job` with a store of those bytes, and more parts; the manifest fits.
std::string backup_with(const BackedUpJob& job, const std::string& store_bytes,
                        const std::vector<Part>& more = {}) {
  std::vector<Part> parts = more;
  parts.push_back({"job.json", bytes_of(job.dir() / "job.json")});
  parts.push_back({"readings.sqlite", store_bytes});
  BackupManifest manifest = manifest_of(parts);
  manifest.log = store_tests::head_of(job.store());
  return archive_under(must(text_from_manifest(manifest)), parts);
}

void expect_refused(const BackedUpJob& job, const std::string& archive, ErrorCode code,
                    const std::string& words) {
  write(job.file(), archive);
  const auto restored = restore_backup(job.file(), job.restored());
  REQUIRE_FALSE(restored);
  CHECK(restored.error().code == code);
  CHECK_THAT(restored.error().context, Contains(words));
  CHECK_FALSE(fs::exists(job.restored()));
  CHECK_FALSE(fs::exists(job.restored().string() + ".restoring"));
}

const std::vector<Part> kTwoParts{{"job.json", "{}"}, {"readings.sqlite", "no store"}};

}  // namespace

TEST_CASE("AFolderThatHoldsSomethingIsNeverRestoredOver") {
  const BackedUpJob job;
  job.back_up();
  write(job.restored() / "mine.txt", "keep");
  CHECK_THAT(error_of(restore_backup(job.file(), job.restored())), Contains("holds something"));
  CHECK(bytes_of(job.restored() / "mine.txt") == "keep");
  fs::remove(job.restored() / "mine.txt");
  must(restore_backup(job.file(), job.restored().string() + "/"));
  CHECK(fs::exists(job.restored() / "readings.sqlite"));
}

TEST_CASE("AnInterruptedRestoreIsToldFromAJobFolder") {
  const BackedUpJob job;
  job.back_up();
  fs::create_directory(job.restored().string() + ".restoring");
  CHECK_THAT(error_of(restore_backup(job.file(), job.restored())), Contains("cut short"));
  CHECK_FALSE(fs::exists(job.restored()));
}

TEST_CASE("ABackupCutOffAnywhereIsRefused") {
  const BackedUpJob job;
  job.back_up();
  const std::string whole = bytes_of(job.file());
  for (std::size_t length = 0; length < whole.size(); length += 512 * 7 + 129) {
    write(job.file(), whole.substr(0, length));
    INFO("cut to " << length << " of " << whole.size() << " bytes");
    const auto restored = restore_backup(job.file(), job.restored());
    CHECK_FALSE(restored);
    CHECK_FALSE(fs::exists(job.restored()));
  }
  // Cut between the last part and the end of the archive.
  write(job.file(), whole.substr(0, whole.size() - 1024));
  CHECK_THAT(error_of(restore_backup(job.file(), job.restored())), Contains("cut off"));
}

TEST_CASE("AnyEditedByteIsFound") {
  const BackedUpJob job;
  job.back_up();
  const std::string whole = bytes_of(job.file());
  for (std::size_t at = 0; at < whole.size(); at += at < 2560 ? 3 : 401) {
    std::string edited = whole;
    edited[at] = static_cast<char>(edited[at] ^ 0x41);
    write(job.file(), edited);
    INFO("byte " << at << " of " << whole.size());
    CHECK_FALSE(restore_backup(job.file(), job.restored()));
  }
  CHECK_FALSE(fs::exists(job.restored()));
}

TEST_CASE("PathsThatLeaveTheFolderAreRefused") {
  const BackedUpJob job;
  for (const char* path :
       {"../evil", "/etc/evil", "keys/../../evil", "keys/a/b", ".hidden", "keys/.hidden", "keys/",
        "other/file", "photos\\x", "evil.txt", "run.lock", "readings.sqlite-wal", ""}) {
    INFO(path);
    std::vector<Part> parts = kTwoParts;
    parts.push_back({path, "x"});
    expect_refused(job, backup_of(parts), ErrorCode::invalid_input, "has no place");
  }
}

TEST_CASE("TheArchiveHoldsWhatTheManifestSaysAndNothingElse") {
  const BackedUpJob job;
  const std::string manifest = must(text_from_manifest(manifest_of(kTwoParts)));
  expect_refused(job, archive_under(manifest, {kTwoParts[0], {"../evil", "no store"}}),
                 ErrorCode::corrupt, "expected readings.sqlite");
  expect_refused(job, archive_under(manifest, {kTwoParts[1], kTwoParts[0]}), ErrorCode::corrupt,
                 "expected job.json");
  expect_refused(job, archive_under(manifest, {kTwoParts[0]}), ErrorCode::corrupt, "found the end");
  expect_refused(job, archive_under(manifest, {kTwoParts[0], kTwoParts[1], {"photos/x.jpg", "x"}}),
                 ErrorCode::corrupt, "does not stand in the manifest");
  expect_refused(job, archive_under(manifest, {{"job.json", "{ }"}, kTwoParts[1]}),
                 ErrorCode::corrupt, "with 3");
  expect_refused(job, archive_under(manifest, {{"job.json", "[]"}, kTwoParts[1]}),
                 ErrorCode::corrupt, "SHA-256 differs");
  expect_refused(job, archive_of({kTwoParts[0], {"manifest.json", manifest}}),
                 ErrorCode::invalid_input, "does not begin with manifest.json");
}

TEST_CASE("OtherFormatsAndOddManifestsAreRefused") {
  const BackedUpJob job;
  const std::string good = must(text_from_manifest(manifest_of(kTwoParts)));
  const auto with = [&](const std::string& from, const std::string& to) {
    std::string text = good;
    const std::size_t at = text.find(from);
    REQUIRE(at != std::string::npos);
    return archive_under(text.replace(at, from.size(), to), {});
  };
  expect_refused(job, with("backup-1", "backup-2"), ErrorCode::invalid_input, "dwellog-backup-2");
  expect_refused(job, with("\"bytes\":2", "\"bytes\":8589934592"), ErrorCode::invalid_input,
                 "more than a part");
  expect_refused(job, with("\"bytes\":2", "\"bytes\":-2"), ErrorCode::invalid_input, "part 1");
  expect_refused(job, with("job.json", "job.jsom"), ErrorCode::invalid_input, "no place");
  expect_refused(job, with("readings.sqlite", "job.json"), ErrorCode::invalid_input, "twice");
  expect_refused(job, with("{\"format\"", "{ \"format\""), ErrorCode::invalid_input, "manifest");
  expect_refused(job, "", ErrorCode::invalid_input, "cut off");
  expect_refused(job, std::string(5000, 'x'), ErrorCode::invalid_input, "no backup");
}

TEST_CASE("AStoreThatWasEditedBeforeItsDigestWasTakenIsFoundByItsLog") {
  const BackedUpJob job;
  job.back_up();
  fs::create_directory(job.scratch() / "edited");
  const fs::path edited = job.scratch() / "edited" / "readings.sqlite";
  fs::copy_file(job.store(), edited);
  store_tests::tamper(edited.string(), "UPDATE notes SET content_json = '{\"text\":\"wet\"}'");
  store_tests::PlainSqlite(edited.string()).execute("PRAGMA journal_mode = DELETE");
  expect_refused(job, backup_with(job, bytes_of(edited)), ErrorCode::corrupt, "evidence log");
  expect_refused(job, backup_with(job, "no store"), ErrorCode::corrupt, "not a database");
}

TEST_CASE("ACheckpointThatTheLogDoesNotContinueIsFound") {
  const BackedUpJob job;
  const auto key =
      analysis::evidence::signing_key_from_text(bytes_of(job.dir() / "certificate-key.secret"));
  REQUIRE(key);
  auto head = store_tests::head_of(job.store());
  const auto signed_at = [&] {
    return analysis::evidence::sign_checkpoint(head, false, kMadeAt, key.value()).value();
  };
  write(job.dir() / "checkpoints" / "checkpoint-1.json", signed_at());
  job.back_up();
  CHECK(must(restore_backup(job.file(), job.restored())).checkpoints == 1);
  fs::remove_all(job.restored());
  head.root.bytes[0] ^= 1;
  const std::string store_bytes = [&] {
    const fs::path copy = job.scratch() / "copy";
    must(restore_backup(job.file(), copy));
    return bytes_of(copy / "readings.sqlite");
  }();
  expect_refused(job,
                 backup_with(job, store_bytes,
                             std::vector<Part>{{"checkpoints/checkpoint-1.json", signed_at()}}),
                 ErrorCode::corrupt, "evidence log");
}
