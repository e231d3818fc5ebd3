// Writes tests/evidence/example anew, from the project's root; for a change of the format only,
// with a reason in the commit.
#include <fstream>
#include <iostream>

#include "tests/evidence/example_site.hpp"

int main() {
  const auto write = [](const char* name, const std::string& text) {
    std::ofstream file(std::string("tests/evidence/example/") + name, std::ios::binary);
    file << text;
    return static_cast<bool>(file);
  };
  const auto issued = example::issue(example::declared(3), example::readings(3));
  const bool written = write("certificate.json", issued.certificate) &&
                       write("readings.csv", issued.readings_text) &&
                       write("certificate-key.pub",
                             analysis::evidence::text_from_public_key(example::key().public_key()));
  std::cout << (written ? "written\n" : "run this from the project's root\n");
  return written ? 0 : 1;
}
