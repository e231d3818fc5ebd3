// Hands a message to the program a job names, and says when to try again. deliver_by_command blocks
// and is meant for the worker thread; a child process is I/O, so its time-out is real monotonic
// time and not the logger's clock. Stores nothing.
#pragma once

#include <chrono>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/time.hpp"
#include "logger/store/error.hpp"

namespace logger::notify {

using analysis::base::UtcMicros;
using store::Result;

// Runs argv (no shell; argv[0] looked up in PATH when it holds no slash) with `json` on its
// standard input and its standard output thrown away. Success is exit status 0, whether or not it
// read all of its input. The child gets no other descriptor of this process, its own process group
// and default signals. REQUIRES: descriptors 0 to 2 of this process are open. Errors: invalid_input
// (argv empty or not executable), not_found (no such program), timeout (its process group was
// killed), unavailable (ended with another status or by a signal; context carries the status and
// the first 200 bytes of its standard error), io (no process or pipe to be had).
Result<void> deliver_by_command(const std::vector<std::string>& argv, std::string_view json,
                                std::chrono::seconds timeout);

// When to try again after `attempts` (at least 1) attempts failed, the last one at `now`: 10 s,
// doubled with every attempt up to 1 h, for ever. Common practice, no source.
[[nodiscard]] UtcMicros next_attempt_at(int attempts, UtcMicros now);

// The same where the other side refused it as it is: 1 h, and once a day after twelve attempts, for
// the case that somebody sets it right. Our assumption.
[[nodiscard]] UtcMicros next_attempt_after_refusal(int attempts, UtcMicros now);

}  // namespace logger::notify
