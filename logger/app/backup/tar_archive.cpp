#include "logger/app/backup/tar_archive.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cstring>

namespace logger::app {

using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr std::size_t kBlock = 512;
using Block = std::array<char, kBlock>;

// Offset and length in the header. Source: POSIX.1-1988, section 10.1.1, extended tar format.
struct Field {
  std::size_t offset;
  std::size_t length;
};
constexpr Field kName{0, 100};
constexpr Field kMode{100, 8};
constexpr Field kOwner{108, 8};
constexpr Field kGroup{116, 8};
constexpr Field kSize{124, 12};
constexpr Field kTime{136, 12};
constexpr Field kChecksum{148, 8};
constexpr Field kType{156, 1};
constexpr Field kMagic{257, 8};  // with the version behind it
constexpr Field kPrefix{345, 155};
constexpr std::string_view kUstar("ustar\00000", 8);

std::uint64_t padding_of(std::uint64_t size) { return (kBlock - size % kBlock) % kBlock; }

void put_text(Block& block, Field field, std::string_view text) {
  std::copy(text.begin(), text.end(), block.begin() + static_cast<std::ptrdiff_t>(field.offset));
}

// All but the last byte of the field, which stays zero.
void put_octal(Block& block, Field field, std::uint64_t value) {
  for (std::size_t i = field.length - 1; i-- > 0; value /= 8) {
    block[field.offset + i] = static_cast<char>('0' + value % 8);
  }
  assert(value == 0);
}

std::string_view text_of(const Block& block, Field field) {
  const std::string_view whole(block.data() + field.offset, field.length);
  return whole.substr(0, whole.find('\0'));
}

// Digits, then only spaces or zero bytes.
std::optional<std::uint64_t> octal_of(const Block& block, Field field) {
  const std::string_view whole(block.data() + field.offset, field.length);
  std::uint64_t value = 0;
  std::size_t i = 0;
  for (; i < whole.size() && whole[i] >= '0' && whole[i] <= '7'; ++i) {
    value = value * 8 + static_cast<std::uint64_t>(whole[i] - '0');
  }
  const bool ended =
      whole.find_first_not_of(std::string_view(" \0", 2), i) == std::string_view::npos;
  return i > 0 && ended ? std::optional(value) : std::nullopt;
}

// The sum of all bytes, its own field read as spaces.
std::uint64_t checksum_of(const Block& block) {
  std::uint64_t sum = 0;
  for (std::size_t i = 0; i < kBlock; ++i) {
    const bool own = i >= kChecksum.offset && i < kChecksum.offset + kChecksum.length;
    sum += own ? ' ' : static_cast<unsigned char>(block[i]);
  }
  return sum;
}

bool all_zero(std::string_view bytes) {
  return bytes.find_first_not_of('\0') == std::string_view::npos;
}

// The folder goes into the prefix, where the path alone would be too long.
bool put_path(Block& block, const std::string& path) {
  if (path.size() <= kName.length) {
    put_text(block, kName, path);
    return true;
  }
  const std::size_t slash = path.rfind('/');
  if (slash == std::string::npos || slash > kPrefix.length ||
      path.size() - slash - 1 > kName.length) {
    return false;
  }
  put_text(block, kPrefix, std::string_view(path).substr(0, slash));
  put_text(block, kName, std::string_view(path).substr(slash + 1));
  return true;
}

}  // namespace

Result<void> TarWriter::begin(const TarMember& member) {
  Block block{};
  if (!put_path(block, member.path)) {
    return failure(ErrorCode::unsupported,
                   member.path + ": a name of more than 100 bytes fits into no backup; rename it");
  }
  if (member.size > kMaxTarMemberBytes) {
    return failure(ErrorCode::unsupported, member.path + ": " + std::to_string(member.size) +
                                               " bytes; a part of a backup has at most " +
                                               std::to_string(kMaxTarMemberBytes));
  }
  put_octal(block, kMode, member.mode);
  put_octal(block, kOwner, 0);
  put_octal(block, kGroup, 0);
  put_octal(block, kSize, member.size);
  const std::int64_t seconds = std::max<std::int64_t>(member.modified_at.value / 1'000'000, 0);
  put_octal(block, kTime, std::min(static_cast<std::uint64_t>(seconds), kMaxTarMemberBytes));
  put_text(block, kType, "0");
  put_text(block, kMagic, kUstar);
  put_octal(block, Field{kChecksum.offset, kChecksum.length - 1}, checksum_of(block));
  block[kChecksum.offset + kChecksum.length - 1] = ' ';
  written_ = 0;
  return sink_(std::string_view(block.data(), block.size()));
}

