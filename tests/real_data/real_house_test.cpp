// Logs of two real houses put through every part that air data can be put through. Skipped with
// exit code 77 where the files are missing; `--figures` also prints what was found. No floor was
// laid in either house and nothing but the air was measured.
#include <algorithm>
#include <catch2/catch.hpp>
#include <string>
#include <vector>

#include "tests/catch_session.hpp"
#include "tests/real_data/real_log.hpp"

int main(int argc, char* argv[]) {
  constexpr int kSkipped = 77;
  if (!real_data::all_logs_exist()) {
    return kSkipped;
  }
  std::vector<char*> arguments(argv, argv + argc);
  const auto figures = std::remove(arguments.begin(), arguments.end(), std::string("--figures"));
  if (figures != arguments.end()) {
    real_data::ask_for_figures();
    arguments.erase(figures, arguments.end());
  }
  const int result = run_tests(static_cast<int>(arguments.size()), arguments.data());
  if (real_data::figures_asked()) {
    real_data::print_figures();
  }
  return result;
}
