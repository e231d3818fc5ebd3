// A job folder with something of everything in it, for the tests of backup and restore. Invented.
#pragma once

#include <sys/stat.h>

#include <catch2/catch.hpp>
#include <fstream>
#include <iterator>
#include <sstream>
#include <string>

#include "logger/app/backup/read_backup.hpp"
#include "logger/app/backup/write_backup.hpp"
#include "logger/app/commands/commands.hpp"
#include "tests/app/scratch_folder.hpp"
#include "tests/store/evidence_site.hpp"

namespace backup_tests {

using namespace logger::app;
namespace fs = std::filesystem;

inline constexpr analysis::base::UtcMicros kMadeAt{1'772'600'000'000'000};

inline std::string bytes_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

inline void write(const fs::path& file, const std::string& bytes) {
  fs::create_directories(file.parent_path());
  std::ofstream(file, std::ios::binary | std::ios::trunc) << bytes;
}

inline unsigned mode_of(const fs::path& file) {
  struct stat status {};
  REQUIRE(::stat(file.c_str(), &status) == 0);
  return status.st_mode & 0777U;
}

class BackedUpJob {
 public:
  BackedUpJob() {
    std::ostringstream out, err;
    NewOptions options;
    options.job_dir = dir();
    REQUIRE(new_job(options, {out, err}) == 0);
    store_tests::add_rounds(store(), 0, 4);
  }
  [[nodiscard]] fs::path scratch() const { return scratch_.path(); }
  [[nodiscard]] fs::path dir() const { return scratch_.path() / "job"; }
  [[nodiscard]] std::string store() const { return (dir() / "readings.sqlite").string(); }
  [[nodiscard]] fs::path file() const { return scratch_.path() / "backup.tar"; }
  [[nodiscard]] fs::path restored() const { return scratch_.path() / "restored"; }
  [[nodiscard]] BackupOrder order(bool with_secret_key = false) const {
    return {dir(), file(), with_secret_key, kMadeAt, "House (invented)", "test"};
  }
  BackupMade back_up(bool with_secret_key = false) const {
    return store_tests::must(write_backup(order(with_secret_key)));
  }

 private:
  ScratchFolder scratch_;
};

inline std::string error_of(const logger::store::Result<RestoredJob>& result) {
  REQUIRE_FALSE(result);
  return result.error().context;
}

}  // namespace backup_tests
