// Proofs about an append-only tree and their verification: that a leaf stands at its place under a
// root, and that an older tree is the beginning of a newer one. A proof is made from the hashes of
// a few complete subtrees, wherever they are kept, so no tree is held in memory. Source: RFC 9162
// sections 2.1.3 and 2.1.4, with SHA-256. Pure; any thread.
#pragma once

#include <cstdint>
#include <functional>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/evidence/digest.hpp"
#include "analysis/evidence/fault.hpp"
#include "analysis/evidence/merkle_tree.hpp"

namespace analysis::evidence {

// Gives the hash of a complete subtree; its fault ends the making of the proof. It is asked only
// for subtrees that lie within the size that was named.
using NodeSource = std::function<base::Result<Sha256, Fault>(const Subtree&)>;

// Hashes from the leaves towards the root, as RFC 9162 orders them.
using HashPath = std::vector<Sha256>;

struct TreeHead {
  std::uint64_t size = 0;  // leaves
  Sha256 root;
  bool operator==(const TreeHead&) const = default;
};

// The root over the first `size` leaves. O(log size) nodes.
[[nodiscard]] base::Result<Sha256, Fault> root_from_nodes(std::uint64_t size,
                                                          const NodeSource& nodes);

// PATH(index, D[size]). O(log^2 size) nodes. Fault when index >= size.
[[nodiscard]] base::Result<HashPath, Fault> inclusion_path(std::uint64_t index, std::uint64_t size,
                                                           const NodeSource& nodes);

// PROOF(old_size, D[new_size]); empty for equal sizes and for an empty older tree. O(log^2) nodes.
// Fault when old_size > new_size.
[[nodiscard]] base::Result<HashPath, Fault> consistency_path(std::uint64_t old_size,
                                                             std::uint64_t new_size,
                                                             const NodeSource& nodes);

// Success only when `path` proves that the leaf with this hash is number `index` (from 0) of the
// tree. Source: RFC 9162 section 2.1.3.2. The fault says in plain words what does not hold.
[[nodiscard]] base::Result<void, Fault> check_inclusion(const Sha256& leaf_hash,
                                                        std::uint64_t index, const TreeHead& head,
                                                        const HashPath& path);

// Success only when `path` proves that the older tree is the beginning of the newer one. Source:
// RFC 9162 section 2.1.4.2.
[[nodiscard]] base::Result<void, Fault> check_consistency(const TreeHead& older,
                                                          const TreeHead& newer,
                                                          const HashPath& path);

}  // namespace analysis::evidence
