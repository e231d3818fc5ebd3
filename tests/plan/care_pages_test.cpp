// Pages of a care sheet: nothing is cut or lies off the page, the same document gives the same
// bytes. All texts are invented.
#include "analysis/plan/handover/care_pages.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

#include "tests/drawing/pdf_tools.hpp"

using namespace analysis::plan;
using analysis::drawing::DrawError;
using analysis::drawing::kA4;
using analysis::drawing::kLetter;

namespace {

CareDocument care_of(std::size_t lines, const std::string& text) {
  CareSection section{"Daily care", {}, {}};
  for (std::size_t i = 0; i < lines; ++i) {
    section.lines.push_back({"Rule " + std::to_string(i + 1), text});
  }
  return {"Your floor",
          "Mill Lane 4 (invented)",
          "Made 2026-03-01.",
          "dwellog test",
          {1'772'434'800'000'000},
          false,
          {{"Loft", "Mill Lane 4", {std::move(section)}}}};
}

}  // namespace

TEST_CASE("CareSheetsOfManyWordsLoseNoneOfThem") {
  std::string words;
  for (int i = 0; i < 30; ++i) {
    words += "sweep softly ";
  }
  const CareDocument document = care_of(60, words);
  for (const auto& page : {kA4, kLetter}) {
    const auto pdf = draw_care_pdf(document, page);
    REQUIRE(pdf);
    CHECK(tests::count_of(tests::text_of_pdf(pdf.value()), "sweep softly") == 60 * 30);
    CHECK(tests::pages_of_pdf(pdf.value()) > 2);
    for (const tests::PdfWord& word : tests::words_of_pdf(pdf.value())) {
      REQUIRE(word.left >= 0.0);
      REQUIRE(word.right <= page.width);
      REQUIRE(word.bottom <= page.height);
    }
    CHECK(draw_care_pdf(document, page).value() == pdf.value());
  }
}

TEST_CASE("CareTextIsSetSmallerBeforeAThirdPageIsAdded") {
  const std::string words(220, 'm');
  std::size_t lines = 10;
  std::size_t most = 0;  // that stand on two pages
  for (; lines < 100; ++lines) {
    if (tests::pages_of_pdf(draw_care_pdf(care_of(lines, words), kA4).value()) <= 2) {
      most = lines;
    } else {
      break;
    }
  }
  // At full size a line of 220 wide letters takes 5 rows or so: far fewer would stand there.
  const auto full = tests::words_of_pdf(draw_care_pdf(care_of(10, words), kA4).value());
  const auto close = tests::words_of_pdf(draw_care_pdf(care_of(most, words), kA4).value());
  const auto height_of = [](const std::vector<tests::PdfWord>& list) {
    const auto found = std::find_if(list.begin(), list.end(), [](const tests::PdfWord& word) {
      return word.text.starts_with("mmm");
    });
    REQUIRE(found != list.end());
    return found->bottom - found->top;
  };
  CHECK(height_of(close) < 0.9 * height_of(full));
}

TEST_CASE("EachRoomBeginsAPageAndASimulatedSiteSaysSoOnEach") {
  CareDocument document = care_of(3, "Sweep softly.");
  document.sheets.push_back(document.sheets.front());
  document.sheets.back().heading = "Cellar";
  document.simulated = true;
  const auto pdf = draw_care_pdf(document, kA4);
  REQUIRE(pdf);
  CHECK(tests::pages_of_pdf(pdf.value()) == 2);
  CHECK(tests::count_of(tests::text_of_pdf(pdf.value()), "SIMULATED SITE") == 2);
  CHECK(tests::dates_of_pdf(pdf.value()).find("2026-03-02T07:00:00Z") != std::string::npos);
}

TEST_CASE("AParagraphTallerThanAPageIsRefused") {
  std::string words;
  for (int i = 0; i < 4000; ++i) {
    words += "endless ";
  }
  const auto pdf = draw_care_pdf(care_of(1, words), kA4);
  REQUIRE_FALSE(pdf);
  CHECK(pdf.error() == DrawError::too_tall);
}
