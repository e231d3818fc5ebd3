// An uncompressed tar archive of plain files, in the ustar form of POSIX.1-1988 that every tar
// opens. The reader takes nothing else: no links, folders, devices or extensions, no size beyond
// what the form can say, no header whose checksum does not fit. Each object: one thread.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "analysis/base/time.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

// Eleven octal digits.
inline constexpr std::uint64_t kMaxTarMemberBytes = (std::uint64_t{1} << 33) - 1;

struct TarMember {
  std::string path;  // relative, parts joined by /
  std::uint64_t size = 0;
  unsigned mode = 0644;
  analysis::base::UtcMicros modified_at;  // to the second
};

// Members one after the other: begin, then exactly its bytes, then end.
class TarWriter {
 public:
  using Sink = std::function<store::Result<void>(std::string_view)>;
  explicit TarWriter(Sink sink) : sink_(std::move(sink)) {}

  // unsupported when the path or the size does not fit into the form.
  store::Result<void> begin(const TarMember& member);
  // REQUIRES: no more in all than the member's size.
  store::Result<void> write(std::string_view bytes);
  // REQUIRES: all bytes of the member were written.
  store::Result<void> end();
  // After the last member.
  store::Result<void> finish();

 private:
  Sink sink_;
  std::uint64_t written_ = 0;
};

// Errors: invalid_input for bytes that are no such archive, or that end too early; those of the
// source.
class TarReader {
 public:
  // Gives how many bytes were there, 0 at the end.
  using Source = std::function<store::Result<std::size_t>(std::span<char>)>;
  // `name` begins the line of an error.
  TarReader(Source source, std::string name) : source_(std::move(source)), name_(std::move(name)) {}

  // The next member; nullopt at the archive's end, after which only zero bytes may follow.
  // REQUIRES: the member before was read to its end.
  store::Result<std::optional<TarMember>> next();
  // Gives 0 at the member's end.
  store::Result<std::size_t> read(std::span<char> bytes);

 private:
  store::Result<void> read_whole(std::span<char> bytes);
  store::Result<void> expect_only_zeros();
  [[nodiscard]] store::Failure malformed(const std::string& what) const;

  Source source_;
  std::string name_;
  std::uint64_t offset_ = 0;
  std::uint64_t left_ = 0;     // bytes of the member
  std::uint64_t padding_ = 0;  // zero bytes after it
};

}  // namespace logger::app
