#include "analysis/certificate/certificate_json.hpp"

#include <algorithm>
#include <array>
#include <optional>
#include <utility>

#include "analysis/certificate/fields/fact_fields.hpp"
#include "analysis/readiness/site/site_answers.hpp"

namespace analysis::certificate {
namespace {

using base::Failure;
using base::Result;
using evidence::SealedDocument;

// A path pattern; '#' stands for a number.
struct RedactablePath {
  std::string_view pattern;
  bool personal;  // names a person or a place
};
constexpr std::array kRedactablePaths = {
    RedactablePath{"parties.job_name", true},
    RedactablePath{"parties.site_address", true},
    RedactablePath{"parties.installer", true},
    RedactablePath{"parties.client", true},
    RedactablePath{"room.name", true},
    RedactablePath{"instruments.#.placement", true},
    RedactablePath{"placements.#.by", true},
    RedactablePath{"placements.#.remark", true},
    RedactablePath{"supersedes.reason", true},
    RedactablePath{"site_gates.#.by", true},
    RedactablePath{"site_gates.#.remark", true},
    RedactablePath{"site_gates.#.grounds", true},
    RedactablePath{"open_answers.#.by", true},
    RedactablePath{"open_answers.#.remark", true},
    RedactablePath{"open_answers.#.grounds", true},
    RedactablePath{"subfloor_tests.dish.by", true},
    RedactablePath{"subfloor_tests.carbide.by", true},
    RedactablePath{"subfloor_tests.wood.by", true},
    RedactablePath{"subfloor_tests.rh.by", true},
    RedactablePath{"assessment.gates.#.reason", false},
    RedactablePath{"assessment.gates.#.action", false},
};

bool fits(std::string_view path, std::string_view pattern) {
  const std::size_t hash = pattern.find('#');
  if (hash == std::string_view::npos) {
    return path == pattern;
  }
  if (!path.starts_with(pattern.substr(0, hash))) {
    return false;
  }
  path.remove_prefix(hash);
  const std::size_t digits = std::min(path.find_first_not_of("0123456789"), path.size());
  return digits > 0 && path.substr(digits) == pattern.substr(hash + 1);
}

const RedactablePath* redactable(std::string_view path) {
  for (const RedactablePath& entry : kRedactablePaths) {
    if (fits(path, entry.pattern)) {
      return &entry;
    }
  }
  return nullptr;
}

// Grounds are a computed sentence but where an approval in writing is quoted. Others than those the
// program writes count as free text.
bool names_no_person(std::string_view grounds) {
  constexpr std::string_view kComputed[] = {"Worst gap ", "No gap anywhere",
                                            "Answered: ", "Stated without "};
  return std::ranges::any_of(kComputed,
                             [&](auto opening) { return grounds.starts_with(opening); }) &&
         grounds.find(readiness::kAllowedInWriting) == std::string_view::npos;
}

// The grounds at that path; nullopt where it is of something else.
std::optional<std::string_view> grounds_at(std::string_view path, const CertificateFacts& facts) {
  for (const auto& [list, notes] : {std::pair{"site_gates.", &facts.site_gates},
                                    std::pair{"open_answers.", &facts.open_answers}}) {
    for (std::size_t i = 0; i < notes->size(); ++i) {
      if (path == list + std::to_string(i) + ".grounds") {
        return (*notes)[i].grounds;
      }
    }
  }
  return std::nullopt;
}

// A site gate's wording repeats who saw it.
bool is_personal(std::string_view path, const CertificateFacts& facts) {
  const RedactablePath* entry = redactable(path);
  if (const auto grounds = grounds_at(path, facts)) {
    return !names_no_person(*grounds);
  }
  if (entry == nullptr || entry->personal) {
    return entry != nullptr;
  }
  for (std::size_t i = 0; i < facts.assessment.gates.size(); ++i) {
    if (path == "assessment.gates." + std::to_string(i) + ".reason") {
      return facts.assessment.gates[i].id.starts_with("site.");
    }
  }
  return false;
}

}  // namespace

bool is_redactable(std::string_view path) { return redactable(path) != nullptr; }

Result<std::string, Fault> issue_certificate(const CertificateFacts& facts,
                                             const evidence::SigningKey& key) {
  if (const auto contradiction = contradiction_in(facts)) {
    return Failure{Fault{*contradiction}};
  }
  evidence::SealedHeader header;
  header.format = kCertificateFormat;
  header.number = facts.number;
  header.issued_at = facts.issued_at;
  header.simulated = facts.simulated;
  auto bytes = evidence::seal(std::move(header), fields_from_facts(facts), key);
  if (!bytes) {
    return bytes;
  }
  // What this program can't read back, it does not hand out.
  if (const auto read = read_certificate(bytes.value()); !read) {
    return Failure{read.error()};
  }
  return bytes;
}

Result<ReadCertificate, Fault> certificate_from_document(const SealedDocument& document) {
  for (const std::string& path : document.redacted) {
    if (!is_redactable(path)) {
      return Failure{Fault{"redacted: " + path + ": the verdict does not count without it"}};
    }
  }
  auto facts = facts_from_fields(document.header, document.facts, document.redacted);
  if (!facts) {
    return Failure{facts.error()};
  }
  if (const auto contradiction = contradiction_in(facts.value())) {
    return Failure{Fault{*contradiction}};
  }
  ReadCertificate certificate;
  certificate.facts = std::move(facts).value();
  certificate.public_key = document.header.public_key;
  certificate.redacted = document.redacted;
  const auto known = fields_from_facts(certificate.facts);
  for (const auto& [path, digest] : document.header.fields) {
    if (!known.contains(path)) {
      certificate.unknown_fields.push_back(path);
    }
  }
  return certificate;
}

Result<ReadCertificate, Fault> read_certificate(std::string_view bytes) {
  const auto document = evidence::open_sealed(bytes, kCertificateFormat);
  if (!document) {
    return Failure{document.error()};
  }
  const SealedDocument& d = document.value();
  if (!d.signature_valid || !d.altered.empty() || !d.unsealed.empty()) {
    return Failure{Fault{"the certificate was altered after it was signed"}};
  }
  auto certificate = certificate_from_document(d);
  if (certificate) {
    certificate.value().sha256_hex = evidence::hex_from_digest(evidence::sha256_from_bytes(bytes));
  }
  return certificate;
}

Result<std::string, Fault> redact_certificate(std::string_view bytes,
                                              const std::vector<std::string>& paths) {
  for (const std::string& path : paths) {
    if (!is_redactable(path)) {
      return Failure{Fault{"field \"" + path +
                           "\" can't be redacted: only names, addresses, remarks and wording can"}};
    }
  }
  return evidence::redact_sealed(bytes, kCertificateFormat, paths);
}

Result<std::vector<RedactableField>, Fault> redactable_fields(std::string_view bytes) {
  const auto certificate = read_certificate(bytes);
  if (!certificate) {
    return Failure{certificate.error()};
  }
  const ReadCertificate& c = certificate.value();
  std::vector<RedactableField> fields;
  for (const auto& [path, value] : fields_from_facts(c.facts)) {
    if (is_redactable(path)) {
      fields.push_back({path, value.get<std::string>(), is_personal(path, c.facts),
                        std::ranges::find(c.redacted, path) != c.redacted.end()});
    }
  }
  return fields;
}

Result<std::vector<std::string>, Fault> personal_paths(std::string_view bytes) {
  const auto fields = redactable_fields(bytes);
  if (!fields) {
    return Failure{fields.error()};
  }
  std::vector<std::string> paths;
  for (const RedactableField& field : fields.value()) {
    if (field.personal && !field.redacted) {
      paths.push_back(field.path);
    }
  }
  return paths;
}

}  // namespace analysis::certificate
