// The command line of probe-box-sim, read into run settings. No I/O.
#pragma once

#include <string>
#include <vector>

#include "analysis/base/result.hpp"
#include "firmware-sim/sim/simulation_run.hpp"

namespace firmware::sim {

struct Options {
  RunSettings run;
  bool progress = false;
  bool help = false;
  bool list = false;
  std::string show;  // the text of a built-in scenario, to be shown; empty = none
};

// `arguments` without the program's name. The error is one line: what, where, what was expected.
[[nodiscard]] analysis::base::Result<Options, std::string> options_from_arguments(
    const std::vector<std::string>& arguments);

[[nodiscard]] std::string help_text();
// The built-in scenarios, one a line: name and the first comment line of its text.
[[nodiscard]] std::string list_text();

}  // namespace firmware::sim
