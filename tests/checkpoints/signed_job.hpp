// A job folder with a store of some rounds and a job.json that names an authority on loopback.
#pragma once

#include <catch2/catch.hpp>
#include <sstream>
#include <string>

#include "logger/app/checkpoints/checkpoint_folder.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "tests/store/evidence_site.hpp"
#include "tests/timestamp/test_authority.hpp"

namespace checkpoint_tests {

namespace fs = std::filesystem;
using namespace logger::app;

inline const timestamp_tests::TestServer& authority_server() {
  ::setenv("no_proxy", "127.0.0.1", 1);
  static const timestamp_tests::TestServer server;
  return server;
}

// While it lives the authority answers nobody.
class Offline {
 public:
  Offline() { timestamp_tests::write_bytes(mark(), ""); }
  ~Offline() { fs::remove(mark()); }
  Offline(const Offline&) = delete;
  Offline& operator=(const Offline&) = delete;

 private:
  static fs::path mark() { return timestamp_tests::TestAuthority::instance().folder() / "offline"; }
};

struct Said {
  int status = -1;
  std::string out;
  std::string err;
};

class SignedJob {
 public:
  SignedJob() {
    std::ostringstream out, err;
    NewOptions options;
    options.job_dir = folder().root;
    REQUIRE(new_job(options, {out, err}) == kExitDone);
    template_ = timestamp_tests::bytes_of(folder().job_file());
    add_rounds(0, 3);
  }
  [[nodiscard]] JobFolder folder() const { return {scratch_.file("job")}; }
  [[nodiscard]] std::string store() const { return folder().store_file().string(); }
  [[nodiscard]] fs::path file(const std::string& name) const { return scratch_.file(name); }
  [[nodiscard]] fs::path checkpoint_file(std::uint64_t size,
                                         const std::string& end = ".json") const {
    return folder().checkpoints() / ("checkpoint-" + std::to_string(size) + end);
  }
  void add_rounds(std::int64_t from, std::int64_t to) const {
    store_tests::add_rounds(store(), from, to);
  }
  [[nodiscard]] std::uint64_t log_size() const { return store_tests::head_of(store()).size; }

  // Settings of job.json; the authority's certificates lie in the job folder where `pem` names
  // some.
  [[nodiscard]] JobCheckpoints settings(const std::string& path,
                                        const std::string& pem = "ca") const {
    JobCheckpoints settings;
    settings.time_stamp_url = path.empty() ? "" : authority_server().url(path);
    if (!pem.empty()) {
      settings.authority_certificates = "authority.pem";
      timestamp_tests::write_bytes(folder().root / "authority.pem",
                                   timestamp_tests::TestAuthority::instance().pem(pem));
    }
    return settings;
  }
  void use(const JobCheckpoints& settings) const {
    std::string text = template_;
    const std::string place = "\n  \"alerts\": {";
    text.insert(text.find(place), "\n  \"checkpoints\": {\"time_stamp_url\": \"" +
                                      settings.time_stamp_url +
                                      "\", \"authority_certificates\": \"" +
                                      settings.authority_certificates + "\"},\n");
    timestamp_tests::write_bytes(folder().job_file(), text);
  }

  [[nodiscard]] Said checkpoint(const fs::path& output = {},
                                const fs::path& passphrase = {}) const {
    std::ostringstream out, err;
    const int status = logger::app::checkpoint({folder().root, output, passphrase}, {out, err});
    return {status, out.str(), err.str()};
  }
  [[nodiscard]] Said inspect() const {
    std::ostringstream out, err;
    const int status = logger::app::inspect(folder().root, {out, err});
    return {status, out.str(), err.str()};
  }
  [[nodiscard]] KeptCheckpoints kept(const std::optional<JobCheckpoints>& settings = {}) const {
    return store_tests::must(kept_checkpoints(folder(), settings));
  }
  [[nodiscard]] std::vector<std::string> files() const {
    std::vector<std::string> names;
    for (const auto& entry : fs::directory_iterator(folder().checkpoints())) {
      names.push_back(entry.path().filename().string());
    }
    std::sort(names.begin(), names.end());
    return names;
  }

 private:
  store_tests::StoreFolder scratch_;
  std::string template_;
};

}  // namespace checkpoint_tests
