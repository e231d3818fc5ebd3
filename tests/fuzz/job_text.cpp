// Fuzz target: any bytes as job.json: whole, or put into the middle of a job that is good, where
// they meet the checks of values.
#include <algorithm>
#include <string>

#include "logger/app/job/job_file.hpp"
#include "tests/fuzz/fuzz_target.hpp"

namespace logger::app {
namespace {

using fuzz::require;

// A short job with one of each thing that has checks of its own; "@" marks where bytes go in.
constexpr std::string_view kJob = R"({"format":"dwellog-job/1",
"job":{"name":"n","site_address":"s","installer":"i"},
"rooms":[{"id":"hall","name":"Hall","floor_area_m2":12,"floor_product":"p","requirements":{"slab":null@0}@1}],
"boxes":[{"id":"b","serial":7,"port":"/dev/x","channels":[
{"index":0,"id":"t","room":"hall","role":"room_air_temperature"@2},
{"index":1,"id":"r","room":"hall","role":"room_air_rh"},
{"index":2,"id":"c","room":"hall","role":"stack_core_temperature"}]@3}],
"alerts":{"recipients":[{"id":"me","command":["x"]@4}]@5},"page":{"port":8460@6},
"status_pushes":[{"url":"https://x"@7}],"checkpoints":{"every_hours":24@8}@9})";

std::string rest_of(fuzz::ByteSource& input) {
  const auto bytes = input.rest();
  return {bytes.begin(), bytes.end()};
}

std::string text_from(fuzz::ByteSource& input) {
  const std::uint8_t shape = input.u8();
  std::string text(kJob);
  for (char place = '0'; place <= '9'; ++place) {
    const std::string mark = std::string("@") + place;
    const bool here = shape % 16 == place - '0';
    const std::string bytes = here ? "," + rest_of(input) : "";
    text.replace(text.find(mark), mark.size(), bytes);
  }
  return shape % 16 < 10 ? text : rest_of(input);
}

bool is_printable(std::string_view text) {
  return std::none_of(text.begin(), text.end(),
                      [](char c) { return static_cast<unsigned char>(c) < ' ' || c == '\x7f'; });
}

// A job exactly when nothing was found wrong; each finding is one printable line with its place.
void check(const JobReading& reading, std::string_view text) {
  require(reading.job.has_value() == reading.errors.empty(), "a job, or findings");
  const auto lines = 1 + std::count(text.begin(), text.end(), '\n');
  for (const auto* findings : {&reading.errors, &reading.warnings}) {
    for (const JobFinding& finding : *findings) {
      require(finding.line >= 1 && finding.line <= lines, "a finding has its line");
      require(!finding.text.empty() && is_printable(text_of(finding)), "one printable line");
    }
  }
}

}  // namespace
}  // namespace logger::app

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::ByteSource input({data, size});
  const std::string text = logger::app::text_from(input);
  const auto reading = logger::app::job_from_text(text, "job.json");
  logger::app::check(reading, text);
  const auto again = logger::app::job_from_text(text, "job.json");
  fuzz::require(
      again.errors.size() == reading.errors.size() && again.sha256_hex == reading.sha256_hex,
      "the same text is read the same way");
  return 0;
}
