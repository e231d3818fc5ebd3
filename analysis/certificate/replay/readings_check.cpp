#include "analysis/certificate/replay/readings_check.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <utility>

#include "analysis/certificate/facts_builder.hpp"
#include "analysis/certificate/fields/fact_fields.hpp"
#include "analysis/certificate/replay/line_reader.hpp"

namespace analysis::certificate {
namespace {

using base::Failure;
using base::Result;

constexpr std::uint64_t kFirstRecordLine = 2;

VerificationLine failed(std::string text) { return {LineKind::failed, std::move(text)}; }
VerificationLine proved(std::string text) { return {LineKind::proved, std::move(text)}; }

Fault at_line(std::uint64_t number, const std::string& what) {
  return {"readings, line " + std::to_string(number) + ": " + what};
}

// Feeds every record of the file to the builder; stops at the first line that does not fit.
Result<void, Fault> replay(const ByteSource& readings, std::int64_t signed_records,
                           FactsBuilder& builder, const RecordLineObserver& observer) {
  LineReader lines(readings);
  for (std::int64_t records = -1;; ++records) {
    const auto next = lines.next();
    const std::uint64_t number = lines.line_number();
    if (!next) {
      return Failure{at_line(number, next.error().text)};
    }
    if (!next.value()) {
      return records <= 0 ? Result<void, Fault>(Failure{
                                Fault{"the readings hold no record, so nothing can be recomputed"}})
                          : Result<void, Fault>();
    }
    const std::string_view line = *next.value();
    if (records < 0) {
      if (line != kReadingsHeader) {
        return Failure{at_line(number, "not the header of a readings file")};
      }
      continue;
    }
    if (records == signed_records) {
      return Failure{at_line(
          number, "more than the " + std::to_string(signed_records) + " records that were signed")};
    }
    if (const auto added = builder.add_line(line); !added) {
      return Failure{at_line(number, added.error().text)};
    }
    if (observer) {
      observer(number, line);
    }
  }
}

// Where the tree over the file differs from the signed one, as closely as the blocks tell.
std::string difference_of(const ReadingsFacts& was_signed, const ReadingsFacts& found) {
  if (found.records < was_signed.records) {
    return "the readings end after line " +
           std::to_string(kFirstRecordLine - 1 + static_cast<std::uint64_t>(found.records)) + ": " +
           std::to_string(was_signed.records) + " records were signed, here are " +
           std::to_string(found.records);
  }
  const auto& signed_roots = was_signed.block_roots_sha256_hex;
  const auto differs = std::ranges::mismatch(signed_roots, found.block_roots_sha256_hex).in1;
  const std::int64_t before = (differs - signed_roots.begin()) * was_signed.block_records;
  const std::int64_t last = std::min(before + was_signed.block_records, was_signed.records);
  return "readings, lines " + std::to_string(before + 2) + " to " + std::to_string(last + 1) +
         ": at least one of them is not as it was signed";
}

std::string hours_text(double seconds) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), "%.2f h", seconds / 3600.0);
  return text.data();
}

std::string label_of(std::string_view field, const CertificateFacts& facts) {
  if (field == "assessment") {
    return "verdict \"" + std::string(readiness::name_of(facts.assessment.verdict)) +
           "\" with its gates";
  }
  if (field == "dwell") {
    return "dwell accounting (" + hours_text(facts.dwell.in_band_seconds) + " in the current run)";
  }
  if (field == "excursions") {
    return "excursions (" + std::to_string(facts.excursions_total) + ")";
  }
  if (field == "unknown_time") {
    return "unknown time (" + std::to_string(facts.unknown_time_total) + " stretches)";
  }
  if (field == "lost_records") {
    return "lost records";
  }
  if (field == "chart") {
    return "numbers of the charts";
  }
  return "largest time error";
}

// The wording of a gate that a person observed repeats his name, grounds and remark.
bool observer_is_redacted(const CertificateFacts& facts, const std::string& gate_id) {
  const auto repeats = [&](const readiness::SiteGateNote& note) {
    return gate_id == "site." + std::string(readiness::name_of(note.gate)) &&
           (note.by == kRedactedText || note.remark == kRedactedText ||
            note.grounds == kRedactedText);
  };
  return std::ranges::any_of(facts.site_gates, repeats) ||
         std::ranges::any_of(facts.open_answers, repeats);
}

