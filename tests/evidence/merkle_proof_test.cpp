#include "analysis/evidence/merkle_proof.hpp"

#include <bit>
#include <catch2/catch.hpp>
#include <map>
#include <random>
#include <span>
#include <string>

using namespace analysis::evidence;

namespace {

using Hashes = std::vector<Sha256>;

// The definitions of RFC 9162 sections 2.1.1, 2.1.3.1 and 2.1.4.1, written as they stand there.
Sha256 naive_root(std::span<const Sha256> leaves) {
  if (leaves.empty()) {
    return sha256_from_bytes("");
  }
  if (leaves.size() == 1) {
    return leaves[0];
  }
  const std::size_t k = std::bit_floor(leaves.size() - 1);
  return node_hash_from(naive_root(leaves.first(k)), naive_root(leaves.subspan(k)));
}

HashPath naive_path(std::size_t m, std::span<const Sha256> leaves) {
  if (leaves.size() == 1) {
    return {};
  }
  const std::size_t k = std::bit_floor(leaves.size() - 1);
  HashPath path = m < k ? naive_path(m, leaves.first(k)) : naive_path(m - k, leaves.subspan(k));
  path.push_back(naive_root(m < k ? leaves.subspan(k) : leaves.first(k)));
  return path;
}

HashPath naive_subproof(std::size_t m, std::span<const Sha256> leaves, bool whole) {
  if (m == leaves.size()) {
    return whole ? HashPath{} : HashPath{naive_root(leaves)};
  }
  const std::size_t k = std::bit_floor(leaves.size() - 1);
  HashPath path = m <= k ? naive_subproof(m, leaves.first(k), whole)
                         : naive_subproof(m - k, leaves.subspan(k), false);
  path.push_back(naive_root(m <= k ? leaves.subspan(k) : leaves.first(k)));
  return path;
}

Hashes random_leaves(std::size_t count, std::mt19937& random) {
  Hashes leaves(count);
  for (Sha256& leaf : leaves) {
    for (auto& byte : leaf.bytes) {
      byte = static_cast<std::uint8_t>(random());
    }
  }
  return leaves;
}

NodeSource nodes_over(std::span<const Sha256> leaves) {
  return [leaves](const Subtree& at) -> analysis::base::Result<Sha256, Fault> {
    const std::size_t width = std::size_t{1} << at.level;
    const std::size_t begin = at.index << at.level;
    REQUIRE(begin + width <= leaves.size());
    return naive_root(leaves.subspan(begin, width));
  };
}

HashPath path_of_hex(std::initializer_list<const char*> hex) {
  HashPath path;
  for (const char* text : hex) {
    path.push_back(digest_from_hex(text).value());
  }
  return path;
}

Hashes published_leaves() {
  Hashes leaves;
  for (const std::string hex : {"", "00", "10", "2021", "3031", "40414243", "5051525354555657",
                                "606162636465666768696a6b6c6d6e6f"}) {
    std::vector<std::uint8_t> bytes(hex.size() / 2);
    REQUIRE(bytes_from_hex(hex, bytes));
    leaves.push_back(leaf_hash_from_bytes(std::string(bytes.begin(), bytes.end())));
  }
  return leaves;
}

// Every way of spoiling a proof that the tests try, each given to `refused_by`.
void for_each_spoiled(const HashPath& path, const std::function<void(const HashPath&)>& visit) {
  for (std::size_t i = 0; i < path.size(); ++i) {
    for (std::size_t bit = 0; bit < 256; ++bit) {
      HashPath spoiled = path;
      spoiled[i].bytes[bit / 8] ^= static_cast<std::uint8_t>(1U << (bit % 8));
      visit(spoiled);
    }
    HashPath shorter = path;
    shorter.erase(shorter.begin() + static_cast<std::ptrdiff_t>(i));
    visit(shorter);
    HashPath longer = path;
    longer.insert(longer.begin() + static_cast<std::ptrdiff_t>(i), path[i]);
    visit(longer);
    if (i + 1 < path.size() && path[i] != path[i + 1]) {
      HashPath swapped = path;
      std::swap(swapped[i], swapped[i + 1]);
      visit(swapped);
    }
  }
  for (const Sha256& extra : {Sha256{}, path.empty() ? Sha256{} : path.front()}) {
    HashPath extended = path;
    extended.push_back(extra);
    visit(extended);
  }
}

}  // namespace

