// The error of everything under logger: category, one line of context for people, and errno where
// the operating system gave one. no_space and corrupt are never folded into io.
#pragma once

#include <string>
#include <utility>

#include "analysis/base/result.hpp"

namespace logger::store {

enum class ErrorCode {
  invalid_input,
  not_found,
  no_space,
  io,
  corrupt,
  timeout,
  unavailable,
  unsupported,
};

struct Error {
  ErrorCode code = ErrorCode::io;
  std::string context;  // what failed, which box or file, value with unit, what happens next
  int os_errno = 0;     // 0 = none
};

template <class T>
using Result = analysis::base::Result<T, Error>;
using Failure = analysis::base::Failure<Error>;

[[nodiscard]] inline Failure failure(ErrorCode code, std::string context, int os_errno = 0) {
  return Failure{Error{code, std::move(context), os_errno}};
}

}  // namespace logger::store
