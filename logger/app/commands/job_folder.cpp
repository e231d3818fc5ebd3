#include "logger/app/commands/job_folder.hpp"

#include <fcntl.h>
#include <unistd.h>

#include "logger/app/daemon/real_clock.hpp"
#include "logger/app/files/open_file.hpp"
#include "logger/app/job/job_file.hpp"

namespace logger::app {

using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

std::string all_findings(const JobReading& reading) {
  std::string text;
  for (const JobFinding& finding : reading.errors) {
    text += (text.empty() ? "" : "\n") + text_of(finding);
  }
  return text;
}

// Of the whole file, held by the open description (Linux): it ends with it, however that ends, and
// whoever only looks takes nothing.
struct flock whole_file() {
  struct flock lock {};
  lock.l_type = F_WRLCK;
  lock.l_whence = SEEK_SET;
  return lock;
}

}  // namespace

FolderLock::FolderLock(const std::filesystem::path& file)
    : descriptor_(::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0644)) {
  struct flock lock = whole_file();
  held_ = descriptor_ >= 0 && ::fcntl(descriptor_, F_OFD_SETLK, &lock) == 0;
}

bool FolderLock::is_taken(const std::filesystem::path& file) {
  const auto looked = OpenFile::for_reading(file);
  struct flock lock = whole_file();
  return looked && ::fcntl(looked.value().descriptor(), F_OFD_GETLK, &lock) == 0 &&
         lock.l_type != F_UNLCK;
}

FolderLock::~FolderLock() {
  if (descriptor_ >= 0) {
    ::close(descriptor_);
  }
}

Result<std::string> read_file(const std::filesystem::path& path) {
  std::string bytes;
  const auto read = stream_file(path, [&bytes](std::string_view piece) -> Result<void> {
    bytes.append(piece);
    return {};
  });
  return read ? Result<std::string>(std::move(bytes)) : store::Failure{read.error()};
}

Result<void> write_file(const std::filesystem::path& path, std::string_view bytes, unsigned mode) {
  const std::filesystem::path temporary = path.string() + ".part";
  const std::string what = "cannot write " + path.string();
  {
    auto file = OpenFile::open(temporary, O_WRONLY | O_CREAT | O_TRUNC, mode, what);
    if (!file) {
      return store::Failure{file.error()};
    }
    if (const auto written = file.value().write(bytes); !written) {
      return written;
    }
    if (const auto synced = file.value().sync(); !synced) {
      return synced;
    }
  }
  if (::rename(temporary.c_str(), path.c_str()) != 0) {
    return system_failure(what);
  }
  return {};
}

Result<std::string> read_job_text(const JobFolder& folder) {
  auto text = read_file(folder.job_file());
  if (!text && text.error().code == ErrorCode::not_found) {
    const std::string root = folder.root.string();
    return failure(ErrorCode::not_found,
                   root + ": no job.json there; `dwellog new " + root + "` makes a job folder");
  }
  return text;
}

Result<OpenedJob> open_job(const std::filesystem::path& root, bool for_writing) {
  OpenedJob opened;
  opened.folder.root = root;
  auto text = read_job_text(opened.folder);
  if (!text) {
    return store::Failure{text.error()};
  }
  opened.job_text = std::move(text).value();
  JobReading reading = job_from_text(opened.job_text, opened.folder.job_file().string());
  if (!reading.job) {
    return failure(ErrorCode::invalid_input, all_findings(reading));
  }
  opened.job = std::move(*reading.job);
  opened.job_sha256_hex = reading.sha256_hex;
  const auto attached = attach_store(opened, for_writing);
  return attached ? Result<OpenedJob>(std::move(opened)) : store::Failure{attached.error()};
}

Result<void> attach_store(OpenedJob& opened, bool for_writing) {
  store::OpenOptions options;
  options.create = for_writing;
  options.read_only = !for_writing;
  auto store = open_sqlite_store(opened.folder.store_file().string(), options);
  if (!store) {
    return store::Failure{store.error()};
  }
  opened.store = std::move(store).value();
  const auto simulated = opened.store->simulated();
  if (!simulated) {
    return store::Failure{simulated.error()};
  }
  opened.simulated = simulated.value().value_or(false);
  opened.now = utc_of_this_machine();
  if (opened.simulated) {
    const auto seen = opened.store->last_seen();
    if (!seen) {
      return store::Failure{seen.error()};
    }
    opened.now = seen.value().value_or(opened.now);
  }
  return {};
}

}  // namespace logger::app
