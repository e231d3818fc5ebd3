// The tree hash of an append-only list of leaves. Source: RFC 9162 section 2.1 with SHA-256. Pure;
// one builder is used by one thread; its state is O(log n) whatever the number of leaves.
#pragma once

#include <cstdint>
#include <functional>
#include <string_view>
#include <vector>

#include "analysis/evidence/digest.hpp"

namespace analysis::evidence {

// SHA-256(0x00 || leaf).
[[nodiscard]] Sha256 leaf_hash_from_bytes(std::string_view leaf);
// SHA-256(0x01 || left || right).
[[nodiscard]] Sha256 node_hash_from(const Sha256& left, const Sha256& right);

// The complete subtree over the 2^level leaves from number index * 2^level on.
struct Subtree {
  unsigned level = 0;  // 0 is a leaf
  std::uint64_t index = 0;
  auto operator<=>(const Subtree&) const = default;
};

class MerkleTreeBuilder {
 public:
  // Called for each subtree above the leaves when a leaf completes it, smaller ones first.
  using SubtreeVisitor = std::function<void(const Subtree&, const Sha256&)>;

  MerkleTreeBuilder() = default;
  // Goes on where another builder of this size and these peaks was.
  // REQUIRES: peaks.size() is the number of bits set in size.
  MerkleTreeBuilder(std::uint64_t size, std::vector<Sha256> peaks);

  void add_leaf(std::string_view leaf) { add_leaf_hash(leaf_hash_from_bytes(leaf)); }
  void add_leaf_hash(const Sha256& leaf_hash) { add_leaf_hash(leaf_hash, {}); }
  void add_leaf_hash(const Sha256& leaf_hash, const SubtreeVisitor& completed);

  // Adds 2^level leaves by the root over them. REQUIRES: size() is a multiple of 2^level.
  void add_subtree(unsigned level, const Sha256& root);

  [[nodiscard]] std::uint64_t size() const { return size_; }
  // Root over the leaves so far; of none it is the hash of the empty string. O(log n).
  [[nodiscard]] Sha256 root() const;

  // Roots of the complete subtrees, largest first: one for each bit set in size().
  [[nodiscard]] const std::vector<Sha256>& peaks() const { return peaks_; }

 private:
  std::uint64_t size_ = 0;
  std::vector<Sha256> peaks_;
};

// Beside the root, the roots of the aligned blocks of a tree, so that a reader of another copy of
// the leaves can say which block differs. The block size doubles whenever there would be more than
// kMaxBlocks of them, so memory is bounded.
class BlockedTreeBuilder {
 public:
  static constexpr std::uint64_t kMinBlockLeaves = 64;
  static constexpr std::size_t kMaxBlocks = 128;

  void add_leaf(std::string_view leaf);

  [[nodiscard]] std::uint64_t size() const { return size_; }
  [[nodiscard]] std::uint64_t block_leaves() const { return block_leaves_; }
  // One for each block of block_leaves() leaves in order; the last may be shorter.
  [[nodiscard]] std::vector<Sha256> block_roots() const;
  [[nodiscard]] Sha256 root() const;

 private:
  std::uint64_t size_ = 0;
  std::uint64_t block_leaves_ = kMinBlockLeaves;
  std::vector<Sha256> complete_;
  MerkleTreeBuilder open_;
};

// The root of the whole tree from the roots of its aligned blocks, all but the last of which are
// complete.
[[nodiscard]] Sha256 root_from_block_roots(const std::vector<Sha256>& block_roots);

}  // namespace analysis::evidence
