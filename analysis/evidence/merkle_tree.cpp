#include "analysis/evidence/merkle_tree.hpp"

#include <bit>
#include <cassert>
#include <utility>

namespace analysis::evidence {
namespace {

std::string_view view_of(const Sha256& hash) {
  return {reinterpret_cast<const char*>(hash.bytes.data()), hash.bytes.size()};
}

// The right-most subtree is the smallest, so the root folds from the right.
Sha256 root_from_peaks(const std::vector<Sha256>& peaks) {
  if (peaks.empty()) {
    return sha256_from_bytes({});
  }
  Sha256 root = peaks.back();
  for (std::size_t i = peaks.size() - 1; i-- > 0;) {
    root = node_hash_from(peaks[i], root);
  }
  return root;
}

// Adds a complete subtree to `count` others of its size.
void push_peak(std::vector<Sha256>& peaks, std::uint64_t count, Sha256 root,
               const MerkleTreeBuilder::SubtreeVisitor& completed) {
  const auto merges = static_cast<unsigned>(std::countr_one(count));
  for (unsigned level = 1; level <= merges; ++level) {
    root = node_hash_from(peaks.back(), root);
    peaks.pop_back();
    if (completed) {
      completed({level, count >> level}, root);
    }
  }
  peaks.push_back(root);
}

}  // namespace

Sha256 leaf_hash_from_bytes(std::string_view leaf) {
  return sha256_from_parts({std::string_view("\x00", 1), leaf});
}

Sha256 node_hash_from(const Sha256& left, const Sha256& right) {
  return sha256_from_parts({std::string_view("\x01", 1), view_of(left), view_of(right)});
}

MerkleTreeBuilder::MerkleTreeBuilder(std::uint64_t size, std::vector<Sha256> peaks)
    : size_(size), peaks_(std::move(peaks)) {
  assert(peaks_.size() == static_cast<std::size_t>(std::popcount(size_)));
}

void MerkleTreeBuilder::add_leaf_hash(const Sha256& leaf_hash, const SubtreeVisitor& completed) {
  push_peak(peaks_, size_, leaf_hash, completed);
  ++size_;
}

void MerkleTreeBuilder::add_subtree(unsigned level, const Sha256& root) {
  assert(size_ % (std::uint64_t{1} << level) == 0);
  // No smaller subtree is open, so the peaks are those of a tree of so many subtrees.
  push_peak(peaks_, size_ >> level, root, {});
  size_ += std::uint64_t{1} << level;
}

Sha256 MerkleTreeBuilder::root() const { return root_from_peaks(peaks_); }

void BlockedTreeBuilder::add_leaf(std::string_view leaf) {
  if (open_.size() == 0 && complete_.size() == kMaxBlocks) {
    for (std::size_t i = 0; i < kMaxBlocks / 2; ++i) {
      complete_[i] = node_hash_from(complete_[2 * i], complete_[2 * i + 1]);
    }
    complete_.resize(kMaxBlocks / 2);
    block_leaves_ *= 2;
  }
  open_.add_leaf(leaf);
  ++size_;
  if (open_.size() == block_leaves_) {
    complete_.push_back(open_.root());
    open_ = MerkleTreeBuilder();
  }
}

std::vector<Sha256> BlockedTreeBuilder::block_roots() const {
  std::vector<Sha256> roots = complete_;
  if (open_.size() > 0) {
    roots.push_back(open_.root());
  }
  return roots;
}

Sha256 BlockedTreeBuilder::root() const { return root_from_block_roots(block_roots()); }

Sha256 root_from_block_roots(const std::vector<Sha256>& block_roots) {
  // An incomplete last block sits where the tree's own smaller peaks do, so the blocks fold like
  // the leaves of a tree of their number.
  std::vector<Sha256> peaks;
  for (std::uint64_t i = 0; i < block_roots.size(); ++i) {
    push_peak(peaks, i, block_roots[i], {});
  }
  return root_from_peaks(peaks);
}

}  // namespace analysis::evidence