// Source: reference data of RFC 6962 implementations, from memory; each is checked against the
// definition too.
TEST_CASE("PathsOfTheReferenceTreeAreThePublishedOnes") {
  const Hashes leaves = published_leaves();
  const std::span<const Sha256> all(leaves);
  const char* const k1 = "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7";
  const char* const k23 = "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e";
  const char* const k4567 = "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4";
  const char* const k4 = "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b";
  const char* const k67 = "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0";
  const char* const k0123 = "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7";
  const char* const k01 = "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125";
  const char* const k0 = "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d";
  const char* const k45 = "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a";
  const auto inclusion = [&](std::size_t index, std::size_t size) {
    return inclusion_path(index, size, nodes_over(all.first(size))).value();
  };
  CHECK(inclusion(0, 1).empty());
  CHECK(inclusion(0, 8) == path_of_hex({k1, k23, k4567}));
  CHECK(inclusion(5, 8) == path_of_hex({k4, k67, k0123}));
  CHECK(inclusion(2, 3) == path_of_hex({k01}));
  CHECK(inclusion(1, 5) == path_of_hex({k0, k23, k4}));
  const auto consistency = [&](std::size_t older, std::size_t newer) {
    return consistency_path(older, newer, nodes_over(all.first(newer))).value();
  };
  CHECK(consistency(1, 1).empty());
  CHECK(consistency(1, 8) == path_of_hex({k1, k23, k4567}));
  CHECK(consistency(6, 8) == path_of_hex({k45, k67, k0123}));
  CHECK(consistency(2, 5) == path_of_hex({k23, k4}));
}

TEST_CASE("EveryEntryOfEverySmallTreeIsProvedAndNoOther") {
  const std::uint32_t seed = 21301;
  CAPTURE(seed);
  std::mt19937 random(seed);
  const Hashes leaves = random_leaves(41, random);
  const std::span<const Sha256> all(leaves);
  for (std::size_t size = 1; size <= leaves.size(); ++size) {
    const TreeHead head{size, naive_root(all.first(size))};
    REQUIRE(root_from_nodes(size, nodes_over(all.first(size))).value() == head.root);
    for (std::size_t index = 0; index < size; ++index) {
      CAPTURE(size, index);
      const auto path = inclusion_path(index, size, nodes_over(all.first(size))).value();
      REQUIRE(path == naive_path(index, all.first(size)));
      REQUIRE(check_inclusion(leaves[index], index, head, path));
      for (std::size_t other = 0; other < leaves.size(); ++other) {
        if (other != index) {
          REQUIRE_FALSE(check_inclusion(leaves[index], other, head, path));
          REQUIRE_FALSE(check_inclusion(leaves[other], index, head, path));
        }
      }
    }
  }
}

TEST_CASE("ASpoiledInclusionProofIsRefused") {
  const std::uint32_t seed = 21302;
  CAPTURE(seed);
  std::mt19937 random(seed);
  for (const std::size_t size : {1U, 2U, 6U, 7U}) {
    const Hashes leaves = random_leaves(size, random);
    const TreeHead head{size, naive_root(leaves)};
    for (std::size_t index = 0; index < size; ++index) {
      CAPTURE(size, index);
      const HashPath path = naive_path(index, leaves);
      REQUIRE(check_inclusion(leaves[index], index, head, path));
      for_each_spoiled(path, [&](const HashPath& spoiled) {
        REQUIRE_FALSE(check_inclusion(leaves[index], index, head, spoiled));
      });
      for (std::size_t bit = 0; bit < 256; ++bit) {
        const auto flip = static_cast<std::uint8_t>(1U << (bit % 8));
        Sha256 leaf = leaves[index];
        leaf.bytes[bit / 8] ^= flip;
        REQUIRE_FALSE(check_inclusion(leaf, index, head, path));
        TreeHead other = head;
        other.root.bytes[bit / 8] ^= flip;
        REQUIRE_FALSE(check_inclusion(leaves[index], index, other, path));
      }
    }
  }
  CHECK_FALSE(check_inclusion({}, 0, {0, MerkleTreeBuilder().root()}, {}));
}

