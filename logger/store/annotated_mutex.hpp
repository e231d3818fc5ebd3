// A mutex that clang checks at compile time (-Wthread-safety): a member marked
// DWELLOG_GUARDED_BY(mutex_) can only be touched while that mutex is held. Nothing under g++.
#pragma once

#include <mutex>

#if defined(__clang__)
#define DWELLOG_THREAD_ATTRIBUTE(x) __attribute__((x))
#else
#define DWELLOG_THREAD_ATTRIBUTE(x)
#endif
#define DWELLOG_GUARDED_BY(mutex) DWELLOG_THREAD_ATTRIBUTE(guarded_by(mutex))
#define DWELLOG_REQUIRES(mutex) DWELLOG_THREAD_ATTRIBUTE(requires_capability(mutex))

namespace logger::store {

// BasicLockable, so a std::condition_variable_any can wait on it.
class DWELLOG_THREAD_ATTRIBUTE(capability("mutex")) Mutex {
 public:
  void lock() DWELLOG_THREAD_ATTRIBUTE(acquire_capability()) { mutex_.lock(); }
  void unlock() DWELLOG_THREAD_ATTRIBUTE(release_capability()) { mutex_.unlock(); }

 private:
  std::mutex mutex_;
};

class DWELLOG_THREAD_ATTRIBUTE(scoped_lockable) MutexLock {
 public:
  explicit MutexLock(Mutex& mutex) DWELLOG_THREAD_ATTRIBUTE(acquire_capability(mutex))
      : mutex_(mutex) {
    mutex_.lock();
  }
  MutexLock(const MutexLock&) = delete;
  MutexLock& operator=(const MutexLock&) = delete;
  ~MutexLock() DWELLOG_THREAD_ATTRIBUTE(release_capability()) { mutex_.unlock(); }

 private:
  Mutex& mutex_;
};

}  // namespace logger::store
