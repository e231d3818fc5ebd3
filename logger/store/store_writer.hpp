// The writer thread: owns the write connection and runs jobs on it in the order they came. The
// queue is bounded; a full one refuses (back-pressure), nothing is ever dropped. It keeps no
// result: a job hands its own on, on the writer thread, typically by posting into the caller's
// event loop.
#pragma once

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <functional>
#include <memory>
#include <thread>

#include "logger/store/annotated_mutex.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::store {

class StoreWriter {
 public:
  // Runs on the writer thread; must not throw, nor call stop(). For example
  //   [batch = std::move(batch), done](ReadingStore& store) { done(store.commit(batch)); }
  using Job = std::function<void(ReadingStore&)>;

  // REQUIRES: store not null, capacity > 0 (jobs waiting, the running one not counted).
  StoreWriter(std::unique_ptr<ReadingStore> store, std::size_t capacity);
  StoreWriter(const StoreWriter&) = delete;
  StoreWriter& operator=(const StoreWriter&) = delete;
  ~StoreWriter();  // stop()

  // Any thread, never blocks on the disk. False when the queue is full or stop() was called: `job`
  // is then left untouched, so that it can be offered again.
  [[nodiscard]] bool try_submit(Job&& job);

  // Jobs accepted and not finished, the running one included. Any thread.
  [[nodiscard]] std::size_t pending() const;

  // Refuses new jobs, runs every accepted one, then closes the store. Blocks until then. One
  // thread.
  void stop();

 private:
  void run();
  // Waits for a job; false when stopping and nothing is left.
  bool take(Job& job);

  std::unique_ptr<ReadingStore> store_;  // used by the writer thread alone until it ended
  const std::size_t capacity_;
  mutable Mutex mutex_;
  std::condition_variable_any changed_;
  std::deque<Job> queue_ DWELLOG_GUARDED_BY(mutex_);
  bool running_ DWELLOG_GUARDED_BY(mutex_) = false;
  bool stopping_ DWELLOG_GUARDED_BY(mutex_) = false;
  std::thread thread_;
};

}  // namespace logger::store
