#include "logger/store/store_writer.hpp"

#include <cassert>

namespace logger::store {

StoreWriter::StoreWriter(std::unique_ptr<ReadingStore> store, std::size_t capacity)
    : store_(std::move(store)), capacity_(capacity), thread_([this] { run(); }) {
  assert(store_ != nullptr && capacity_ > 0);
}

StoreWriter::~StoreWriter() { stop(); }

bool StoreWriter::try_submit(Job&& job) {
  {
    const MutexLock lock{mutex_};
    if (stopping_ || queue_.size() >= capacity_) {
      return false;
    }
    queue_.push_back(std::move(job));
  }
  changed_.notify_one();
  return true;
}

std::size_t StoreWriter::pending() const {
  const MutexLock lock{mutex_};
  return queue_.size() + (running_ ? 1 : 0);
}

void StoreWriter::stop() {
  {
    const MutexLock lock{mutex_};
    stopping_ = true;
  }
  changed_.notify_one();
  if (thread_.joinable()) {
    thread_.join();
    store_.reset();
  }
}

void StoreWriter::run() {
  Job job;
  while (take(job)) {
    job(*store_);
    job = nullptr;  // what it captured ends here, not with the next job
    const MutexLock lock{mutex_};
    running_ = false;
  }
}

bool StoreWriter::take(Job& job) {
  const MutexLock lock{mutex_};
  while (queue_.empty() && !stopping_) {
    changed_.wait(mutex_);
  }
  if (queue_.empty()) {
    return false;
  }
  job = std::move(queue_.front());
  queue_.pop_front();
  running_ = true;
  return true;
}

}  // namespace logger::store
