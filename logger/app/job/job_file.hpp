// job.json: JSON with // and /* */ comments; docs/job-file.md lists every key. Refused with file,
// line, key and the nearest valid key: unknown or duplicate keys, a missing unit in a key's name,
// values out of range, trailing bytes. Pure; any thread; any bytes may come in.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "logger/app/job/job.hpp"

namespace logger::app {

// One finding. It names the value with its unit and what was expected.
struct JobFinding {
  std::string file;
  int line = 0;     // from 1
  std::string key;  // "boxes[0].port"; empty where it concerns the text as a whole
  std::string text;
};
// One printable line, "job.json:12: boxes[0].port: ...", without a line end.
[[nodiscard]] std::string text_of(const JobFinding& finding);

struct JobReading {
  std::optional<Job> job;            // present when there are no errors
  std::vector<JobFinding> errors;    // all there are, at most 100, in order of lines
  std::vector<JobFinding> warnings;  // read, but worth a look (a limit looser than common practice)
  std::string sha256_hex;            // of the bytes read
};

// Never throws; `file_name` is for messages. At most 1 MiB is accepted.
[[nodiscard]] JobReading job_from_text(std::string_view text, const std::string& file_name);

// What a new job.json has where its address and the installer's name belong.
inline constexpr const char* kTemplateAddress = "Street, town";
inline constexpr const char* kTemplateInstaller = "Installer's name";

struct JobTemplate {
  std::string name = "My job";
  std::string port = "/dev/serial/by-id/CHANGE-ME";
  std::uint64_t box_serial = 1;
};
// A commented job.json that passes job_from_text without a finding as long as `values` do: one
// room, one box with six channels.
[[nodiscard]] std::string commented_job_text(const JobTemplate& values);

}  // namespace logger::app
