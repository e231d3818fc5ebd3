// Runs a fuzz target over every file of its corpus folder, so that what fuzzing reached stays
// tested where there is no fuzzer. Exit status: 0 done; 1 no folder, no file in it, or one not
// readable. A broken property aborts; the file it came from is the last one named.
#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <vector>

#include "tests/fuzz/fuzz_target.hpp"

int main(int argc, char** argv) {
  if (argc != 2) {
    std::fprintf(stderr, "usage: %s CORPUS-FOLDER\n", argv[0]);
    return 1;
  }
  std::error_code error;
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(argv[1], error)) {
    files.push_back(entry.path());
  }
  if (files.empty()) {
    std::fprintf(stderr, "%s: no file to replay, expected the minimised corpus\n", argv[1]);
    return 1;
  }
  std::sort(files.begin(), files.end());
  for (const auto& file : files) {
    std::printf("%s\n", file.filename().c_str());
    std::fflush(stdout);
    std::ifstream stream(file, std::ios::binary);
    const std::vector<char> bytes(std::istreambuf_iterator<char>(stream), {});
    if (!stream.is_open() || stream.bad()) {
      std::fprintf(stderr, "%s: can't be read\n", file.c_str());
      return 1;
    }
    const std::vector<std::uint8_t> input(bytes.begin(), bytes.end());
    LLVMFuzzerTestOneInput(input.data(), input.size());
  }
  std::printf("%zu inputs, all properties hold\n", files.size());
}
