#include "analysis/evidence/sealed_fields.hpp"

#include <catch2/catch.hpp>
#include <functional>
#include <set>

#include "analysis/evidence/canonical_json.hpp"
#include "tests/evidence/test_values.hpp"

using namespace analysis::evidence;
using nlohmann::json;

using evidence_tests::key_of;

namespace {

constexpr std::string_view kFormat = "test-1";

SealedHeader header() {
  SealedHeader h;
  h.format = std::string(kFormat);
  h.number = "r1-1";
  h.issued_at = {1'700'000'000'000'000};
  h.simulated = true;
  return h;
}

FieldValues facts() {
  return {{"address", "12 Example Row"}, {"hours", 48.5}, {"limits", {{"low", 17}, {"high", 23}}}};
}

std::string sealed(const FieldValues& values = facts()) {
  return seal(header(), values, key_of(1)).value();
}

std::string with(const std::string& bytes, const std::function<void(json&)>& change) {
  json root = json::parse(bytes);
  change(root);
  return canonical_from_json(root).value();
}

bool intact(const SealedDocument& d) {
  return d.signature_valid && d.altered.empty() && d.unsealed.empty();
}

}  // namespace

TEST_CASE("ASealedDocumentReadsBackAsItWasSealed") {
  const auto document = open_sealed(sealed(), kFormat);
  REQUIRE(document);
  const SealedDocument& d = document.value();
  CHECK(intact(d));
  CHECK(d.redacted.empty());
  CHECK(d.facts == facts());
  CHECK(d.header.number == "r1-1");
  CHECK(d.header.issued_at == header().issued_at);
  CHECK(d.header.simulated);
  CHECK(d.header.public_key == key_of(1).public_key());
  CHECK(sealed() == sealed());
}

TEST_CASE("SaltsDifferByPathNumberValueAndKey") {
  const auto salt = [](const std::string& bytes, const char* path) {
    return json::parse(bytes).at("facts").at(path).at("salt").get<std::string>();
  };
  FieldValues same_value = {{"a", 1}, {"b", 1}};
  FieldValues other_value = {{"a", 2}, {"b", 1}};
  SealedHeader other_number = header();
  other_number.number = "r1-2";
  const std::set<std::string> salts = {salt(sealed(same_value), "a"), salt(sealed(same_value), "b"),
                                       salt(sealed(other_value), "a"),
                                       salt(seal(other_number, same_value, key_of(1)).value(), "a"),
                                       salt(seal(header(), same_value, key_of(2)).value(), "a")};
  CHECK(salts.size() == 5);
}

TEST_CASE("ARedactedCopyIsIntactAndNamesWhatIsMissing") {
  const auto copy = redact_sealed(sealed(), kFormat, {"address"});
  REQUIRE(copy);
  CHECK(copy.value().find("Example") == std::string::npos);
  const auto document = open_sealed(copy.value(), kFormat);
  REQUIRE(document);
  CHECK(intact(document.value()));
  CHECK(document.value().redacted == std::vector<std::string>{"address"});
  CHECK_FALSE(redact_sealed(copy.value(), kFormat, {"address"}));
  CHECK_FALSE(redact_sealed(sealed(), kFormat, {"adress"}));
}

TEST_CASE("WhatWasChangedAfterSigningIsNamed") {
  const auto open = [](const std::string& bytes) { return open_sealed(bytes, kFormat).value(); };
  const SealedDocument value_changed =
      open(with(sealed(), [](json& r) { r["facts"]["hours"]["value"] = 49; }));
  CHECK(value_changed.altered == std::vector<std::string>{"hours"});
  const SealedDocument salt_changed = open(with(sealed(), [](json& r) {
    r["facts"]["address"]["salt"] = "00000000000000000000000000000000";
  }));
  CHECK(salt_changed.altered == std::vector<std::string>{"address"});
  const SealedDocument added =
      open(with(sealed(), [](json& r) { r["facts"]["extra"] = r["facts"]["address"]; }));
  CHECK(added.unsealed == std::vector<std::string>{"extra"});
  const SealedDocument swapped =
      open(with(sealed(), [](json& r) { std::swap(r["facts"]["address"], r["facts"]["hours"]); }));
  CHECK(swapped.altered == std::vector<std::string>{"address", "hours"});
  for (const char* member : {"issued_at", "number", "public_key"}) {
    const json other = json::parse(seal(
                                       [] {
                                         SealedHeader h = header();
                                         h.number = "r1-9";
                                         h.issued_at.value += 1;
                                         return h;
                                       }(),
                                       facts(), key_of(3))
                                       .value())["header"];
    CAPTURE(member);
    CHECK_FALSE(open(with(sealed(), [&](json& r) {
                  r["header"][member] = other[member];
                })).signature_valid);
  }
  CHECK_FALSE(
      open(with(sealed(), [](json& r) { r["header"]["simulated"] = false; })).signature_valid);
  CHECK_FALSE(
      open(with(sealed(), [](json& r) { r["header"]["fields"].erase("hours"); })).signature_valid);
}

TEST_CASE("AnythingButTheExactFormIsUnreadable") {
  const auto refused = [](const std::function<void(json&)>& change) {
    return !open_sealed(with(sealed(), change), kFormat);
  };
  CHECK(refused([](json& r) { r["more"] = 1; }));
  CHECK(refused([](json& r) { r.erase("signature"); }));
  CHECK(refused([](json& r) { r.erase("facts"); }));
  CHECK(refused([](json& r) { r["facts"] = json::array(); }));
  CHECK(refused([](json& r) { r["header"]["more"] = 1; }));
  CHECK(refused([](json& r) { r["header"].erase("simulated"); }));
  CHECK(refused([](json& r) { r["header"]["simulated"] = "true"; }));
  CHECK(refused([](json& r) { r["header"]["format"] = "test-2"; }));
  CHECK(refused([](json& r) { r["header"]["number"] = 5; }));
  CHECK(refused([](json& r) { r["header"]["issued_at"] = "2023-11-14T23:13:20+01:00"; }));
  CHECK(refused([](json& r) { r["header"]["fields"] = json::object(); }));
  CHECK(refused([](json& r) { r["header"]["fields"]["hours"] = "AB"; }));
  CHECK(refused([](json& r) { r["header"] = "x"; }));
  CHECK(refused([](json& r) { r["facts"]["hours"]["more"] = 1; }));
  CHECK(refused([](json& r) { r["facts"]["hours"].erase("salt"); }));
  CHECK(refused([](json& r) { r["facts"]["hours"]["salt"] = "ABCDEF00000000000000000000000000"; }));
  CHECK(refused([](json& r) { r["facts"]["hours"] = 48.5; }));
  CHECK(refused([](json& r) { r["signature"] = "00"; }));
  CHECK_FALSE(open_sealed(sealed() + "\n", kFormat));
  CHECK_FALSE(open_sealed("[]", kFormat));
  CHECK_FALSE(open_sealed("1", kFormat));
  CHECK_FALSE(open_sealed("", kFormat));
}

TEST_CASE("EveryFlippedBitOfASealedDocumentIsFound") {
  const std::string bytes = sealed();
  for (std::size_t bit = 0; bit < 8 * bytes.size(); ++bit) {
    std::string flipped = bytes;
    flipped[bit / 8] = static_cast<char>(flipped[bit / 8] ^ static_cast<char>(1U << (bit % 8)));
    const auto document = open_sealed(flipped, kFormat);
    CAPTURE(bit);
    REQUIRE_FALSE((document && intact(document.value())));
  }
}

TEST_CASE("WhatCanNotBeSealedIsRefused") {
  CHECK_FALSE(seal(header(), {}, key_of(1)));
  CHECK_FALSE(seal(header(), {{"bad", std::string("\xFF")}}, key_of(1)));
  SealedHeader no_number = header();
  no_number.number.clear();
  CHECK_FALSE(seal(no_number, facts(), key_of(1)));
}

TEST_CASE("AnAlteredDocumentIsNotCopied") {
  const std::string altered = with(sealed(), [](json& r) { r["facts"]["hours"]["value"] = 49; });
  CHECK_FALSE(redact_sealed(altered, kFormat, {"address"}));
}
