// run: the daemon, in real or in simulated time.
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <csignal>
#include <optional>
#include <ostream>

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/daemon/daemon.hpp"
#include "logger/app/daemon/page_service.hpp"
#include "logger/app/daemon/real_clock.hpp"
#include "logger/app/daemon/service/daemon_log.hpp"
#include "logger/app/daemon/service/service_manager.hpp"
#include "logger/app/daemon/simulated_clock.hpp"
#include "logger/app/push/delivery_faults.hpp"

namespace logger::app {

using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

struct JobConnections {
  OpenedJob reading;
  std::unique_ptr<store::ReadingStore> writing;
};

Result<JobConnections> open_connections(const path& job_dir, bool simulated) {
  auto opened = open_job(job_dir, true);
  if (!opened) {
    return store::Failure{opened.error()};
  }
  auto writing = std::move(opened.value().store);
  const auto marked = writing->mark_simulated(simulated);
  if (!marked) {
    return store::Failure{marked.error()};
  }
  auto reading =
      store::open_sqlite_store(opened.value().folder.store_file().string(), {.read_only = true});
  if (!reading) {
    return store::Failure{reading.error()};
  }
  opened.value().store = std::move(reading).value();
  opened.value().simulated = simulated;
  return JobConnections{std::move(opened).value(), std::move(writing)};
}

// What the page's threads have to say goes into the log on the loop.
PageService::Say say_in(boost::asio::io_context& loop, const DaemonPorts& ports) {
  return [&loop, &log = ports.log, &clock = ports.clock](const std::string& line, LogLevel level) {
    boost::asio::post(loop,
                      [&log, &clock, line, level] { log.write(level, clock.utc_now(), line); });
  };
}

// Runs until the daemon has finished.
Result<void> run_loop(boost::asio::io_context& loop, DaemonPorts ports, SimulatedClock* simulated,
                      JobConnections connections) {
  for (const std::string& fault : delivery_faults(connections.reading)) {
    ports.log.write(LogLevel::warning, ports.clock.utc_now(), fault);
  }
  std::optional<PageService> page;
  if (connections.reading.job.page) {
    page.emplace(connections.reading, say_in(loop, ports));
    ports.committed = [&page] { page->committed(); };
    if (const auto started = page->start(); !started) {
      return started;
    }
  }
  Daemon daemon(ports, std::move(connections.reading), std::move(connections.writing));
  std::optional<Result<void>> result;
  boost::asio::signal_set signals(loop, SIGINT, SIGTERM);
  signals.async_wait([&](const boost::system::error_code& error, int /*signal*/) {
    if (!error) {
      daemon.stop();
    }
  });
  daemon.start([&](Result<void> done) {
    result = std::move(done);
    if (page) {
      page->stop();  // before the daemon closes the store, so that it is the last to do so
    }
    signals.cancel();
    loop.stop();
  });
  if (simulated != nullptr) {
    simulated->on_end([&] { daemon.stop(); });
    run_simulated(
        loop, *simulated, [&] { return daemon.busy(); }, [&] { return result.has_value(); });
  } else {
    loop.run();
  }
  return *result;
}

// Where the journal listens, the line that ends the daemon has the level of an error.
int report_end(const Console& console, const store::Error& error, bool to_journal) {
  if (to_journal) {
    DaemonLog(console.out, console.err, true).write(LogLevel::error, {}, error.context);
    return exit_status_of(error);
  }
  return report(console, error);
}

}  // namespace

int run_job(const RunOptions& options, const Console& console) {
  std::signal(SIGPIPE, SIG_IGN);
  std::signal(SIGXFSZ, SIG_IGN);  // a file at its limit is an error of the write
  const bool simulated = !options.simulated_time_socket.empty();
  const ServiceEnvironment environment = service_environment();
  const bool to_journal = logs_to_journal(environment);
  boost::asio::io_context loop(1);
  SimulatedClock simulated_clock(loop);
  RealClock real_clock(loop);
  auto connections = open_connections(options.job_dir, simulated);
  if (!connections) {
    return report_end(console, connections.error(), to_journal);
  }
  const FolderLock lock(JobFolder{options.job_dir}.run_lock());
  if (!lock.held()) {
    return report_end(console,
                      {ErrorCode::unavailable,
                       options.job_dir.string() + ": another dwellog run works on this job", 0},
                      to_journal);
  }
  if (simulated) {
    const auto connected = simulated_clock.connect(options.simulated_time_socket, "dwellog");
    if (!connected) {
      return report_end(console, connected.error(), to_journal);
    }
    console.out
        << "SIMULATED SITE: time and readings of this run are simulated, for ever marked so\n"
        << std::flush;
  }
  DaemonLog log(console.out, console.err, to_journal);
  // A service manager waits in real time.
  NotifySocket service(simulated ? ServiceEnvironment{} : environment);
  const DaemonPorts ports{loop,
                          simulated ? static_cast<ingest::Clock&>(simulated_clock) : real_clock,
                          simulated ? &simulated_clock : nullptr, log, service};
  const auto done =
      run_loop(loop, ports, simulated ? &simulated_clock : nullptr, std::move(connections).value());
  if (done && simulated && simulated_clock.was_dropped()) {
    return report_end(
        console,
        {ErrorCode::unavailable,
         "simulated time ended before its scenario: the simulator went away, or dropped "
         "this program (its last line says why; each port must be spelled in job.json as "
         "it was given to the simulator)",
         0},
        to_journal);
  }
  return done ? kExitDone : report_end(console, done.error(), to_journal);
}

}  // namespace logger::app
