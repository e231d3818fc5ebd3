#include "analysis/evidence/checkpoint.hpp"

#include <nlohmann/json.hpp>
#include <optional>

#include "analysis/evidence/canonical_json.hpp"
#include "analysis/evidence/json_members.hpp"

namespace analysis::evidence {
namespace {

using base::Failure;
using base::Result;
using nlohmann::json;

constexpr std::string_view kFormat = "dwellog-checkpoint-1";
constexpr std::size_t kMembers = 6;  // of the signed part

Failure<Fault> refused(const std::string& what) { return Failure{Fault{"checkpoint: " + what}}; }

json json_from_checkpoint(const Checkpoint& checkpoint) {
  return {{"format", kFormat},
          {"issued_at", base::rfc3339_from_utc(checkpoint.issued_at)},
          {"public_key", hex_from_bytes(checkpoint.public_key.bytes)},
          {"root", hex_from_digest(checkpoint.head.root)},
          {"simulated", checkpoint.simulated},
          {"size", checkpoint.head.size}};
}

Result<Checkpoint, Fault> checkpoint_from_json(const json& value) {
  if (!value.is_object() || text_member(value, "format") != kFormat) {
    return refused("\"format\" is not \"" + std::string(kFormat) + "\"");
  }
  if (value.size() != kMembers) {
    return refused("it has other members than the format knows");
  }
  Checkpoint checkpoint;
  const std::string issued_text = text_member(value, "issued_at");
  const auto issued_at = base::utc_from_rfc3339(issued_text);
  if (!issued_at || base::rfc3339_from_utc(*issued_at) != issued_text) {
    return refused("\"issued_at\" is not a UTC time of RFC 3339");
  }
  checkpoint.issued_at = *issued_at;
  if (!bytes_from_hex(text_member(value, "public_key"), checkpoint.public_key.bytes)) {
    return refused("\"public_key\" is not 64 lower-case hex digits");
  }
  const auto root = digest_from_hex(text_member(value, "root"));
  if (!root) {
    return refused("\"root\" is not 64 lower-case hex digits");
  }
  checkpoint.head.root = *root;
  const auto simulated = value.find("simulated");
  if (simulated == value.end() || !simulated->is_boolean()) {
    return refused("\"simulated\" is neither true nor false");
  }
  checkpoint.simulated = simulated->get<bool>();
  const auto size = value.find("size");
  if (size == value.end() || !size->is_number_unsigned()) {
    return refused("\"size\" is not a number of entries");
  }
  checkpoint.head.size = size->get<std::uint64_t>();
  return checkpoint;
}

}  // namespace

Result<std::string, Fault> sign_checkpoint(const TreeHead& head, bool simulated,
                                           base::UtcMicros issued_at, const SigningKey& key) {
  const Checkpoint checkpoint{key.public_key(), head, simulated, issued_at};
  const json signed_part = json_from_checkpoint(checkpoint);
  const auto message = canonical_from_json(signed_part);
  if (!message) {
    return refused(message.error().text);
  }
  const json document = {{"checkpoint", signed_part},
                         {"signature", hex_from_bytes(key.sign(message.value()).bytes)}};
  const auto text = canonical_from_json(document);
  if (!text) {
    return refused(text.error().text);
  }
  return text.value() + "\n";
}

Result<Checkpoint, Fault> checkpoint_from_text(std::string_view text) {
  if (text.empty() || text.back() != '\n') {
    return refused("it does not end with a line end");
  }
  text.remove_suffix(1);
  const auto document = json_from_canonical(text);
  if (!document) {
    return refused(document.error().text);
  }
  const json& value = document.value();
  if (!value.is_object() || value.size() != 2 || !value.contains("checkpoint")) {
    return refused("it has not exactly \"checkpoint\" and \"signature\"");
  }
  auto checkpoint = checkpoint_from_json(value.at("checkpoint"));
  if (!checkpoint) {
    return checkpoint;
  }
  Signature signature;
  if (!bytes_from_hex(text_member(value, "signature"), signature.bytes)) {
    return refused("\"signature\" is not 128 lower-case hex digits");
  }
  const auto message = canonical_from_json(value.at("checkpoint"));
  if (!message) {
    return refused(message.error().text);
  }
  if (!signature_is_valid(checkpoint.value().public_key, message.value(), signature)) {
    return refused("the signature is not one of the key that it names: altered after signing");
  }
  return checkpoint;
}

Result<void, Fault> check_continuation(const Checkpoint& older, const Checkpoint& newer,
                                       const HashPath& path) {
  if (older.public_key != newer.public_key) {
    return refused("the two are signed by different keys: not of the same log");
  }
  if (older.simulated != newer.simulated) {
    return refused("one is of a simulated site and the other of a real one");
  }
  return check_consistency(older.head, newer.head, path);
}

}  // namespace analysis::evidence
