// A job folder with a key and an empty store, and its present state as a worker sees it.
#pragma once

#include <catch2/catch.hpp>
#include <fstream>
#include <sstream>

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "tests/delivery/server_rig.hpp"

namespace delivery_tests {

using analysis::base::Micros;
using analysis::base::UtcMicros;

inline constexpr UtcMicros kNow{1'795'676'700'000'000};  // 2026-11-26T07:05:00Z

class PushedJob {
 public:
  PushedJob() {
    std::ostringstream out, err;
    logger::app::NewOptions options;
    options.job_dir = folder().root;
    options.name = "House of Miller";  // invented
    REQUIRE(logger::app::new_job(options, {out, err}) == logger::app::kExitDone);
    auto made = logger::app::open_job(folder().root, true);
    INFO((made ? "" : made.error().context));
    REQUIRE(made);
    REQUIRE(made.value().store->mark_simulated(false));
    logger::store::CommitBatch batch;
    batch.seen_at = kNow;
    REQUIRE(made.value().store->commit(batch));
    job = made.value().job;
    job.client = "</script><script>alert(1)</script>";
    job.alerts.mqtt_server.reset();
    write("password", kPassword + "\n", 0600);
    fs::copy(servers.file("ca.pem"), folder().root / "ca.pem");
  }
  [[nodiscard]] logger::app::JobFolder folder() const { return {servers.file("job")}; }
  void write(const std::string& name, const std::string& bytes, unsigned mode) const {
    std::ofstream(folder().root / name) << bytes;
    fs::permissions(folder().root / name, static_cast<fs::perms>(mode));
  }
  [[nodiscard]] logger::app::OpenedJob opened() const {
    logger::app::OpenedJob opened;
    opened.folder = folder();
    opened.job = job;
    REQUIRE(logger::app::attach_store(opened, false));
    opened.now = kNow;
    return opened;
  }

  ServerFolder servers;
  logger::app::Job job;
};

}  // namespace delivery_tests
