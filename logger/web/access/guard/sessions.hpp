// Sessions by the SHA-256 of their cookie, so that looking one up takes no time that depends on the
// secret. A session ends 30 days after its last use and 90 days after it began (our assumption).
// Pure; time is passed in; bounded memory. One thread.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "analysis/base/time.hpp"
#include "analysis/evidence/digest.hpp"

namespace logger::web {

using analysis::base::UtcMicros;
using analysis::evidence::Sha256;

struct Session {
  Sha256 digest;
  std::string principal_id;  // "u3", "s5"
  int generation = 1;        // of the user; 1 for a link
  UtcMicros made_at;
  UtcMicros used_at;
  bool operator==(const Session&) const = default;
};
// When it ends if it is not used any more.
[[nodiscard]] UtcMicros end_of(const Session& session);

class SessionTable {
 public:
  static constexpr std::size_t kMost = 1000;
  static constexpr std::size_t kMostOfOne = 50;

  // Where one principal has the most, his longest unused session goes; where all together have
  // the most, the longest unused one of a share link, else of anyone.
  void add(const Session& session);
  // A session that has not ended, marked as used now; nullptr else. Ends with the next call.
  [[nodiscard]] const Session* use(const Sha256& digest, UtcMicros now);
  // True when it was there.
  bool remove(const Sha256& digest) { return table_.erase(digest) > 0; }
  // Those that have not ended, by digest.
  [[nodiscard]] std::vector<Session> all(UtcMicros now) const;
  [[nodiscard]] std::size_t size() const { return table_.size(); }

 private:
  std::map<Sha256, Session> table_;
};

}  // namespace logger::web
