#include "analysis/evidence/merkle_proof.hpp"

#include <bit>
#include <string>

namespace analysis::evidence {
namespace {

using base::Failure;
using base::Result;

// Leaves begin..end-1 of the tree, where begin is a multiple of the largest power of two below
// their number: what the definitions of the RFC split a tree into.
struct Range {
  std::uint64_t begin = 0;
  std::uint64_t end = 0;
  [[nodiscard]] std::uint64_t size() const { return end - begin; }
  // REQUIRES: size() > 1. Where the RFC splits: the largest power of two smaller than size().
  [[nodiscard]] std::uint64_t middle() const { return begin + std::bit_floor(size() - 1); }
};

Failure<Fault> no_proof(const std::string& what) { return Failure{Fault{what}}; }

// REQUIRES: range.size() > 0.
Result<Sha256, Fault> range_root(Range range, const NodeSource& nodes) {
  std::vector<Sha256> complete;  // left to right
  while (!std::has_single_bit(range.size())) {
    const std::uint64_t size = std::bit_floor(range.size());
    auto left = range_root({range.begin, range.begin + size}, nodes);
    if (!left) {
      return left;
    }
    complete.push_back(left.value());
    range.begin += size;
  }
  const auto level = static_cast<unsigned>(std::countr_zero(range.size()));
  auto root = nodes({level, range.begin >> level});
  if (!root) {
    return root;
  }
  Sha256 folded = root.value();
  for (std::size_t i = complete.size(); i-- > 0;) {
    folded = node_hash_from(complete[i], folded);
  }
  return folded;
}

// The roots of `parts`, last one first.
Result<HashPath, Fault> roots_upwards(const std::vector<Range>& parts, const NodeSource& nodes) {
  HashPath path;
  for (std::size_t i = parts.size(); i-- > 0;) {
    const auto root = range_root(parts[i], nodes);
    if (!root) {
      return Failure{root.error()};
    }
    path.push_back(root.value());
  }
  return path;
}

std::string sizes_text(std::uint64_t older, std::uint64_t newer) {
  return std::to_string(older) + " entries and a newer one of " + std::to_string(newer);
}

// The two numbers that the verification algorithms of the RFC shift down level by level.
struct Walk {
  std::uint64_t fn = 0;
  std::uint64_t sn = 0;

  void up() {
    fn >>= 1U;
    sn >>= 1U;
  }
  [[nodiscard]] bool sibling_is_left() const { return (fn & 1U) != 0 || fn == sn; }
  // After a left sibling: over the levels at which the node has no sibling.
  void skip_lone_levels() {
    while ((fn & 1U) == 0 && fn != 0) {
      up();
    }
  }
};

}  // namespace

Result<Sha256, Fault> root_from_nodes(std::uint64_t size, const NodeSource& nodes) {
  if (size == 0) {
    return MerkleTreeBuilder().root();
  }
  return range_root({0, size}, nodes);
}

Result<HashPath, Fault> inclusion_path(std::uint64_t index, std::uint64_t size,
                                       const NodeSource& nodes) {
  if (index >= size) {
    return no_proof("entry " + std::to_string(index) + " is asked for, the log has " +
                    std::to_string(size) + " entries, counted from 0");
  }
  std::vector<Range> siblings;  // from the root down
  for (Range range{0, size}; range.size() > 1;) {
    const std::uint64_t middle = range.middle();
    if (index < middle) {
      siblings.push_back({middle, range.end});
      range.end = middle;
    } else {
      siblings.push_back({range.begin, middle});
      range.begin = middle;
    }
  }
  return roots_upwards(siblings, nodes);
}

Result<HashPath, Fault> consistency_path(std::uint64_t old_size, std::uint64_t new_size,
                                         const NodeSource& nodes) {
  if (old_size > new_size) {
    return no_proof("an older log of " + sizes_text(old_size, new_size) +
                    ": the older one can't be the longer one");
  }
  if (old_size == new_size || old_size == 0) {
    return HashPath{};
  }
  std::vector<Range> parts;  // from the root down
  Range range{0, new_size};
  while (range.end != old_size) {
    const std::uint64_t middle = range.middle();
    if (old_size <= middle) {
      parts.push_back({middle, range.end});
      range.end = middle;
    } else {
      parts.push_back({range.begin, middle});
      range.begin = middle;
    }
  }
  // What is left is a subtree of both; the verifier knows it when it is the whole older tree.
  if (range.begin != 0) {
    parts.push_back(range);
  }
  return roots_upwards(parts, nodes);
}

Result<void, Fault> check_inclusion(const Sha256& leaf_hash, std::uint64_t index,
                                    const TreeHead& head, const HashPath& path) {
  const std::string entry = "entry " + std::to_string(index);
  if (index >= head.size) {
    return no_proof(entry + " can't be in a log of " + std::to_string(head.size) +
                    " entries, counted from 0");
  }
  Walk walk{index, head.size - 1};
  Sha256 root = leaf_hash;
  for (const Sha256& sibling : path) {
    if (walk.sn == 0) {
      return no_proof("the proof of " + entry + " is longer than a log of " +
                      std::to_string(head.size) + " entries gives");
    }
    if (walk.sibling_is_left()) {
      root = node_hash_from(sibling, root);
      walk.skip_lone_levels();
    } else {
      root = node_hash_from(root, sibling);
    }
    walk.up();
  }
  if (walk.sn != 0) {
    return no_proof("the proof of " + entry + " is shorter than a log of " +
                    std::to_string(head.size) + " entries gives");
  }
  if (root != head.root) {
    return no_proof(entry + " is not in the log of that root: the proof leads to " +
                    hex_from_digest(root) + ", expected " + hex_from_digest(head.root));
  }
  return {};
}

Result<void, Fault> check_consistency(const TreeHead& older, const TreeHead& newer,
                                      const HashPath& path) {
  const std::string logs = "an older log of " + sizes_text(older.size, newer.size);
  if (older.size > newer.size) {
    return no_proof(logs + ": the older one can't be the longer one");
  }
  if (older.size == newer.size || older.size == 0) {
    const Sha256 expected = older.size == 0 ? MerkleTreeBuilder().root() : newer.root;
    if (!path.empty()) {
      return no_proof(logs + ": the proof has hashes, none were expected");
    }
    return older.root == expected
               ? Result<void, Fault>{}
               : no_proof(logs + ": the roots differ, the logs are not the same");
  }
  HashPath steps;
  if (std::has_single_bit(older.size)) {
    steps.push_back(older.root);
  }
  steps.insert(steps.end(), path.begin(), path.end());
  if (path.empty()) {
    return no_proof(logs + ": the proof is empty");
  }
  Walk walk{older.size - 1, newer.size - 1};
  while ((walk.fn & 1U) != 0) {
    walk.up();
  }
  Sha256 old_root = steps.front();
  Sha256 new_root = steps.front();
  for (std::size_t i = 1; i < steps.size(); ++i) {
    if (walk.sn == 0) {
      return no_proof(logs + ": the proof is too long");
    }
    if (walk.sibling_is_left()) {
      old_root = node_hash_from(steps[i], old_root);
      new_root = node_hash_from(steps[i], new_root);
      walk.skip_lone_levels();
    } else {
      new_root = node_hash_from(new_root, steps[i]);
    }
    walk.up();
  }
  if (walk.sn != 0) {
    return no_proof(logs + ": the proof is too short");
  }
  if (old_root != older.root || new_root != newer.root) {
    return no_proof(logs + ": the older log is not the beginning of the newer one");
  }
  return {};
}

}  // namespace analysis::evidence
