// The files that a verification is given, and what is wrong with one.
#pragma once

#include <filesystem>
#include <string>

#include "analysis/base/result.hpp"
#include "logger/verify/exit_status.hpp"

namespace logger::verify {

struct FileFault {
  std::string text;  // one line
  int exit_status = kExitInput;
};
template <class T>
using FileResult = analysis::base::Result<T, FileFault>;

// By errno: kExitInput for a file that is not there, else kExitCouldNotDo.
[[nodiscard]] analysis::base::Failure<FileFault> cannot_read(const std::filesystem::path& file);

// The whole file.
[[nodiscard]] FileResult<std::string> bytes_of(const std::filesystem::path& file);

}  // namespace logger::verify
