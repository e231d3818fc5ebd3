// A folder of its own for one benchmark, removed at its end, and the clock and counters it reads.
#pragma once

#include <chrono>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

namespace benchmarks {

class BenchFolder {
 public:
  // Below argv[1], or the folder for temporary files. It should lie on the disk to be measured.
  BenchFolder(int argc, char** argv) {
    std::string pattern =
        (argc > 1 ? std::filesystem::path{argv[1]} : std::filesystem::temp_directory_path()) /
        "dwellog-bench-XXXXXX";
    if (mkdtemp(pattern.data()) == nullptr) {
      std::perror(pattern.c_str());
      std::exit(4);
    }
    path_ = pattern;
  }
  BenchFolder(const BenchFolder&) = delete;
  BenchFolder& operator=(const BenchFolder&) = delete;
  ~BenchFolder() { std::filesystem::remove_all(path_); }

  [[nodiscard]] std::string file(const std::string& name) const { return path_ / name; }

 private:
  std::filesystem::path path_;
};

class Stopwatch {
 public:
  [[nodiscard]] double seconds() const {
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - start_).count();
  }

 private:
  std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now();
};

// A counter of this process by its name in a file of /proc: "write_bytes:" of /proc/self/io (bytes
// handed to the block layer), "VmHWM:" of /proc/self/status (largest resident set, KiB). 0 when
// absent.
inline std::int64_t process_counter(const char* file, const std::string& name) {
  std::ifstream lines{file};
  for (std::string word; lines >> word;) {
    if (word == name) {
      std::int64_t value = 0;
      lines >> value;
      return value;
    }
  }
  return 0;
}

// The value, or the end of the benchmark with the reason on standard error.
template <class T>
auto required(T result) {
  if (!result) {
    std::fprintf(stderr, "%s\n", result.error().context.c_str());
    std::exit(4);
  }
  if constexpr (requires { result.value(); }) {
    return std::move(result).value();
  }
}

}  // namespace benchmarks
