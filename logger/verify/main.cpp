// dwellog-verify: verifies a certificate as `dwellog verify` does, for someone who has nothing else
// of dwellog. Opens the files it is given and nothing more.
#include <sodium.h>

#include <CLI/CLI.hpp>
#include <exception>
#include <iostream>

#include "analysis/certificate/certificate_json.hpp"
#include "logger/verify/exit_status.hpp"
#include "logger/verify/token_check.hpp"
#include "logger/verify/verify_files.hpp"
#include "logger/verify/verify_options.hpp"

namespace {

constexpr const char* kProgram = "dwellog-verify";

std::string version_text() {
  return std::string(kProgram) + ", rules of " + logger::verify::rules_text() + ", reads " +
         std::string(analysis::certificate::kCertificateFormat) + ", libsodium " +
         sodium_version_string() + ", " + logger::verify::time_stamp_support_text();
}

}  // namespace

int main(int argc, char** argv) {
  CLI::App app("Verifies a certificate of conditions offline.", kProgram);
  app.set_version_flag("--version", version_text);
  app.footer(
      "Exit status: 0 proved; 1 input error; 2 not proved; 3 intact, but no key was given from\n"
      "outside; 4 could not do it.");
  logger::verify::VerifyOptions options;
  add_verify_options(app, options);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) {
      return app.exit(error);  // --help and --version
    }
    std::cerr << kProgram << ": " << error.what() << "; `" << kProgram
              << " --help` lists what is expected\n";
    return logger::kExitInput;
  }
  try {
    const int status = verify_files(options, {kProgram, std::cout, std::cerr});
    std::cout.flush();
    if (!std::cout) {
      std::cerr << kProgram << ": standard output could not be written whole\n";
      return logger::kExitCouldNotDo;
    }
    return status;
  } catch (const std::exception& error) {
    std::cerr << kProgram << ": stopped by an error of its own: " << error.what() << '\n';
    return logger::kExitCouldNotDo;
  }
}
