// Hand-overs of keys: what a verifier can follow, and every way in which one must not hold.
#include <catch2/catch.hpp>
#include <functional>
#include <nlohmann/json.hpp>

#include "analysis/evidence/canonical_json.hpp"
#include "analysis/evidence/digest.hpp"
#include "analysis/evidence/handover.hpp"

using namespace analysis::evidence;
using analysis::base::UtcMicros;
using nlohmann::json;

namespace {

constexpr UtcMicros kFirst{1'772'348'400'000'000};   // 2026-03-01T07:00:00Z
constexpr UtcMicros kSecond{1'775'026'800'000'000};  // 2026-04-01T07:00:00Z

SigningKey key(std::uint8_t first_byte) {
  SecretBytes seed;
  seed.span()[0] = first_byte;
  return SigningKey(std::move(seed));
}

std::string step_text(std::uint8_t from, std::uint8_t to, UtcMicros at, std::int64_t sequence) {
  return handover_text(key(from), key(to), at, sequence).value();
}

Handover step(std::uint8_t from, std::uint8_t to, UtcMicros at, std::int64_t sequence) {
  return handover_from_text(step_text(from, to, at, sequence)).value();
}

std::string refusal(const std::string& text) {
  const auto read = handover_from_text(text);
  return read ? "" : read.error().text;
}

std::string changed(const std::function<void(json&)>& change) {
  json document = json::parse(step_text(1, 2, kFirst, 1));
  change(document);
  return canonical_from_json(document).value();
}

std::string refusal_along(std::uint8_t first, const std::vector<Handover>& steps) {
  const auto keys = keys_along(key(first).public_key(), steps);
  return keys ? "" : keys.error().text;
}

bool holds(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("AHandoverReadsBackAndIsTheSameBytesEachTime") {
  const std::string text = step_text(1, 2, kFirst, 7);
  CHECK(text == step_text(1, 2, kFirst, 7));
  const auto read = handover_from_text(text);
  REQUIRE(read.has_value());
  CHECK(read.value() == Handover{key(1).public_key(), key(2).public_key(), kFirst, 7});
  CHECK(holds(text, "\"at\":\"2026-03-01T07:00:00Z\",\"format\":\"dwellog-handover-1\""));
}

TEST_CASE("EveryChangedFieldOfAHandoverIsFound") {
  const std::string other = hex_from_bytes(key(9).public_key().bytes);
  CHECK(holds(refusal(changed([&](json& d) { d["statement"]["old_key"] = other; })),
              "not signed with its old key"));
  CHECK(holds(refusal(changed([&](json& d) { d["statement"]["new_key"] = other; })),
              "not signed with its old key"));
  CHECK(holds(refusal(changed([](json& d) { d["statement"]["sequence"] = 2; })),
              "not signed with its old key"));
  CHECK(holds(refusal(changed([](json& d) { d["statement"]["at"] = "2026-03-01T07:00:01Z"; })),
              "not signed with its old key"));
  CHECK(holds(refusal(changed([](json& d) { d["statement"]["format"] = "dwellog-handover-2"; })),
              "not a hand-over"));
  CHECK(holds(refusal(changed([](json& d) { d["statement"]["at"] = "2026-03-01T08:00:00+01:00"; })),
              "one spelling"));
  CHECK(holds(refusal(changed([](json& d) { d["statement"]["sequence"] = 0; })), "1 or more"));
  CHECK(holds(refusal(changed([](json& d) { d["statement"]["sequence"] = "1"; })), "expected"));
  CHECK(holds(refusal(changed([](json& d) { d["statement"]["more"] = 1; })), "no others"));
  CHECK(holds(refusal(changed([](json& d) { d["more"] = 1; })), "exactly"));
  for (const char* member : {"at", "format", "new_key", "old_key", "sequence"}) {
    INFO(member);
    CHECK(holds(refusal(changed([&](json& d) { d["statement"].erase(member); })), "expected"));
  }
}

TEST_CASE("BothSignaturesMustBeThereAndHold") {
  for (const char* whose : {"old", "new"}) {
    INFO(whose);
    const std::string missing = std::string("not signed with its ") + whose + " key";
    CHECK(holds(refusal(changed([&](json& d) { d["signatures"].erase(whose); })), "signatures"));
    CHECK(holds(refusal(changed([&](json& d) { d["signatures"][whose] = ""; })), missing));
    CHECK(holds(refusal(changed([&](json& d) {
                  std::string hex = d["signatures"][whose];
                  hex[10] = hex[10] == '0' ? '1' : '0';
                  d["signatures"][whose] = hex;
                })),
                missing));
  }
  CHECK(holds(refusal(changed([](json& d) { d["signatures"]["new"] = d["signatures"]["old"]; })),
              "not signed with its new key"));
}

TEST_CASE("EveryCutAndEveryFlippedBitOfAHandoverIsRefused") {
  const std::string text = step_text(1, 2, kFirst, 1);
  for (std::size_t i = 0; i < text.size(); ++i) {
    INFO(i);
    REQUIRE_FALSE(handover_from_text(text.substr(0, i)).has_value());
    std::string flipped = text;
    flipped[i] = static_cast<char>(flipped[i] ^ (1 << (i % 8)));
    REQUIRE_FALSE(handover_from_text(flipped).has_value());
  }
  CHECK_FALSE(handover_from_text(text + "\n").has_value());
}

TEST_CASE("AKeyIsNotHandedOverToItself") {
  CHECK_FALSE(handover_text(key(1), key(1), kFirst, 1).has_value());
  CHECK_FALSE(handover_text(key(1), key(2), kFirst, 0).has_value());
}

TEST_CASE("StepsLeadFromTheFirstKeyToTheLast") {
  const auto keys =
      keys_along(key(1).public_key(), std::vector{step(1, 2, kFirst, 4), step(2, 3, kSecond, 5)});
  REQUIRE(keys.has_value());
  CHECK(keys.value() == std::vector{key(1).public_key(), key(2).public_key(), key(3).public_key()});
  CHECK(keys_along(key(1).public_key(), {}).value() == std::vector{key(1).public_key()});
}

TEST_CASE("StepsInTheWrongOrderWithHolesOrALoopAreRefused") {
  const Handover one = step(1, 2, kFirst, 1);
  const Handover two = step(2, 3, kSecond, 2);
  CHECK(holds(refusal_along(1, {two, one}), "hand-over 2 is from key"));
  CHECK(holds(refusal_along(9, {one, two}), "the key given"));
  CHECK(holds(refusal_along(1, {one, step(4, 5, kSecond, 2)}), "which the one before leads to"));
  CHECK(holds(refusal_along(1, {one, step(2, 3, kSecond, 3)}), "expected number 2"));
  CHECK(holds(refusal_along(1, {one, step(2, 3, kSecond, 1)}), "expected number 2"));
  CHECK(holds(refusal_along(1, {step(1, 2, kSecond, 1), step(2, 3, kFirst, 2)}), "is dated"));
  CHECK(holds(refusal_along(1, {one, step(2, 1, kSecond, 2)}), "leads back to key"));
  CHECK(holds(refusal_along(1, {one, one}), "hand-over 1 is from key"));
}