TEST_CASE("AllPairsOfSizesUpTo130AreConsistent") {
  const std::uint32_t seed = 21401;
  CAPTURE(seed);
  std::mt19937 random(seed);
  const Hashes leaves = random_leaves(130, random);
  const std::span<const Sha256> all(leaves);
  Hashes roots;
  for (std::size_t size = 0; size <= leaves.size(); ++size) {
    roots.push_back(naive_root(all.first(size)));
  }
  for (std::size_t newer = 0; newer <= leaves.size(); ++newer) {
    for (std::size_t older = 0; older <= newer; ++older) {
      CAPTURE(older, newer);
      const auto path = consistency_path(older, newer, nodes_over(all.first(newer))).value();
      if (older > 0) {
        REQUIRE(path == naive_subproof(older, all.first(newer), true));
      }
      const TreeHead old_head{older, roots[older]};
      const TreeHead new_head{newer, roots[newer]};
      REQUIRE(check_consistency(old_head, new_head, path));
      TreeHead forked = old_head;
      forked.root.bytes[random() % 32] ^= 1U;
      REQUIRE_FALSE(check_consistency(forked, new_head, path));
      if (older > 0) {
        REQUIRE_FALSE(check_consistency({older - 1, roots[older]}, new_head, path));
        TreeHead other = new_head;
        other.root.bytes[random() % 32] ^= 1U;
        REQUIRE_FALSE(check_consistency(old_head, other, path));
      }
      if (older != newer) {
        REQUIRE_FALSE(check_consistency(new_head, old_head, path));
      }
    }
  }
}

TEST_CASE("ASpoiledConsistencyProofIsRefused") {
  const std::uint32_t seed = 21402;
  CAPTURE(seed);
  std::mt19937 random(seed);
  for (const std::size_t newer : {1U, 2U, 7U, 8U}) {
    const Hashes leaves = random_leaves(newer, random);
    const std::span<const Sha256> all(leaves);
    for (std::size_t older = 1; older <= newer; ++older) {
      CAPTURE(older, newer);
      const TreeHead old_head{older, naive_root(all.first(older))};
      const TreeHead new_head{newer, naive_root(all)};
      const HashPath path = naive_subproof(older, leaves, true);
      REQUIRE(check_consistency(old_head, new_head, path));
      for_each_spoiled(path, [&](const HashPath& spoiled) {
        REQUIRE_FALSE(check_consistency(old_head, new_head, spoiled));
      });
    }
  }
}

TEST_CASE("AProofThatCanNotBeMadeIsAFault") {
  const Hashes leaves(8);
  CHECK_FALSE(inclusion_path(8, 8, nodes_over(leaves)));
  CHECK_FALSE(inclusion_path(0, 0, nodes_over(leaves)));
  CHECK_FALSE(consistency_path(9, 8, nodes_over(leaves)));
  const NodeSource broken = [](const Subtree&) -> analysis::base::Result<Sha256, Fault> {
    return analysis::base::Failure{Fault{"no such node"}};
  };
  CHECK(inclusion_path(3, 8, broken).error().text == "no such node");
  CHECK_FALSE(consistency_path(3, 8, broken));
  CHECK_FALSE(root_from_nodes(5, broken));
}

TEST_CASE("ABuilderGoesOnFromSizeAndPeaks") {
  const std::uint32_t seed = 9163;
  CAPTURE(seed);
  std::mt19937 random(seed);
  const Hashes leaves = random_leaves(200, random);
  const std::span<const Sha256> all(leaves);
  MerkleTreeBuilder whole;
  std::map<Subtree, Sha256> completed;
  for (std::size_t i = 0; i < leaves.size(); ++i) {
    MerkleTreeBuilder resumed(whole.size(), whole.peaks());
    resumed.add_leaf_hash(leaves[i]);
    whole.add_leaf_hash(
        leaves[i], [&](const Subtree& at, const Sha256& hash) { completed.emplace(at, hash); });
    REQUIRE(resumed.root() == whole.root());
    REQUIRE(resumed.peaks() == whole.peaks());
  }
  std::size_t expected = 0;
  for (unsigned level = 1; (leaves.size() >> level) > 0; ++level) {
    for (std::size_t index = 0; index < (leaves.size() >> level); ++index, ++expected) {
      REQUIRE(completed.at({level, index}) ==
              naive_root(all.subspan(index << level, std::size_t{1} << level)));
    }
  }
  CHECK(completed.size() == expected);
}
