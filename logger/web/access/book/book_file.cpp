#include "logger/web/access/book/book_file.hpp"

#include "logger/web/access/book/access_json.hpp"

namespace logger::web {

using std::filesystem::path;
using store::ErrorCode;
using store::Result;

namespace {

constexpr std::size_t kMostBytes = 4UL * 1024 * 1024;

path book_file(const path& folder) { return folder / "users.json"; }

}  // namespace

Result<AccessBook> read_book(const path& folder) {
  const auto text = read_private_file(book_file(folder), kMostBytes);
  if (!text) {
    return text.error().code == ErrorCode::not_found ? Result<AccessBook>{AccessBook{}}
                                                     : store::Failure{text.error()};
  }
  return book_from_text(text.value(), book_file(folder).string());
}

Result<void> change_book(const path& folder,
                         const std::function<Result<void>(AccessBook&)>& change) {
  const auto lock = PrivateLock::take(folder / "users.lock");
  if (!lock) {
    return store::Failure{lock.error()};
  }
  auto book = read_book(folder);
  if (!book) {
    return store::Failure{book.error()};
  }
  if (const auto changed = change(book.value()); !changed) {
    return changed;
  }
  const auto text = text_from_book(book.value());
  return text ? write_private_file(book_file(folder), text.value())
              : Result<void>{store::Failure{text.error()}};
}

const AccessBook* BookReader::current() {
  const FileStamp stamp = stamp_of(book_file(folder_));
  // A book that could not be read is tried again: what was wrong may be the folder's mode.
  if (!book_ || stamp != stamp_) {
    auto read = read_book(folder_);
    stamp_ = stamp;
    book_ = read ? std::optional(std::move(read).value()) : std::nullopt;
  }
  return book_ ? &*book_ : nullptr;
}

}  // namespace logger::web
