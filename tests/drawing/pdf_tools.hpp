// Looks at PDF bytes with poppler's tools (package poppler-utils), an independent reader.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace tests {

// A folder of its own that is removed with the object.
class TemporaryFolder {
 public:
  TemporaryFolder();
  ~TemporaryFolder();
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  [[nodiscard]] std::filesystem::path operator/(const std::string& name) const {
    return folder_ / name;
  }

 private:
  std::filesystem::path folder_;
};

// Standard output of a shell command; fails the test when the command fails.
[[nodiscard]] std::string output_of(const std::string& command);

// All text in content order, white space runs as one space.
[[nodiscard]] std::string text_of_pdf(std::string_view pdf);
[[nodiscard]] int pages_of_pdf(std::string_view pdf);
// "2025-11-21T08:03:00Z" of the creation and the modification date.
[[nodiscard]] std::string dates_of_pdf(std::string_view pdf);

struct PdfWord {
  int page = 0;  // from 1
  double left = 0.0;
  double top = 0.0;
  double right = 0.0;
  double bottom = 0.0;
  std::string text;  // as in XML
};
[[nodiscard]] std::vector<PdfWord> words_of_pdf(std::string_view pdf);

// Share of pixels of a page (from 1) darker than half, 0..1, and those that are not white.
struct PageInk {
  double dark = 0.0;
  double any = 0.0;
};
[[nodiscard]] PageInk ink_of_pdf(std::string_view pdf, int page);

[[nodiscard]] std::string with_single_spaces(std::string_view text);
[[nodiscard]] int count_of(std::string_view text, std::string_view part);

}  // namespace tests
