#include "logger/verify/verify_files.hpp"

#include <array>
#include <fstream>
#include <optional>
#include <ostream>

#include "analysis/certificate/verify.hpp"
#include "logger/verify/given_files.hpp"
#include "logger/verify/photo_folder.hpp"
#include "logger/verify/stamp_files.hpp"

namespace logger::verify {
namespace {

using analysis::base::Failure;
using std::filesystem::path;

FileResult<analysis::evidence::PublicKey> public_key_of(const path& file) {
  const auto text = bytes_of(file);
  if (!text) {
    return Failure{text.error()};
  }
  const auto key = analysis::evidence::public_key_from_text(text.value());
  if (!key) {
    return Failure{FileFault{file.string() + ": " + key.error().text}};
  }
  return key.value();
}

// A file in pieces, so that a year of readings needs no memory.
struct StreamedFile {
  std::ifstream file;
  std::string piece;

  // Opens it as `source`, which ends with this; leaves that empty when no file is given.
  FileResult<void> open(const path& name, analysis::certificate::ByteSource& source) {
    if (name.empty()) {
      return {};
    }
    file.open(name, std::ios::binary);
    if (!file) {
      return cannot_read(name);
    }
    source = [this]() -> std::optional<std::string_view> {
      piece.resize(1 << 16);
      file.read(piece.data(), static_cast<std::streamsize>(piece.size()));
      piece.resize(static_cast<std::size_t>(file.gcount()));
      return piece.empty() ? std::nullopt : std::optional<std::string_view>(piece);
    };
    return {};
  }
};

// The bytes of each file, in order.
FileResult<void> read_all(const std::vector<path>& files, std::vector<std::string>& texts) {
  for (const path& file : files) {
    auto bytes = bytes_of(file);
    if (!bytes) {
      return Failure{bytes.error()};
    }
    texts.push_back(std::move(bytes).value());
  }
  return {};
}

// What files say is printed too: nothing of it may move the cursor, begin a line or turn text
// round. Control characters, and the marks of direction U+200E, U+200F, U+202A..2E and U+2066..69,
// are '?'.
std::string on_one_line(const std::string& text) {
  const auto at = [&text](std::size_t i) {
    return i < text.size() ? static_cast<unsigned char>(text[i]) : 0U;
  };
  std::string shown;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const unsigned last = at(i) == 0xE2 ? at(i + 2) : 0U;
    const bool turns =
        (at(i + 1) == 0x80 && (last == 0x8E || last == 0x8F || (last >= 0xAA && last <= 0xAE))) ||
        (at(i + 1) == 0x81 && last >= 0xA6 && last <= 0xA9);
    const bool high_control = at(i) == 0xC2 && at(i + 1) >= 0x80 && at(i + 1) < 0xA0;
    if (at(i) < 0x20 || at(i) == 0x7F || turns || high_control) {
      shown += '?';
      i += turns ? 2 : high_control ? 1 : 0;
    } else {
      shown += text[i];
    }
  }
  return shown;
}

int refuse(const FileFault& fault, const Output& output) {
  output.err << output.program << ": " << on_one_line(fault.text) << '\n';
  return fault.exit_status;
}

// The files that are read whole, into `input`; the streamed ones are left to the caller.
FileResult<void> read_given(const VerifyOptions& options, const std::string& certificate,
                            analysis::certificate::VerifyInput& input) {
  if (!options.key.empty()) {
    const auto key = public_key_of(options.key);
    if (!key) {
      return Failure{key.error()};
    }
    input.outside_key = key.value();
  }
  if (!options.since.empty() && options.log.empty()) {
    return Failure{FileFault{"--since " + options.since.front().string() +
                             ": a checkpoint is compared with the log file beside the "
                             "certificate; give it with --log"}};
  }
  for (const auto& read :
       {read_all(options.handovers, input.handovers),
        read_all(options.since, input.earlier_checkpoints), read_all(options.newer, input.newer)}) {
    if (!read) {
      return read;
    }
  }
  auto stamps = stamps_from_files(options.authorities, options.stamps, certificate);
  if (!stamps) {
    return Failure{stamps.error()};
  }
  input.stamps = std::move(stamps).value();
  if (options.photos.empty()) {
    return {};
  }
  auto photos = photos_in(options.photos, certificate);
  if (!photos) {
    return Failure{photos.error()};
  }
  input.photos = std::move(photos).value();
  return {};
}

}  // namespace

std::string rules_text() { return "dwellog " DWELLOG_VERSION; }

int print_verification(const analysis::certificate::Verification& verification,
                       const ResultWords& words, std::ostream& out) {
  for (const auto& line : verification.lines) {
    out << name_of(line.kind) << ": " << on_one_line(line.text) << '\n';
  }
  const std::array<const char*, 4> results = {words.proved, "UNREADABLE", "NOT PROVED",
                                              words.intact};
  const auto status = static_cast<std::size_t>(verification.status);
  out << "result: " << results.at(status) << '\n';
  return static_cast<int>(verification.status);
}

int verify_files(const VerifyOptions& options, const Output& output) {
  const auto bytes = bytes_of(options.certificate);
  if (!bytes) {
    return refuse(bytes.error(), output);
  }
  analysis::certificate::VerifyInput input;
  input.certificate = bytes.value();
  input.software = rules_text();
  StreamedFile readings;
  StreamedFile log;
  for (const auto& read :
       {read_given(options, bytes.value(), input), readings.open(options.readings, input.readings),
        log.open(options.log, input.log)}) {
    if (!read) {
      return refuse(read.error(), output);
    }
  }
  ResultWords words;
  if (options.readings.empty()) {
    words.proved = "PROVED AS SIGNED; NO READINGS WERE GIVEN TO RECOMPUTE THE VERDICT FROM";
  }
  return print_verification(analysis::certificate::verify_certificate(input), words, output.out);
}

}  // namespace logger::verify
