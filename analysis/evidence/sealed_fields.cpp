#include "analysis/evidence/sealed_fields.hpp"

#include <algorithm>
#include <array>
#include <optional>
#include <utility>

#include "analysis/evidence/canonical_json.hpp"

namespace analysis::evidence {
namespace {

using base::Failure;
using base::Result;
using nlohmann::json;

constexpr std::string_view kSaltPurpose = "dwellog-field-salts-1";
constexpr std::size_t kSaltBytes = 16;

Result<Sha256, Fault> digest_of_field(const std::string& path, const std::string& salt_hex,
                                      const json& value) {
  const auto bytes = canonical_from_json(json::array({path, salt_hex, value}));
  if (!bytes) {
    return Failure{Fault{"field \"" + path + "\": " + bytes.error().text}};
  }
  return sha256_from_bytes(bytes.value());
}

Result<std::string, Fault> salt_of_field(const SecretBytes& salt_key, const std::string& number,
                                         const std::string& path, const json& value) {
  const auto bytes = canonical_from_json(json::array({number, path, value}));
  if (!bytes) {
    return Failure{Fault{"field \"" + path + "\": " + bytes.error().text}};
  }
  const auto hash = keyed_hash(salt_key, bytes.value());
  return hex_from_bytes(std::span(hash).first(kSaltBytes));
}

json json_from_header(const SealedHeader& header) {
  json fields = json::object();
  for (const auto& [path, digest] : header.fields) {
    fields[path] = hex_from_digest(digest);
  }
  return {{"fields", std::move(fields)},
          {"format", header.format},
          {"issued_at", base::rfc3339_from_utc(header.issued_at)},
          {"number", header.number},
          {"public_key", hex_from_bytes(header.public_key.bytes)},
          {"simulated", header.simulated}};
}

// The object's string member; nullptr when it is missing or no string.
const std::string* string_member(const json& object, const char* name) {
  const auto found = object.find(name);
  return found == object.end() ? nullptr : found->get_ptr<const std::string*>();
}

bool has_exactly(const json& value, std::size_t members) {
  return value.is_object() && value.size() == members;
}

Failure<Fault> bad_header(const std::string& what) { return Failure{Fault{"header: " + what}}; }

Result<std::map<std::string, Sha256>, Fault> fields_from_json(const json& header) {
  std::map<std::string, Sha256> fields;
  const auto found = header.find("fields");
  if (found == header.end() || !found->is_object() || found->empty()) {
    return bad_header("\"fields\" is not an object of digests");
  }
  for (const auto& [path, value] : found->items()) {
    const auto* hex = value.get_ptr<const std::string*>();
    const auto digest = hex == nullptr ? std::nullopt : digest_from_hex(*hex);
    if (!digest) {
      return bad_header("the digest of \"" + path + "\" is not 64 lower-case hex digits");
    }
    fields.emplace(path, *digest);
  }
  return fields;
}

Result<SealedHeader, Fault> header_from_json(const json& value, std::string_view expected_format) {
  const auto* format = value.is_object() ? string_member(value, "format") : nullptr;
  if (format == nullptr || *format != expected_format) {
    return bad_header("\"format\" is " + (format == nullptr ? "missing" : "\"" + *format + "\"") +
                      ", this program reads \"" + std::string(expected_format) + "\"");
  }
  if (!has_exactly(value, 6)) {
    return bad_header("has other members than the format knows");
  }
  SealedHeader header;
  header.format = *format;
  const auto* number = string_member(value, "number");
  if (number == nullptr || number->empty()) {
    return bad_header("\"number\" is missing");
  }
  header.number = *number;
  const auto* issued_text = string_member(value, "issued_at");
  const auto issued_at =
      issued_text == nullptr ? std::nullopt : base::utc_from_rfc3339(*issued_text);
  if (!issued_at || base::rfc3339_from_utc(*issued_at) != *issued_text) {
    return bad_header("\"issued_at\" is not a UTC time of RFC 3339");
  }
  header.issued_at = *issued_at;
  const auto* key_hex = string_member(value, "public_key");
  if (key_hex == nullptr || !bytes_from_hex(*key_hex, header.public_key.bytes)) {
    return bad_header("\"public_key\" is not 64 lower-case hex digits");
  }
  const auto simulated = value.find("simulated");
  if (simulated == value.end() || !simulated->is_boolean()) {
    return bad_header("\"simulated\" is neither true nor false");
  }
  header.simulated = simulated->get<bool>();
  auto fields = fields_from_json(value);
  if (!fields) {
    return Failure{fields.error()};
  }
  header.fields = std::move(fields).value();
  return header;
}

// Sorts one fact into the document.
Result<void, Fault> take_fact(SealedDocument& document, const std::string& path, const json& fact) {
  const auto* salt = has_exactly(fact, 2) ? string_member(fact, "salt") : nullptr;
  std::array<std::uint8_t, kSaltBytes> salt_bytes{};
  if (salt == nullptr || !fact.contains("value") || !bytes_from_hex(*salt, salt_bytes)) {
    return Failure{Fault{"fact \"" + path +
                         "\" has not exactly a salt of 32 lower-case hex digits and a value"}};
  }
  const json& value = fact.at("value");
  const auto digest = digest_of_field(path, *salt, value);
  if (!digest) {
    return Failure{digest.error()};
  }
  const auto listed = document.header.fields.find(path);
  if (listed == document.header.fields.end()) {
    document.unsealed.push_back(path);
    return {};
  }
  if (listed->second != digest.value()) {
    document.altered.push_back(path);
  }
  document.facts.emplace(path, value);
  return {};
}

Result<SealedDocument, Fault> document_from_json(const json& root,
                                                 std::string_view expected_format) {
  if (!has_exactly(root, 3) || !root.contains("facts") || !root.at("facts").is_object() ||
      !root.contains("header")) {
    return Failure{Fault{"not an object of exactly \"facts\", \"header\" and \"signature\""}};
  }
  SealedDocument document;
  auto header = header_from_json(root.at("header"), expected_format);
  if (!header) {
    return Failure{header.error()};
  }
  document.header = std::move(header).value();
  Signature signature;
  const auto* signature_hex = string_member(root, "signature");
  if (signature_hex == nullptr || !bytes_from_hex(*signature_hex, signature.bytes)) {
    return Failure{Fault{"\"signature\" is not 128 lower-case hex digits"}};
  }
  for (const auto& [path, fact] : root.at("facts").items()) {
    if (auto taken = take_fact(document, path, fact); !taken) {
      return Failure{taken.error()};
    }
  }
  for (const auto& [path, digest] : document.header.fields) {
    if (!document.facts.contains(path)) {
      document.redacted.push_back(path);
    }
  }
  const auto signed_bytes = canonical_from_json(root.at("header"));
  document.signature_valid = signed_bytes && signature_is_valid(document.header.public_key,
                                                                signed_bytes.value(), signature);
  return document;
}

}  // namespace

Result<std::string, Fault> seal(SealedHeader header, const FieldValues& facts,
                                const SigningKey& key) {
  if (header.number.empty() || facts.empty()) {
    return Failure{Fault{"nothing to sign: a document needs a number and at least one field"}};
  }
  const SecretBytes salt_key = key.derived_key(kSaltPurpose);
  json facts_json = json::object();
  header.public_key = key.public_key();
  header.fields.clear();
  for (const auto& [path, value] : facts) {
    const auto salt = salt_of_field(salt_key, header.number, path, value);
    if (!salt) {
      return salt;
    }
    const auto digest = digest_of_field(path, salt.value(), value);
    if (!digest) {
      return Failure{digest.error()};
    }
    header.fields.emplace(path, digest.value());
    facts_json[path] = {{"salt", salt.value()}, {"value", value}};
  }
  json header_json = json_from_header(header);
  const auto signed_bytes = canonical_from_json(header_json);
  if (!signed_bytes) {
    return signed_bytes;
  }
  const Signature signature = key.sign(signed_bytes.value());
  return canonical_from_json({{"facts", std::move(facts_json)},
                              {"header", std::move(header_json)},
                              {"signature", hex_from_bytes(signature.bytes)}});
}

Result<SealedDocument, Fault> open_sealed(std::string_view bytes,
                                          std::string_view expected_format) {
  const auto root = json_from_canonical(bytes);
  if (!root) {
    return Failure{root.error()};
  }
  return document_from_json(root.value(), expected_format);
}

Result<std::string, Fault> redact_sealed(std::string_view bytes, std::string_view expected_format,
                                         const std::vector<std::string>& paths) {
  const auto document = open_sealed(bytes, expected_format);
  if (!document) {
    return Failure{document.error()};
  }
  const SealedDocument& d = document.value();
  if (!d.signature_valid || !d.altered.empty() || !d.unsealed.empty()) {
    return Failure{Fault{"the document was altered after it was signed; it is not copied"}};
  }
  auto root = json_from_canonical(bytes);
  for (const std::string& path : paths) {
    if (root.value().at("facts").erase(path) == 0) {
      const bool gone = std::ranges::find(d.redacted, path) != d.redacted.end();
      return Failure{Fault{"field \"" + path + "\" " +
                           (gone ? "is redacted already" : "is not in the document")}};
    }
  }
  return canonical_from_json(root.value());
}

}  // namespace analysis::evidence
