#include "analysis/evidence/checkpoint.hpp"

#include <catch2/catch.hpp>
#include <functional>
#include <nlohmann/json.hpp>

#include "analysis/evidence/canonical_json.hpp"
#include "tests/evidence/test_values.hpp"

using namespace analysis::evidence;
using analysis::base::UtcMicros;
using nlohmann::json;

using evidence_tests::key_of;

namespace {

constexpr UtcMicros kIssued{1'767'592'800'000'000};  // 2026-01-05T06:00:00Z

TreeHead head_of(int leaves) {
  MerkleTreeBuilder tree;
  for (int i = 0; i < leaves; ++i) {
    tree.add_leaf(std::to_string(i));
  }
  return {tree.size(), tree.root()};
}

std::string text_of(int leaves, std::uint8_t key = 1, bool simulated = true) {
  return sign_checkpoint(head_of(leaves), simulated, kIssued, key_of(key)).value();
}

Checkpoint read(const std::string& text) { return checkpoint_from_text(text).value(); }

// The refusal of a checkpoint whose signed part was changed and signed again by its key.
std::string refusal_of(const std::function<void(json&)>& change) {
  json document = json::parse(text_of(5));
  change(document["checkpoint"]);
  const std::string message = canonical_from_json(document["checkpoint"]).value();
  document["signature"] = hex_from_bytes(key_of(1).sign(message).bytes);
  const auto read = checkpoint_from_text(canonical_from_json(document).value() + "\n");
  return read ? "accepted" : read.error().text;
}

}  // namespace

TEST_CASE("ACheckpointReadsBackAsItWasSigned") {
  const Checkpoint expected{key_of(1).public_key(), head_of(5), true, kIssued};
  CHECK(read(text_of(5)) == expected);
  CHECK(text_of(5) == text_of(5));
  CHECK(read(text_of(0)).head.size == 0);
  CHECK(text_of(5).starts_with(
      R"({"checkpoint":{"format":"dwellog-checkpoint-1","issued_at":"2026-01-05T06:00:00Z",)"));
  CHECK(refusal_of([](json&) {}) == "accepted");
}

TEST_CASE("TheCheckpointOfThePapersIsTheOneThatIsMade") {
  CHECK(text_of(5) ==
        R"({"checkpoint":{"format":"dwellog-checkpoint-1","issued_at":"2026-01-05T06:00:00Z",)"
        R"("public_key":"cecc1507dc1ddd7295951c290888f095adb9044d1b73d696e6df065d683bd4fc",)"
        R"("root":"b6748f6ed7a99de7da84fd97e1a3bac6fab8999f4a43695cab9528a2de431147",)"
        R"("simulated":true,"size":5},"signature":")"
        "6d1370b80c91e12c60088893fb58d2291aa9eb8958df1e50ddb697c309632f9a"
        "3bc5d9d0ee9407d0e01205e66e24f68933e0cd0110846bef0c79e83e9c57e703\"}\n");
}

TEST_CASE("EveryFlippedBitOfACheckpointIsRefused") {
  const std::string text = text_of(5);
  for (std::size_t bit = 0; bit < 8 * text.size(); ++bit) {
    std::string flipped = text;
    flipped[bit / 8] = static_cast<char>(flipped[bit / 8] ^ static_cast<char>(1U << (bit % 8)));
    CAPTURE(bit);
    REQUIRE_FALSE(checkpoint_from_text(flipped));
  }
  for (std::size_t length = 0; length < text.size(); ++length) {
    REQUIRE_FALSE(checkpoint_from_text(text.substr(0, length)));
  }
  CHECK_FALSE(checkpoint_from_text(text + "\n"));
  CHECK_FALSE(checkpoint_from_text("[]\n"));
}

TEST_CASE("ACheckpointOfAnotherFormIsRefusedByName") {
  const auto names = [](const char* member, const std::function<void(json&)>& change) {
    const std::string refusal = refusal_of(change);
    CAPTURE(refusal);
    CHECK(refusal.find(member) != std::string::npos);
  };
  names("\"format\"", [](json& c) { c["format"] = "dwellog-checkpoint-2"; });
  names("other members", [](json& c) { c["more"] = 1; });
  names("other members", [](json& c) { c.erase("size"); });
  names("\"issued_at\"", [](json& c) { c["issued_at"] = "2026-01-05T07:00:00+01:00"; });
  names("\"public_key\"", [](json& c) { c["public_key"] = "ab"; });
  names("\"root\"", [](json& c) { c["root"] = 5; });
  names("\"simulated\"", [](json& c) { c["simulated"] = "true"; });
  names("\"size\"", [](json& c) { c["size"] = -1; });
  names("signature",
        [](json& c) { c["public_key"] = hex_from_bytes(key_of(2).public_key().bytes); });
  CHECK_FALSE(sign_checkpoint({(std::uint64_t{1} << 53U) + 1, {}}, false, kIssued, key_of(1)));
}

TEST_CASE("OnlyTheSameLogGoesOn") {
  const NodeSource nodes = [](const Subtree& at) -> analysis::base::Result<Sha256, Fault> {
    MerkleTreeBuilder tree;
    for (std::uint64_t i = at.index << at.level; i < (at.index + 1) << at.level; ++i) {
      tree.add_leaf(std::to_string(i));
    }
    return tree.root();
  };
  const HashPath path = consistency_path(5, 9, nodes).value();
  CHECK(check_continuation(read(text_of(5)), read(text_of(9)), path));
  CHECK_FALSE(check_continuation(read(text_of(9)), read(text_of(5)), path));
  CHECK_FALSE(check_continuation(read(text_of(5)), read(text_of(8)), path));
  CHECK_FALSE(check_continuation(read(text_of(5)), read(text_of(9, 2)), path));
  CHECK_FALSE(check_continuation(read(text_of(5)), read(text_of(9, 1, false)), path));
}
