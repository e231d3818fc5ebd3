#include "logger/web/access/book/book_file.hpp"

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

Result<void> AccessFiles::read_sessions() {
  if (sessions_read_) {
    return {};
  }
  const auto text = read_private_file(sessions_file(), kMostBytes);
  if (text) {
    auto kept = sessions_from_text(text.value(), sessions_file().string());
    if (!kept) {
      return store::Failure{kept.error()};
    }
    kept_ = std::move(kept).value();
  } else if (text.error().code != ErrorCode::not_found) {
    return store::Failure{text.error()};
  }
  sessions_read_ = true;
  return {};
}

Result<void> AccessFiles::read_users() {
  const FileStamp stamp = stamp_of(book_file(folder_));
  // A book that could not be read is tried again: what was wrong may be the folder's mode.
  if (book_ && stamp == stamp_) {
    return {};
  }
  auto read = read_book(folder_);
  stamp_ = stamp;
  book_ = read ? std::optional(std::move(read).value()) : std::nullopt;
  return book_ ? Result<void>{} : store::Failure{read.error()};
}

const AccessBook* AccessFiles::current() {
  for (const auto read : {&AccessFiles::read_sessions, &AccessFiles::read_users}) {
    if (const auto done = (this->*read)(); !done) {
      fault_ = done.error().context;
      return nullptr;
    }
  }
  fault_.clear();
  return &*book_;
}

}  // namespace logger::web
