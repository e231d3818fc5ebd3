// users.json on the disk: changed under a lock, so that `dwellog users` and the page's own changes
// never lose one another's; read again when somebody else changed it.
#pragma once

#include <filesystem>
#include <functional>
#include <optional>

#include "logger/web/access/book/access_book.hpp"
#include "logger/web/access/files/private_file.hpp"

namespace logger::web {

// An absent file is an empty book. Errors: corrupt, invalid_input (others may read it), io.
[[nodiscard]] store::Result<AccessBook> read_book(const std::filesystem::path& folder);

// Reads, changes and writes as one. Where `change` fails, or writing does, the file is as it was.
// Errors: those of read_book and of `change`; timeout, io, no_space.
store::Result<void> change_book(const std::filesystem::path& folder,
                                const std::function<store::Result<void>(AccessBook&)>& change);

// The book as it is now. One thread.
class BookReader {
 public:
  explicit BookReader(std::filesystem::path folder) : folder_(std::move(folder)) {}
  // nullptr while it cannot be read; ends with the next call. Cheap while the file is unchanged.
  [[nodiscard]] const AccessBook* current();

 private:
  std::filesystem::path folder_;
  std::optional<FileStamp> stamp_;
  std::optional<AccessBook> book_;
};

}  // namespace logger::web