// The program and its version stand before the first comma; what follows are the libraries that
// draw the pages, which no recomputation uses.
bool same_rules(std::string_view issued_by, std::string_view recomputed_by) {
  return issued_by.substr(0, issued_by.find(',')) ==
         recomputed_by.substr(0, recomputed_by.find(','));
}

// What the gates say in words. Another version of the program may word it otherwise.
void compare_wording(const ReadCertificate& certificate, const CertificateFacts& recomputed,
                     const std::string& software, std::vector<VerificationLine>& lines) {
  const bool same_program = same_rules(certificate.facts.software, software);
  const auto compare = [&](const std::string& was_signed, const std::string& found,
                           const std::string& id) {
    if (was_signed == found || was_signed == kRedactedText) {
      return;
    }
    lines.push_back({same_program ? LineKind::failed : LineKind::unproved,
                     "wording of gate \"" + id + "\": signed \"" + was_signed +
                         "\", recomputed \"" + found + "\"" +
                         (same_program ? "" : " (issued by another version of the program)")});
  };
  const auto& gates = certificate.facts.assessment.gates;
  for (std::size_t i = 0; i < gates.size(); ++i) {
    if (observer_is_redacted(certificate.facts, gates[i].id)) {
      lines.push_back({LineKind::unproved,
                       "wording of gate \"" + gates[i].id +
                           "\": who saw it, on what grounds or the remark is redacted, so it "
                           "can't be compared"});
      continue;
    }
    compare(gates[i].reason, recomputed.assessment.gates[i].reason, gates[i].id);
    compare(gates[i].action, recomputed.assessment.gates[i].action, gates[i].id);
  }
}

void compare_facts(const ReadCertificate& certificate, const CertificateFacts& recomputed,
                   const std::string& software, std::vector<VerificationLine>& lines) {
  const auto signed_fields = fields_from_facts(certificate.facts);
  const auto found_fields = fields_from_facts(recomputed);
  // A later program may decide otherwise; saying so excuses nothing.
  const std::string other_rules =
      same_rules(certificate.facts.software, software)
          ? ""
          : " (issued by \"" + certificate.facts.software + "\", recomputed by \"" + software +
                "\"; the issuing version shows whether only the rules changed)";
  bool gates_agree = false;
  for (const std::string_view name : kComputedFields) {
    const std::string field(name);
    if (field == "readings") {
      continue;
    }
    const auto difference = first_difference(signed_fields.at(field), found_fields.at(field));
    const std::string label = label_of(field, certificate.facts);
    if (difference) {
      lines.push_back(
          failed(label + ": not what the readings give: " + field + *difference + other_rules));
    } else {
      lines.push_back(proved(label + ": recomputed from the readings, as signed"));
      gates_agree = gates_agree || field == "assessment";
    }
  }
  if (gates_agree) {
    compare_wording(certificate, recomputed, software, lines);
  }
}

}  // namespace

ReadingsCheck check_readings(const ReadCertificate& certificate, const ByteSource& readings,
                             const std::string& software, const RecordLineObserver& observer) {
  const ReadingsFacts& was_signed = certificate.facts.readings;
  FactsBuilder builder(certificate.facts);
  const auto replayed = replay(readings, was_signed.records, builder, observer);
  if (!replayed) {
    return {{failed(replayed.error().text)}};
  }
  ReadingsCheck check{{}, true};
  std::vector<VerificationLine>& lines = check.lines;
  if (const auto hole = builder.first_undeclared_hole()) {
    lines.push_back(failed("readings, " + *hole));
  }
  const CertificateFacts recomputed = builder.facts();
  if (recomputed.readings != was_signed) {
    lines.push_back(failed(difference_of(was_signed, recomputed.readings)));
    return check;
  }
  lines.push_back(proved("the " + std::to_string(was_signed.records) +
                         " readings are those that were signed (tree root " +
                         was_signed.root_sha256_hex.substr(0, 16) + "...)"));
  compare_facts(certificate, recomputed, software, lines);
  return check;
}

}  // namespace analysis::certificate
