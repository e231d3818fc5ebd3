#include "logger/store/store_copy.hpp"

#include "logger/store/store_file.hpp"

namespace logger::store {

Result<void> copy_store(const std::string& from, const std::string& to) {
  Result<Connection> source = open_store_file(from, {.read_only = true});
  if (!source) {
    return Failure{source.error()};
  }
  constexpr int kNewFile =
      SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_PRIVATECACHE | SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE;
  Result<Connection> target = Connection::open(to, kNewFile, std::chrono::milliseconds{0});
  if (!target) {
    return Failure{target.error()};
  }
  // A copy that was not finished is thrown away, so it needs no journal.
  if (const auto set = target.value().execute("PRAGMA journal_mode = OFF"); !set) {
    return set;
  }
  if (const auto copied = source.value().copy_into(target.value()); !copied) {
    return copied;
  }
  // The header came over with the pages and asks for a write-ahead log.
  const auto mode = target.value().text("PRAGMA journal_mode = DELETE");
  return mode ? Result<void>{} : Failure{mode.error()};
}

}  // namespace logger::store
