#include "analysis/evidence/handover.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "analysis/evidence/canonical_json.hpp"
#include "analysis/evidence/digest.hpp"
#include "analysis/evidence/json_members.hpp"

namespace analysis::evidence {
namespace {

using base::Failure;
using base::Result;
using nlohmann::json;

json json_from_statement(const Handover& handover) {
  return {{"format", kHandoverFormat},
          {"at", base::rfc3339_from_utc(handover.at)},
          {"sequence", handover.sequence},
          {"old_key", hex_from_bytes(handover.old_key.bytes)},
          {"new_key", hex_from_bytes(handover.new_key.bytes)}};
}

// The statement as its members say; that no other member or spelling was there shows when it is
// written again.
Result<Handover, Fault> statement_from_json(const json& value) {
  Handover handover;
  const auto at = base::utc_from_rfc3339(text_member(value, "at"));
  const auto sequence = value.find("sequence");
  if (!at || sequence == value.end() || !sequence->is_number_integer() ||
      !bytes_from_hex(text_member(value, "old_key"), handover.old_key.bytes) ||
      !bytes_from_hex(text_member(value, "new_key"), handover.new_key.bytes)) {
    return Failure{Fault{"expected \"at\", \"sequence\" and two keys of 64 lower-case hex digits"}};
  }
  handover.at = *at;
  handover.sequence = sequence->get<std::int64_t>();
  if (json_from_statement(handover) != value) {
    return Failure{Fault{"expected the members of \"" + std::string(kHandoverFormat) +
                         "\" in their one spelling and no others"}};
  }
  return handover;
}

std::string contradiction_in(const Handover& handover) {
  if (handover.old_key == handover.new_key) {
    return "hands a key over to itself";
  }
  if (handover.sequence < 1) {
    return "has the number " + std::to_string(handover.sequence) + ", expected 1 or more";
  }
  return "";
}

bool is_signed_with(const json& signatures, const char* whose, const PublicKey& key,
                    std::string_view statement) {
  Signature signature;
  return bytes_from_hex(text_member(signatures, whose), signature.bytes) &&
         signature_is_valid(key, statement, signature);
}

Failure<Fault> not_a_handover(const std::string& why) {
  return Failure{Fault{"not a hand-over of keys: " + why}};
}

}  // namespace

Result<std::string, Fault> handover_text(const SigningKey& old_key, const SigningKey& new_key,
                                         base::UtcMicros at, std::int64_t sequence) {
  const Handover handover{old_key.public_key(), new_key.public_key(), at, sequence};
  if (const std::string wrong = contradiction_in(handover); !wrong.empty()) {
    return not_a_handover(wrong);
  }
  const json statement = json_from_statement(handover);
  const auto bytes = canonical_from_json(statement);
  if (!bytes) {
    return bytes;
  }
  return canonical_from_json({{"statement", statement},
                              {"signatures",
                               {{"old", hex_from_bytes(old_key.sign(bytes.value()).bytes)},
                                {"new", hex_from_bytes(new_key.sign(bytes.value()).bytes)}}}});
}

Result<Handover, Fault> handover_from_text(std::string_view bytes) {
  const auto root = json_from_canonical(bytes);
  if (!root) {
    return not_a_handover(root.error().text);
  }
  const json& document = root.value();
  if (!document.is_object() || document.size() != 2 || !document.contains("statement") ||
      !document.contains("signatures") || !document["signatures"].is_object() ||
      document["signatures"].size() != 2) {
    return not_a_handover("expected exactly \"statement\" and two \"signatures\"");
  }
  auto handover = statement_from_json(document["statement"]);
  if (!handover) {
    return not_a_handover(handover.error().text);
  }
  if (const std::string wrong = contradiction_in(handover.value()); !wrong.empty()) {
    return not_a_handover(wrong);
  }
  const auto statement = canonical_from_json(document["statement"]);
  for (const auto& [whose, key] :
       {std::pair{"old", handover.value().old_key}, {"new", handover.value().new_key}}) {
    if (!statement || !is_signed_with(document["signatures"], whose, key, statement.value())) {
      return Failure{Fault{"hand-over " + std::to_string(handover.value().sequence) +
                           " of keys is not signed with its " + whose + " key (" +
                           fingerprint_of(key) + ")"}};
    }
  }
  return handover;
}

Result<std::vector<PublicKey>, Fault> keys_along(const PublicKey& first,
                                                 std::span<const Handover> steps) {
  std::vector<PublicKey> keys{first};
  for (std::size_t i = 0; i < steps.size(); ++i) {
    const Handover& step = steps[i];
    const std::string name = "hand-over " + std::to_string(step.sequence);
    if (step.old_key != keys.back()) {
      return Failure{Fault{name + " is from key " + fingerprint_of(step.old_key) +
                           ", expected from " + fingerprint_of(keys.back()) +
                           (i == 0 ? ", the key given" : ", which the one before leads to")}};
    }
    if (i > 0 && step.sequence != steps[i - 1].sequence + 1) {
      return Failure{Fault{name + " follows hand-over " + std::to_string(steps[i - 1].sequence) +
                           ", expected number " + std::to_string(steps[i - 1].sequence + 1)}};
    }
    if (i > 0 && step.at < steps[i - 1].at) {
      return Failure{Fault{name + " is dated " + base::rfc3339_from_utc(step.at) +
                           ", before the one it follows"}};
    }
    if (std::ranges::find(keys, step.new_key) != keys.end()) {
      return Failure{Fault{name + " leads back to key " + fingerprint_of(step.new_key)}};
    }
    keys.push_back(step.new_key);
  }
  return keys;
}

}  // namespace analysis::evidence
