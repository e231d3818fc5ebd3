#include "logger/verify/verify_files.hpp"

#include <array>
#include <fstream>
#include <optional>
#include <ostream>

#include "analysis/certificate/verify.hpp"
#include "logger/verify/given_files.hpp"
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

// The file in pieces, so that a year of readings needs no memory.
analysis::certificate::ByteSource source_from(std::ifstream& file, std::string& piece) {
  return [&file, &piece]() -> std::optional<std::string_view> {
    piece.resize(1 << 16);
    file.read(piece.data(), static_cast<std::streamsize>(piece.size()));
    piece.resize(static_cast<std::size_t>(file.gcount()));
    return piece.empty() ? std::nullopt : std::optional<std::string_view>(piece);
  };
}

int refuse(const FileFault& fault, const Output& output) {
  output.err << output.program << ": " << fault.text << '\n';
  return fault.exit_status;
}

int print(const analysis::certificate::Verification& verification, std::ostream& out) {
  for (const auto& line : verification.lines) {
    out << name_of(line.kind) << ": " << line.text << '\n';
  }
  static constexpr std::array<const char*, 4> kResults = {"PROVED", "UNREADABLE", "NOT PROVED",
                                                          "INTACT, KEY NOT GIVEN FROM OUTSIDE"};
  const auto status = static_cast<std::size_t>(verification.status);
  out << "result: " << kResults.at(status) << '\n';
  return static_cast<int>(verification.status);
}

}  // namespace

std::string rules_text() { return "dwellog " DWELLOG_VERSION; }

int verify_files(const VerifyOptions& options, const Output& output) {
  const auto bytes = bytes_of(options.certificate);
  if (!bytes) {
    return refuse(bytes.error(), output);
  }
  analysis::certificate::VerifyInput input;
  input.certificate = bytes.value();
  input.software = rules_text();
  if (!options.key.empty()) {
    const auto key = public_key_of(options.key);
    if (!key) {
      return refuse(key.error(), output);
    }
    input.outside_key = key.value();
  }
  for (const path& file : options.handovers) {
    auto handover = bytes_of(file);
    if (!handover) {
      return refuse(handover.error(), output);
    }
    input.handovers.push_back(std::move(handover).value());
  }
  auto stamps = stamps_from_files(options.authorities, options.stamps, bytes.value());
  if (!stamps) {
    return refuse(stamps.error(), output);
  }
  input.stamps = std::move(stamps).value();
  std::ifstream readings;
  std::string piece;
  if (!options.readings.empty()) {
    readings.open(options.readings, std::ios::binary);
    if (!readings) {
      return refuse(cannot_read(options.readings).error, output);
    }
    input.readings = source_from(readings, piece);
  }
  return print(analysis::certificate::verify_certificate(input), output.out);
}

}  // namespace logger::verify
