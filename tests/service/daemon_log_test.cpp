// Log lines for a person and for the journal.
#include "logger/app/daemon/service/daemon_log.hpp"

#include <catch2/catch.hpp>
#include <sstream>

using namespace logger::app;

namespace {
constexpr analysis::base::UtcMicros kAt{1'772'434'800'000'000};
}

TEST_CASE("WithoutAJournalALineBeginsWithTheTime") {
  std::ostringstream plain, journal;
  DaemonLog(plain, journal, false).write(LogLevel::error, kAt, "disk full");
  CHECK(plain.str() == "2026-03-02T07:00:00Z disk full\n");
  CHECK(journal.str().empty());
}

TEST_CASE("EveryLineToTheJournalHasItsLevel") {
  std::ostringstream plain, journal;
  DaemonLog log(plain, journal, true);
  log.write(LogLevel::error, kAt, "first\nsecond");
  log.write(LogLevel::info, kAt, "third");
  CHECK(journal.str() == "<3>first\n<3>second\n<6>third\n");
  CHECK(plain.str().empty());
}

TEST_CASE("AStreamThatIsNotStandardErrorIsNoJournal") {
  CHECK_FALSE(logs_to_journal({"", "", "", ""}));
  CHECK_FALSE(logs_to_journal({"", "", "", "1:2"}));
}
