// A read-only store and its evidence log held at one moment, while the daemon goes on writing.
#pragma once

#include <string>

#include "logger/store/evidence_log.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::store {

// Until it goes out of scope, every read of the store and of log() is of the moment of hold(), so
// that what the store gives is what the log's head states. Used by the thread of the store.
class StoreSnapshot {
 public:
  // REQUIRES: `store` was opened read-only on the file `path`, outlives this, and is held by no
  // other snapshot. timeout when other programs wrote during each of many tries.
  static Result<StoreSnapshot> hold(ReadingStore& store, const std::string& path);

  StoreSnapshot(StoreSnapshot&& other) noexcept
      : store_(std::exchange(other.store_, nullptr)), log_(std::move(other.log_)) {}
  StoreSnapshot(const StoreSnapshot&) = delete;
  StoreSnapshot& operator=(const StoreSnapshot&) = delete;
  StoreSnapshot& operator=(StoreSnapshot&&) = delete;
  ~StoreSnapshot();

  [[nodiscard]] EvidenceLog& log() { return log_; }

 private:
  StoreSnapshot(ReadingStore& store, EvidenceLog log) : store_(&store), log_(std::move(log)) {}

  ReadingStore* store_;
  EvidenceLog log_;
};

}  // namespace logger::store
