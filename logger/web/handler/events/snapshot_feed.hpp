// The site's documents as they change, for any number of readers: each text, its compressed form
// and each difference is made once. One feed for each audience. Server's thread only.
#pragma once

#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "logger/web/http/event_feed.hpp"
#include "logger/web/site/site.hpp"

namespace logger::web {

enum class Audience { full, shared };

class SnapshotFeed {
 public:
  static constexpr std::size_t kKeptPatches = 50;
  static constexpr int kTicksOfSilence = 20;  // then a comment keeps the line alive
  static constexpr int kTicksOfTrust = 5;     // then it is asked whether a reader still may read

  // `run` tells the versions of one run of the program from those of another.
  SnapshotFeed(Audience audience, std::string run);
  ~SnapshotFeed();

  // Takes a snapshot in; no effect when it is the one there is. Readers get it at the next tick.
  void update(const std::shared_ptr<const SiteSnapshot>& snapshot);
  // Once a second: sends what is new, comments, and ends readers that may no longer read.
  void tick();

  [[nodiscard]] std::shared_ptr<const SiteSnapshot> snapshot() const { return snapshot_; }
  [[nodiscard]] const std::string& text() const { return text_; }  // of the document, one line
  [[nodiscard]] const std::string& gzip() const;                   // of the text
  [[nodiscard]] std::string id() const;                            // of the version: "57.a1b2c3d4"

  // Gives the whole document first, or the patches after `last_id` where those are still there.
  // still_may is asked now and then.
  [[nodiscard]] std::shared_ptr<EventFeed> open(std::string_view last_id,
                                                std::function<bool()> still_may);
  [[nodiscard]] std::size_t readers() const;

 private:
  class Reader;
  struct Patch {
    std::uint64_t from = 0;
    std::uint64_t to = 0;
    std::string event;
  };
  [[nodiscard]] std::string events_after(std::optional<std::uint64_t> version) const;
  [[nodiscard]] std::optional<std::uint64_t> version_from(std::string_view id) const;
  [[nodiscard]] std::string event(std::string_view name, std::uint64_t version,
                                  std::string_view data) const;
  [[nodiscard]] const nlohmann::ordered_json& document_of(const SiteSnapshot& snapshot) const;

  Audience audience_;
  std::string run_;
  std::shared_ptr<const SiteSnapshot> snapshot_;
  std::string text_;
  mutable std::string gzip_;  // empty until asked for
  std::deque<Patch> patches_;
  std::vector<std::weak_ptr<Reader>> readers_;  // the connections hold them
};

}  // namespace logger::web
