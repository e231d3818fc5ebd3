#include "tests/drawing/pdf_tools.hpp"

#include <unistd.h>

#include <array>
#include <catch2/catch.hpp>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <regex>

namespace tests {
namespace {

// Runs a poppler tool on the bytes; "{}" in the command stands for the file.
std::string tool_output(std::string_view pdf, std::string command) {
  const TemporaryFolder folder;
  const std::string file = (folder / "page.pdf").string();
  std::ofstream(file, std::ios::binary) << pdf;
  command.replace(command.find("{}"), 2, file);
  return output_of(command);
}

}  // namespace

TemporaryFolder::TemporaryFolder() {
  std::string pattern = (std::filesystem::temp_directory_path() / "dwellpagesXXXXXX").string();
  REQUIRE(mkdtemp(pattern.data()) != nullptr);
  folder_ = pattern;
}
TemporaryFolder::~TemporaryFolder() { std::filesystem::remove_all(folder_); }

std::string output_of(const std::string& command) {
  std::string output;
  FILE* pipe = popen(command.c_str(), "r");
  REQUIRE(pipe != nullptr);
  std::array<char, 65536> buffer{};
  for (std::size_t got = 0; (got = fread(buffer.data(), 1, buffer.size(), pipe)) > 0;) {
    output.append(buffer.data(), got);
  }
  INFO(command);
  REQUIRE(pclose(pipe) == 0);
  return output;
}

std::string with_single_spaces(std::string_view text) {
  std::string single;
  for (const char c : text) {
    const bool space = c == ' ' || c == '\n' || c == '\f' || c == '\t' || c == '\r';
    if (!space) {
      single += c;
    } else if (!single.empty() && single.back() != ' ') {
      single += ' ';
    }
  }
  return single;
}

int count_of(std::string_view text, std::string_view part) {
  int count = 0;
  for (std::size_t i = text.find(part); i != std::string_view::npos; i = text.find(part, i + 1)) {
    ++count;
  }
  return count;
}

std::string text_of_pdf(std::string_view pdf) {
  return with_single_spaces(tool_output(pdf, "pdftotext -raw {} -"));
}

int pages_of_pdf(std::string_view pdf) {
  const std::string info = tool_output(pdf, "pdfinfo {}");
  std::smatch match;
  REQUIRE(std::regex_search(info, match, std::regex("Pages: +([0-9]+)")));
  return std::stoi(match[1]);
}

std::string dates_of_pdf(std::string_view pdf) {
  const std::string info = tool_output(pdf, "TZ=UTC pdfinfo -isodates {}");
  std::string dates;
  const std::regex pattern("(?:CreationDate|ModDate): +([^\n]+)");
  for (std::sregex_iterator i(info.begin(), info.end(), pattern), end; i != end; ++i) {
    dates += (*i)[1].str() + " ";
  }
  return dates;
}

std::vector<PdfWord> words_of_pdf(std::string_view pdf) {
  const std::string xml = tool_output(pdf, "pdftotext -bbox {} -");
  const std::regex pattern(
      "<page |<word xMin=\"([-0-9.]+)\" yMin=\"([-0-9.]+)\" xMax=\"([-0-9.]+)\" "
      "yMax=\"([-0-9.]+)\">([^<]*)</word>");
  std::vector<PdfWord> words;
  int page = 0;
  for (std::sregex_iterator i(xml.begin(), xml.end(), pattern), end; i != end; ++i) {
    if (!(*i)[1].matched) {
      ++page;
      continue;
    }
    words.push_back({page, std::stod((*i)[1]), std::stod((*i)[2]), std::stod((*i)[3]),
                     std::stod((*i)[4]), (*i)[5].str()});
  }
  return words;
}

PageInk ink_of_pdf(std::string_view pdf, int page) {
  const std::string number = std::to_string(page);
  const std::string image =
      tool_output(pdf, "pdftoppm -gray -r 50 -f " + number + " -l " + number + " {}");
  // Binary PGM: "P5 WIDTH HEIGHT 255" and one white space before the pixels.
  std::smatch match;
  REQUIRE(std::regex_search(image, match, std::regex("^P5\\s+([0-9]+)\\s+([0-9]+)\\s+255\\s")));
  const std::string_view pixels =
      std::string_view(image).substr(static_cast<std::size_t>(match.length(0)));
  REQUIRE(pixels.size() == static_cast<std::size_t>(std::stoi(match[1])) *
                               static_cast<std::size_t>(std::stoi(match[2])));
  PageInk ink;
  for (const char pixel : pixels) {
    const auto grey = static_cast<unsigned char>(pixel);
    ink.dark += grey < 128 ? 1.0 : 0.0;
    ink.any += grey < 250 ? 1.0 : 0.0;
  }
  ink.dark /= static_cast<double>(pixels.size());
  ink.any /= static_cast<double>(pixels.size());
  return ink;
}

}  // namespace tests
