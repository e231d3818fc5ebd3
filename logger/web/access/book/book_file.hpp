// users.json on the disk: changed under a lock, so that `dwellog users` and the page's own changes
// never lose one another's; read again when somebody else changed it.
#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <utility>

#include "logger/web/access/book/access_book.hpp"
#include "logger/web/access/book/access_json.hpp"
#include "logger/web/access/files/private_file.hpp"

namespace logger::web {

// An absent file is an empty book. Errors: corrupt, invalid_input (others may read it), io.
[[nodiscard]] store::Result<AccessBook> read_book(const std::filesystem::path& folder);

// Reads, changes and writes as one. Where `change` fails, or writing does, the file is as it was.
// Errors: those of read_book and of `change`; timeout, io, no_space.
store::Result<void> change_book(const std::filesystem::path& folder,
                                const std::function<store::Result<void>(AccessBook&)>& change);

// Both files as they are now. While one of them cannot be read there is no book: nobody gets in,
// and nothing is lost by writing over what somebody may mend. One thread.
class AccessFiles {
 public:
  explicit AccessFiles(std::filesystem::path folder) : folder_(std::move(folder)) {}
  // nullptr while users.json cannot be read, or sessions.json, which is read once; ends with the
  // next call. Cheap while the file is unchanged.
  [[nodiscard]] const AccessBook* current();
  // Why the last call gave none, in one line; empty when it gave one.
  [[nodiscard]] const std::string& fault() const { return fault_; }
  // What sessions.json held: once, after the first call that gave a book.
  [[nodiscard]] std::optional<SessionState> take_sessions() { return std::exchange(kept_, {}); }
  [[nodiscard]] bool sessions_read() const { return sessions_read_; }
  [[nodiscard]] std::filesystem::path sessions_file() const { return folder_ / "sessions.json"; }

 private:
  store::Result<void> read_sessions();
  store::Result<void> read_users();

  std::filesystem::path folder_;
  bool sessions_read_ = false;
  std::optional<SessionState> kept_;
  std::string fault_;
  std::optional<FileStamp> stamp_;
  std::optional<AccessBook> book_;
};

}  // namespace logger::web
