// The exit status that an error of the store or of a file gives.
#pragma once

#include "logger/store/error.hpp"
#include "logger/verify/exit_status.hpp"

namespace logger::app {

using logger::kExitCannotTell;
using logger::kExitCouldNotDo;
using logger::kExitDone;
using logger::kExitInput;
using logger::kExitNot;

[[nodiscard]] inline int exit_status_of(const store::Error& error) {
  const bool input = error.code == store::ErrorCode::invalid_input ||
                     error.code == store::ErrorCode::not_found ||
                     error.code == store::ErrorCode::unsupported;
  return input ? kExitInput : kExitCouldNotDo;
}

}  // namespace logger::app
