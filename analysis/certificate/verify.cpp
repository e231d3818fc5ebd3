#include "analysis/certificate/verify.hpp"

#include <algorithm>
#include <utility>

#include "analysis/certificate/replay/companions.hpp"
#include "analysis/certificate/replay/handover_check.hpp"
#include "analysis/certificate/replay/log_check.hpp"
#include "analysis/certificate/replay/readings_check.hpp"
#include "analysis/certificate/replay/stamp_lines.hpp"
#include "analysis/evidence/sealed_fields.hpp"
#include "analysis/readiness/reason_texts.hpp"

namespace analysis::certificate {
namespace {

using evidence::SealedDocument;
using Lines = std::vector<VerificationLine>;

void add(Lines& lines, LineKind kind, std::string text) {
  lines.push_back({kind, std::move(text)});
}

void report_fields(const SealedDocument& document, Lines& lines) {
  for (const std::string& path : document.altered) {
    add(lines, LineKind::failed, "altered after signing: " + path);
  }
  for (const std::string& path : document.unsealed) {
    add(lines, LineKind::failed, "added after signing: " + path);
  }
  if (document.altered.empty() && document.unsealed.empty()) {
    add(lines, LineKind::proved,
        "every field present (" + std::to_string(document.facts.size()) + " of " +
            std::to_string(document.header.fields.size()) + ") is the one whose digest is listed");
  }
  for (const std::string& path : document.redacted) {
    add(lines, LineKind::note, "redacted: " + path);
  }
}

void report_signature(const SealedDocument& document, Lines& lines) {
  const std::string fingerprint = evidence::fingerprint_of(document.header.public_key);
  if (!document.signature_valid) {
    add(lines, LineKind::failed,
        "the signature does not fit the header under the key it names (" + fingerprint +
            "): altered after signing, or never signed with it");
  } else {
    add(lines, LineKind::proved,
        "the list of digests is signed with the key it names (" + fingerprint + ")");
  }
}

void report_outside_key(const SealedDocument& document,
                        const std::optional<evidence::PublicKey>& outside_key, Lines& lines) {
  const std::string fingerprint = evidence::fingerprint_of(document.header.public_key);
  if (!outside_key) {
    add(lines, LineKind::unproved,
        "whose key that is: no public key was given from outside; compare the fingerprint " +
            fingerprint + " with the one its owner tells you");
  } else if (*outside_key != document.header.public_key) {
    add(lines, LineKind::failed,
        "the certificate names another key (" + fingerprint + ") than the one given (" +
            evidence::fingerprint_of(*outside_key) + ")");
  } else if (document.signature_valid) {
    add(lines, LineKind::proved, "that key is the one given from outside");
  }
}

std::string subject_of(const readiness::SiteGateNote& note) {
  return std::string(readiness::name_of(note.gate));
}
std::string subject_of(const NotedFacts& note) { return note.subject; }

// What looks observed on the spot and was not. `what`: of the notes, plural.
template <class Note>
void report_late_notes(const std::vector<Note>& notes, const std::string& what, Lines& lines) {
  const auto late = std::ranges::find_if(notes, was_written_down_later<Note>);
  if (late == notes.end()) {
    return;
  }
  const auto count = std::ranges::count_if(notes, was_written_down_later<Note>);
  add(lines, LineKind::note,
      std::to_string(count) + " of the " + std::to_string(notes.size()) + " " + what +
          " that a person noted were written down over a day after the time they state: " +
          subject_of(*late) + ", of " + base::rfc3339_from_utc(late->at) + ", was on " +
          base::rfc3339_from_utc(*late->noted_at));
}

void report_period(const CertificateFacts& f, Lines& lines) {
  const PeriodEdges edges = period_edges(f);
  const auto hours = [](base::Micros time) {
    return std::to_string(std::chrono::duration_cast<std::chrono::hours>(time).count()) + " h";
  };
  if (edges.after_delivery) {
    add(lines, LineKind::note,
        "the period begins " + hours(*edges.after_delivery) +
            " after the delivery; the certificate says nothing of the time between");
  }
  if (edges.before_issue) {
    add(lines, LineKind::note,
        "the period ended " + hours(*edges.before_issue) +
            " before the issue; the certificate says nothing of the time between");
  }
}

void report_calibrations(const CertificateFacts& f, Lines& lines) {
  for (const InstrumentFacts& instrument : f.instruments) {
    for (const readiness::DatedCalibration& calibration : instrument.channel.calibrations) {
      if (moves_values(calibration, f.period)) {
        add(lines, LineKind::note,
            "values of " + instrument.channel.channel_id + " are calibrated from " +
                base::rfc3339_from_utc(calibration.valid_from) + " on: gain " +
                readiness::text_from_number(calibration.gain, 4) + ", offset " +
                readiness::text_from_number(calibration.offset, 2) + " " +
                std::string(base::file_unit_of(instrument.channel.scale.role)));
      }
    }
  }
}

void report_set_aside(const std::vector<NotedFacts>& notes, Lines& lines) {
  for (const NotedFacts& note : notes) {
    if (!note.set_aside.empty()) {
      add(lines, LineKind::note,
          note.subject + " of " + base::rfc3339_from_utc(note.at) + " (" + note.set_aside +
              ") does not count: another of its kind does, or it can't be used");
    }
  }
}

void report_content(const ReadCertificate& certificate, Lines& lines) {
  for (const std::string& path : certificate.unknown_fields) {
    add(lines, LineKind::unproved,
        "field \"" + path + "\" is signed, but this version of the program does not know it");
  }
  const CertificateFacts& f = certificate.facts;
  add(lines, LineKind::note,
      "certificate " + f.number + ", room " + f.room.room_id + ", " +
          base::rfc3339_from_utc(f.period.from) + " to " + base::rfc3339_from_utc(f.period.to) +
          ", issued " + base::rfc3339_from_utc(f.issued_at) + ": " +
          std::string(readiness::name_of(f.assessment.verdict)));
  if (f.laying.began_at && *f.laying.began_at < f.assessment.at) {
    add(lines, LineKind::note,
        "laying had begun (" + base::rfc3339_from_utc(*f.laying.began_at) +
            ") when the period ended: the verdict says how the room was, not whether to lay");
  }
  report_period(f, lines);
  report_calibrations(f, lines);
  report_late_notes(f.site_gates, "gates", lines);
  report_late_notes(f.noted, "other things", lines);
  report_set_aside(f.noted, lines);
}

void report_readings_and_log(const VerifyInput& input, Verification& result) {
  LogCheck log(*result.certificate, input);
  ReadingsCheck readings = check_readings(
      *result.certificate, input.readings, input.software,
      [&log](std::uint64_t number, std::string_view line) { log.take(number, line); });
  std::ranges::move(readings.lines, std::back_inserter(result.lines));
  std::ranges::move(log.finish(readings.read), std::back_inserter(result.lines));
}

// A log file or a checkpoint that was given, though what it needs was not, proves nothing.
void report_what_is_missing_for_the_log(const VerifyInput& input, Lines& lines) {
  if (input.log && !input.readings) {
    add(lines, LineKind::failed, "the log file can't be followed without the readings");
  }
  if (!input.earlier_checkpoints.empty() && !input.log) {
    add(lines, LineKind::failed,
        "the checkpoints given can't be compared with the log: its log file is needed");
  }
}

// The facts, and whether the readings bear them out.
void report_facts(const VerifyInput& input, const SealedDocument& document, Verification& result) {
  auto certificate = certificate_from_document(document);
  if (!certificate) {
    add(result.lines, LineKind::failed, certificate.error().text);
    return;
  }
  certificate.value().sha256_hex =
      evidence::hex_from_digest(evidence::sha256_from_bytes(input.certificate));
  result.certificate = std::move(certificate).value();
  report_content(*result.certificate, result.lines);
  if (input.readings && input.log) {
    report_readings_and_log(input, result);
  } else if (input.readings) {
    std::ranges::move(check_readings(*result.certificate, input.readings, input.software).lines,
                      std::back_inserter(result.lines));
  } else {
    add(result.lines, LineKind::unproved,
        "verdict, hours, excursions and charts: no readings were given to recompute them from");
  }
  report_what_is_missing_for_the_log(input, result.lines);
}

VerificationStatus status_of(const Lines& lines, bool outside_key_given) {
  const bool any_failed =
      std::ranges::any_of(lines, [](const auto& line) { return line.kind == LineKind::failed; });
  if (any_failed) {
    return VerificationStatus::not_proved;
  }
  return outside_key_given ? VerificationStatus::proved : VerificationStatus::intact_only;
}

}  // namespace

std::string_view name_of(LineKind kind) {
  switch (kind) {
    case LineKind::proved:
      return "proved";
    case LineKind::unproved:
      return "not proved";
    case LineKind::failed:
      return "FAILED";
    case LineKind::note:
      break;
  }
  return "note";
}

ByteSource byte_source_from(std::string_view text) {
  return [text, given = false]() mutable -> std::optional<std::string_view> {
    return std::exchange(given, true) ? std::nullopt : std::optional(text);
  };
}

Verification verify_certificate(const VerifyInput& input) {
  Verification result;
  const auto opened = evidence::open_sealed(input.certificate, kCertificateFormat);
  if (!opened) {
    add(result.lines, LineKind::failed, "not a certificate: " + opened.error().text);
    return result;
  }
  const SealedDocument& document = opened.value();
  if (document.header.simulated) {
    add(result.lines, LineKind::note, "SIMULATED SITE: nothing here was measured in a real room");
  }
  report_signature(document, result.lines);
  if (input.handovers.empty()) {
    report_outside_key(document, input.outside_key, result.lines);
  } else {
    std::ranges::move(check_handovers(document, input), std::back_inserter(result.lines));
  }
  report_fields(document, result.lines);
  report_facts(input, document, result);
  if (result.certificate) {
    for (auto& lines :
         {anchor_lines(*result.certificate, input), checkpoint_stamp_lines(input),
          photo_lines(*result.certificate, input), newer_lines(*result.certificate, input)}) {
      std::ranges::copy(lines, std::back_inserter(result.lines));
    }
  }
  add(result.lines, LineKind::unproved,
      "what a person noted or set (gates, deliveries, placements, limits, calibrations) and the "
      "readings as the box gave them: self-declared by whoever holds the key, who can sign again "
      "what was never handed over");
  result.status = status_of(result.lines, input.outside_key.has_value());
  return result;
}

}  // namespace analysis::certificate
