// Keeps SIGPIPE away from this thread while it lives: the other side may close at any time, and
// that must not end the process. Header only.
#pragma once

#include <signal.h>

#include <cerrno>
#include <ctime>

namespace logger::transfer {

class PipeSignalBlock {
 public:
  PipeSignalBlock() {
    sigemptyset(&pipe_signal_);
    sigaddset(&pipe_signal_, SIGPIPE);
    sigset_t pending;
    sigpending(&pending);
    was_pending_ = sigismember(&pending, SIGPIPE) == 1;
    pthread_sigmask(SIG_BLOCK, &pipe_signal_, &before_);
  }
  PipeSignalBlock(const PipeSignalBlock&) = delete;
  PipeSignalBlock& operator=(const PipeSignalBlock&) = delete;
  ~PipeSignalBlock() {
    const timespec at_once{};
    while (!was_pending_ && sigtimedwait(&pipe_signal_, nullptr, &at_once) < 0 && errno == EINTR) {
    }
    pthread_sigmask(SIG_SETMASK, &before_, nullptr);
  }

 private:
  sigset_t pipe_signal_{};
  sigset_t before_{};
  bool was_pending_ = false;
};

}  // namespace logger::transfer