Result<void> TarWriter::write(std::string_view bytes) {
  written_ += bytes.size();
  return sink_(bytes);
}

Result<void> TarWriter::end() { return sink_(std::string(padding_of(written_), '\0')); }

Result<void> TarWriter::finish() { return sink_(std::string(2 * kBlock, '\0')); }

store::Failure TarReader::malformed(const std::string& what) const {
  return failure(ErrorCode::invalid_input,
                 name_ + ": byte " + std::to_string(offset_) + ": " + what);
}

Result<void> TarReader::read_whole(std::span<char> bytes) {
  while (!bytes.empty()) {
    const auto got = source_(bytes);
    if (!got) {
      return store::Failure{got.error()};
    }
    if (got.value() == 0) {
      return malformed("the file ends here, in the middle of a part: it was cut off");
    }
    offset_ += got.value();
    bytes = bytes.subspan(got.value());
  }
  return {};
}

Result<void> TarReader::expect_only_zeros() {
  Block block{};
  while (true) {
    const auto got = source_(block);
    if (!got) {
      return store::Failure{got.error()};
    }
    if (got.value() == 0) {
      return {};
    }
    if (!all_zero(std::string_view(block.data(), got.value()))) {
      return malformed("something follows the end of the archive");
    }
    offset_ += got.value();
  }
}

Result<std::optional<TarMember>> TarReader::next() {
  assert(left_ == 0);
  Block block{};
  if (const auto skipped = read_whole(std::span(block).first(padding_)); !skipped) {
    return store::Failure{skipped.error()};
  }
  if (!all_zero(std::string_view(block.data(), padding_))) {
    return malformed("expected zero bytes up to the next part");
  }
  if (const auto header = read_whole(block); !header) {
    return store::Failure{header.error()};
  }
  offset_ -= kBlock;  // what follows concerns the header
  if (all_zero(std::string_view(block.data(), kBlock))) {
    const auto ended = expect_only_zeros();
    return ended ? Result<std::optional<TarMember>>{std::nullopt} : store::Failure{ended.error()};
  }
  const auto checksum = octal_of(block, kChecksum);
  const auto size = octal_of(block, kSize);
  const auto mode = octal_of(block, kMode);
  const auto seconds = octal_of(block, kTime);
  if (std::string_view(block.data() + kMagic.offset, kMagic.length) != kUstar || !checksum ||
      *checksum != checksum_of(block)) {
    return malformed("expected the header of a part; this is no backup, or it was edited");
  }
  if (!size || !mode || !seconds || *size > kMaxTarMemberBytes) {
    return malformed("a number in the header of a part is no number");
  }
  TarMember member{std::string(text_of(block, kName)),
                   *size,
                   static_cast<unsigned>(*mode & 07777),
                   {static_cast<std::int64_t>(*seconds) * 1'000'000}};
  if (const auto prefix = text_of(block, kPrefix); !prefix.empty()) {
    member.path = std::string(prefix) + "/" + member.path;
  }
  if (const char type = block[kType.offset]; type != '0') {
    return malformed(member.path + " is no plain file; a backup holds nothing else");
  }
  offset_ += kBlock;
  left_ = *size;
  padding_ = padding_of(*size);
  return std::optional(std::move(member));
}

Result<std::size_t> TarReader::read(std::span<char> bytes) {
  const std::size_t wanted = static_cast<std::size_t>(std::min<std::uint64_t>(bytes.size(), left_));
  if (const auto got = read_whole(bytes.first(wanted)); !got) {
    return store::Failure{got.error()};
  }
  left_ -= wanted;
  return wanted;
}

}  // namespace logger::app
