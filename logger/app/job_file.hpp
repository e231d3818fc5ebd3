// job.json: JSON with // and /* */ comments. Refused with file, line, key and the nearest valid key:
// unknown or duplicate keys, a missing unit in a key's name, values out of range, trailing bytes.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "logger/app/job.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

// One finding: "job.json:12: boxes[0].port: ...". Every finding names value with unit and what was
// expected.
struct JobFinding {
  std::string file;
  int line = 0;
  std::string key;
  std::string text;
};
[[nodiscard]] std::string text_of(const JobFinding& finding);  // one line

struct JobReading {
  std::optional<Job> job;             // present when there are no errors
  std::vector<JobFinding> errors;
  std::vector<JobFinding> warnings;   // read, but worth a look (a limit looser than common practice)
  std::string sha256_hex;             // of the bytes read
};

// Never throws; `file_name` is for messages.
[[nodiscard]] JobReading job_from_text(std::string_view text, const std::string& file_name);

struct JobTemplate {
  std::string name = "My job";
  std::string port = "/dev/serial/by-id/CHANGE-ME";
  std::uint64_t box_serial = 1;
};
// A commented job.json that passes job_from_text unchanged: one room, one box with six channels.
[[nodiscard]] std::string commented_job_text(const JobTemplate& values);

}  // namespace logger::app
