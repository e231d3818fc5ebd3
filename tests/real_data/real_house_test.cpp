// Logs of two real houses put through every part that air data can be put through. Skipped with
// exit code 77 where the files are missing; `--figures` also prints what was found. No floor was
// laid in either house and nothing but the air was measured.
#define CATCH_CONFIG_RUNNER
#include <algorithm>
#include <catch2/catch.hpp>
#include <string>
#include <vector>

#include "tests/real_data/real_log.hpp"

int main(int argc, char* argv[]) {
  constexpr int kSkipped = 77;
  if (!real_data::all_logs_exist()) {
    return kSkipped;
  }
  std::vector<char*> arguments(argv, argv + argc);
  const auto asked = std::remove_if(arguments.begin(), arguments.end(), [](const char* argument) {
    return std::string(argument) == "--figures";
  });
  const bool figures = asked != arguments.end();
  arguments.erase(asked, arguments.end());
  const int result = Catch::Session().run(static_cast<int>(arguments.size()), arguments.data());
  if (figures) {
    real_data::print_figures();
  }
  return result;
}
