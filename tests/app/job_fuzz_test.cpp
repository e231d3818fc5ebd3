// Any bytes in: an answer out, never a crash, and a Job exactly when nothing was found wrong.
#include <catch2/catch.hpp>
#include <random>

#include "tests/app/job_texts.hpp"

using namespace logger::app;
using namespace job_tests;

namespace {

const std::vector<std::string> kPieces = {"{",
                                          "}",
                                          "[",
                                          "]",
                                          ",",
                                          ":",
                                          "\"",
                                          "\\",
                                          "null",
                                          "true",
                                          "-1",
                                          "1e308",
                                          "1e-400",
                                          "0.5",
                                          "18446744073709551616",
                                          "//",
                                          "/*",
                                          "*/",
                                          "\n",
                                          "\\u0000",
                                          "\\ud800",
                                          "\xff",
                                          "\xc3",
                                          "\"id\"",
                                          "\"rooms\":[]",
                                          "\"source\":\"\"",
                                          "\"hall\"",
                                          "\"channels\":{}",
                                          "\"slab\":null",
                                          "\"csv\":{}",
                                          "\"separator\":\"\"",
                                          std::string(1, '\0')};

std::string mutated(std::string text, std::mt19937& random) {
  const auto below = [&](std::size_t end) {
    return std::uniform_int_distribution<std::size_t>(0, end - 1)(random);
  };
  for (std::size_t changes = 1 + below(4); changes > 0 && !text.empty(); --changes) {
    const std::size_t at = below(text.size());
    const std::size_t length = std::min(text.size() - at, 1 + below(40));
    switch (below(5)) {
      case 0:
        text[at] = static_cast<char>(below(256));
        break;
      case 1:
        text.erase(at, length);
        break;
      case 2:
        text.insert(at, kPieces[below(kPieces.size())]);
        break;
      case 3:
        text.insert(below(text.size()), text.substr(at, length));
        break;
      default:
        text.replace(at, length, kPieces[below(kPieces.size())]);
        break;
    }
  }
  return text;
}

// Half of a mutant's changes hit the syntax; these hit the meaning: one value swapped for another.
std::string with_swapped_value(const std::string& text, std::mt19937& random) {
  const std::vector<std::string> values = {"null",  "true", "0",  "-3.5", "1e300", "\"\"",
                                           "\"x\"", "[]",   "{}", "[{}]", "[[]]",  "[null]"};
  std::vector<std::size_t> colons;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text.compare(i, 2, ": ") == 0) {
      colons.push_back(i + 2);
    }
  }
  const std::size_t from = colons[random() % colons.size()];
  const std::size_t to = text.find_first_of(",}]\n", from);
  return text.substr(0, from) + values[random() % values.size()] + text.substr(to);
}

void check_reading(const std::string& text) {
  const JobReading reading = job_from_text(text, "job.json");
  REQUIRE(reading.job.has_value() == reading.errors.empty());
  REQUIRE(reading.errors.size() <= 100);
  for (const JobFinding& finding : reading.errors) {
    const std::string line = text_of(finding);
    REQUIRE(finding.line >= 1);
    REQUIRE(line.size() < 1000);
    REQUIRE(line.find('\n') == std::string::npos);
  }
}

}  // namespace

TEST_CASE("Mutated texts are answered") {
  const std::string sources[] = {commented_job_text({}), kShortest};
  for (unsigned seed = 1; seed <= 4000; ++seed) {
    INFO("seed " << seed);
    std::mt19937 random(seed);
    check_reading(mutated(sources[seed % 2], random));
    check_reading(with_swapped_value(sources[seed % 2], random));
  }
}

TEST_CASE("Every cut of the template is refused") {
  const std::string text = commented_job_text({});
  const std::size_t end = text.rfind('}');
  for (std::size_t length = 0; length <= end; length += 7) {
    INFO("length " << length);
    REQUIRE_FALSE(job_from_text(text.substr(0, length), "job.json").job);
  }
}
