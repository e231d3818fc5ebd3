// "checkpoints" of job.json: defaults, values, and what is refused.
#include "tests/app/job_texts.hpp"

using namespace job_tests;
using logger::app::JobCheckpoints;

namespace {

std::string with_checkpoints(const std::string& object) {
  return with(kShortest, "\"format\": \"dwellog-job/1\",",
              "\"format\": \"dwellog-job/1\", \"checkpoints\": " + object + ",");
}

JobCheckpoints checkpoints_of(const std::string& object) {
  const auto reading = logger::app::job_from_text(with_checkpoints(object), "job.json");
  REQUIRE(reading.job);
  REQUIRE(reading.job->checkpoints);
  return *reading.job->checkpoints;
}

}  // namespace

TEST_CASE("A job that says nothing of checkpoints is told from one with an empty object") {
  CHECK_FALSE(logger::app::job_from_text(kShortest, "job.json").job->checkpoints);
  const JobCheckpoints defaults = checkpoints_of("{}");
  CHECK(defaults.every == std::chrono::hours(24));
  CHECK(defaults.time_stamp_url.empty());
  CHECK(defaults.authority_certificates.empty());
}

TEST_CASE("Hours, authority and certificates are read as written") {
  const JobCheckpoints read = checkpoints_of(
      R"({"every_hours": 6, "time_stamp_url": "https://stamps.invalid/tsa",
          "authority_certificates": "papers/authority.pem"})");
  CHECK(read.every == std::chrono::hours(6));
  CHECK(read.time_stamp_url == "https://stamps.invalid/tsa");
  CHECK(read.authority_certificates == "papers/authority.pem");
}

TEST_CASE("Hours outside 1 to 168 and fractions of one are refused") {
  for (const char* hours : {"0", "169", "0.5", "-1"}) {
    INFO(hours);
    CHECK(errors_of(with_checkpoints("{\"every_hours\": " + std::string(hours) + "}")).size() == 1);
  }
}

TEST_CASE("An address with another scheme or with blanks is refused by name") {
  CHECK(errors_of(with_checkpoints(R"({"time_stamp_url": "ftp://stamps.invalid/"})")) ==
        Lines{"job.json:2: checkpoints.time_stamp_url: \"ftp://stamps.invalid/\" is no address of "
              "an authority; expected one that begins with http:// or https://, without blanks"});
  CHECK(errors_of(with_checkpoints(R"({"time_stamp_url": "http://stamps.invalid/a b"})")).size() ==
        1);
}

TEST_CASE("Certificates outside of the job folder are refused") {
  for (const char* name :
       {"/etc/authority.pem", "../authority.pem", "a/../../authority.pem", "papers/"}) {
    INFO(name);
    const Lines errors =
        errors_of(with_checkpoints("{\"authority_certificates\": \"" + std::string(name) + "\"}"));
    REQUIRE(errors.size() == 1);
    CHECK_THAT(errors.front(), Catch::Contains("is not in the job folder"));
  }
  CHECK(errors_of(with_checkpoints(R"({"authority_certificates": "a/../authority.pem"})")).empty());
}

TEST_CASE("An authority without certificates is worth a look") {
  const Lines found =
      warnings_of(with_checkpoints(R"({"time_stamp_url": "https://stamps.invalid/"})"));
  CHECK(std::count_if(found.begin(), found.end(), [](const std::string& line) {
          return line.find("its time stamps are kept unverified") != std::string::npos;
        }) == 1);
}
