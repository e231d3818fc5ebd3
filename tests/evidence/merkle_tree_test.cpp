#include "analysis/evidence/merkle_tree.hpp"

#include <bit>
#include <catch2/catch.hpp>
#include <random>
#include <span>
#include <string>

#include "tests/evidence/test_values.hpp"

using namespace analysis::evidence;

using evidence_tests::bytes_of_hex;

namespace {

// The definition of RFC 9162 section 2.1.1, written as it stands there.
Sha256 naive_root(std::span<const std::string> leaves) {
  if (leaves.empty()) {
    return sha256_from_bytes("");
  }
  if (leaves.size() == 1) {
    return sha256_from_bytes(std::string(1, '\0') + leaves[0]);
  }
  const std::size_t split = std::bit_floor(leaves.size() - 1);
  const Sha256 left = naive_root(leaves.first(split));
  const Sha256 right = naive_root(leaves.subspan(split));
  std::string node(1, '\x01');
  node.append(left.bytes.begin(), left.bytes.end());
  node.append(right.bytes.begin(), right.bytes.end());
  return sha256_from_bytes(node);
}

}  // namespace

// Source: RFC 6962 / RFC 9162 reference data (check values, section 8).
TEST_CASE("TreeRootsAreThePublishedOnes") {
  const std::vector<std::string> leaves = {"",
                                           "00",
                                           "10",
                                           "2021",
                                           "3031",
                                           "40414243",
                                           "5051525354555657",
                                           "606162636465666768696a6b6c6d6e6f"};
  const std::vector<std::string> roots = {
      "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
      "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
      "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
      "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
      "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
      "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
      "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
      "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
      "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328"};
  MerkleTreeBuilder tree;
  CHECK(hex_from_digest(tree.root()) == roots[0]);
  for (std::size_t i = 0; i < leaves.size(); ++i) {
    tree.add_leaf(bytes_of_hex(leaves[i]));
    CHECK(tree.size() == i + 1);
    CHECK(hex_from_digest(tree.root()) == roots[i + 1]);
  }
  CHECK(hex_from_digest(leaf_hash_from_bytes("L123456")) ==
        "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56");
}

TEST_CASE("TreeRootMatchesTheDefinitionAtEverySize") {
  const std::uint32_t seed = 9162;
  CAPTURE(seed);
  std::mt19937 random(seed);
  std::vector<std::string> leaves;
  MerkleTreeBuilder tree;
  BlockedTreeBuilder blocked;
  for (std::size_t size = 1; size <= 300; ++size) {
    std::string leaf(random() % 40, '\0');
    for (char& c : leaf) {
      c = static_cast<char>(random());
    }
    tree.add_leaf(leaf);
    blocked.add_leaf(leaf);
    leaves.push_back(leaf);
    CAPTURE(size);
    REQUIRE(tree.root() == naive_root(leaves));
    REQUIRE(blocked.root() == tree.root());
    REQUIRE(tree.peaks().size() == static_cast<std::size_t>(std::popcount(size)));
  }
}

TEST_CASE("BlocksAreTheAlignedSubtreesAndStayFew") {
  MerkleTreeBuilder tree;
  BlockedTreeBuilder blocked;
  std::vector<std::string> leaves;
  for (std::size_t size = 1; size <= 33'000; ++size) {
    leaves.push_back(std::to_string(size));
    tree.add_leaf(leaves.back());
    blocked.add_leaf(leaves.back());
    if (size % 1021 == 0 || size == 8192 || size == 8193 || size == 16384 || size == 16385) {
      CAPTURE(size);
      const auto roots = blocked.block_roots();
      REQUIRE(roots.size() <= BlockedTreeBuilder::kMaxBlocks);
      REQUIRE(blocked.root() == tree.root());
      const std::size_t width = blocked.block_leaves();
      REQUIRE(roots.size() == (size + width - 1) / width);
      const std::size_t last = roots.size() - 1;
      const std::span<const std::string> all(leaves);
      CHECK(roots[0] == naive_root(all.first(std::min(width, size))));
      CHECK(roots[last] == naive_root(all.subspan(last * width)));
    }
  }
  CHECK(BlockedTreeBuilder().root() == sha256_from_bytes(""));
  CHECK(BlockedTreeBuilder().block_roots().empty());
}
