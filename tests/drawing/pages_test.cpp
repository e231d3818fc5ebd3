#include "analysis/certificate/pages.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cctype>
#include <clocale>
#include <cstdlib>
#include <ctime>
#include <fstream>
#include <iterator>
#include <limits>

#include "tests/drawing/pages_fixture.hpp"
#include "tests/drawing/pdf_tools.hpp"

namespace {

using namespace analysis::certificate;
using analysis::readiness::GateState;
using analysis::readiness::Verdict;
using tests::contains;
using tests::text_of_pdf;

std::string pdf_of(const CertificateFacts& facts, const PageOptions& options = {}) {
  const auto pdf = draw_certificate_pdf(facts, tests::kInventedDigest, options);
  REQUIRE(pdf);
  return pdf.value();
}

std::string lower_case(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

std::string file_text(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

// Boxes reach beyond the ink by the font's own ascent and descent; this much of their height is
// left out above and below.
constexpr double kEmptyShare = 0.22;

bool overlap(const tests::PdfWord& a, const tests::PdfWord& b) {
  const double a_inset = kEmptyShare * (a.bottom - a.top);
  const double b_inset = kEmptyShare * (b.bottom - b.top);
  return a.page == b.page && a.left + 0.2 < b.right && b.left + 0.2 < a.right &&
         a.top + a_inset < b.bottom - b_inset && b.top + b_inset < a.bottom - a_inset;
}

void check_layout(const std::string& pdf, double page_width, double page_height) {
  const auto words = tests::words_of_pdf(pdf);
  REQUIRE(words.size() > 300);
  for (std::size_t i = 0; i < words.size(); ++i) {
    INFO("page " << words[i].page << ": " << words[i].text);
    CHECK(words[i].left >= 43.0);
    CHECK(words[i].right <= page_width - 43.0);
    CHECK(words[i].top >= 20.0);
    CHECK(words[i].bottom <= page_height - 20.0);
    for (std::size_t k = i + 1; k < words.size(); ++k) {
      if (overlap(words[i], words[k])) {
        FAIL_CHECK("overlaps " << words[k].text << " at " << words[k].left << ", " << words[k].top);
      }
    }
  }
}

}  // namespace

TEST_CASE("TheSameFactsGiveTheSameBytesInEveryZoneAndLocale") {
  const CertificateFacts facts = tests::invented_facts();
  const std::string before = pdf_of(facts);
  for (const char* zone : {"Pacific/Kiritimati", "America/St_Johns", "Asia/Kathmandu"}) {
    setenv("TZ", zone, 1);
    tzset();
    for (const char* locale : {"C", "C.UTF-8", "de_DE.UTF-8", "ar_EG.UTF-8"}) {
      setenv("LC_ALL", locale, 1);
      std::setlocale(LC_ALL, "");
      CHECK(pdf_of(facts) == before);
    }
  }
  unsetenv("TZ");
  unsetenv("LC_ALL");
  tzset();
  std::setlocale(LC_ALL, "C");
}

// Pango and fontconfig look at the environment once in a process.
TEST_CASE("ProcessesInOtherZonesAndLocalesGiveTheSameBytes") {
  const tests::TemporaryFolder folder;
  const std::string first = (folder / "first").string();
  const std::string second = (folder / "second").string();
  std::filesystem::create_directory(first);
  std::filesystem::create_directory(second);
  const std::string program = DRAW_SAMPLE_PAGES;
  (void)tests::output_of("TZ=Pacific/Kiritimati LC_ALL=C " + program + " " + first);
  (void)tests::output_of("TZ=America/St_Johns LC_ALL=ar_EG.UTF-8 LANGUAGE=ar " + program + " " +
                         second);
  for (const char* name :
       {"/ready.pdf", "/simulated.pdf", "/long-letter.pdf", "/laid.html", "/long-letter.html"}) {
    const std::string bytes = file_text(first + name);
    CHECK(bytes.size() > 10000);
    CHECK(bytes == file_text(second + name));
  }
}

TEST_CASE("OtherFactsGiveOtherBytes") {
  CertificateFacts facts = tests::invented_facts();
  const std::string before = pdf_of(facts);
  facts.chart.series[0].buckets[100]->mean += 1.0;
  CHECK(pdf_of(facts) != before);
}

TEST_CASE("TheOnlyDateInTheFileIsTheIssue") {
  CHECK(tests::dates_of_pdf(pdf_of(tests::invented_facts())) ==
        "2025-11-21T08:03:00Z 2025-11-21T08:03:00Z ");
}

TEST_CASE("EveryVerdictIsInWords") {
  CertificateFacts facts = tests::invented_facts();
  const std::pair<Verdict, const char*> verdicts[] = {{Verdict::ready, " READY "},
                                                      {Verdict::not_ready, " NOT READY "},
                                                      {Verdict::cannot_tell, " CANNOT TELL "}};
  for (const auto& [verdict, words] : verdicts) {
    facts.assessment.verdict = verdict;
    const std::string text = text_of_pdf(pdf_of(facts));
    CHECK(tests::count_of(text, words) == 2);  // once large, once on page 2
    CHECK(contains(text, " NOT READY ") == (verdict == Verdict::not_ready));
  }
}

TEST_CASE("NumberDigestAndPageStandOnEveryPage") {
  const std::string pdf = pdf_of(tests::invented_facts_with_much_to_say());
  const int pages = tests::pages_of_pdf(pdf);
  const std::string text = text_of_pdf(pdf);
  CHECK(tests::count_of(text, tests::kInventedDigest) == pages + 1);
  CHECK(tests::count_of(text, "No. kitchen-3") == 2 * pages);
  for (int page = 1; page <= pages; ++page) {
    CHECK(contains(text, "Page " + std::to_string(page) + " of " + std::to_string(pages)));
  }
}

TEST_CASE("ASimulatedSiteIsMarkedOnEveryPageWhateverTheOptions") {
  CertificateFacts facts = tests::invented_facts_with_much_to_say();
  CHECK(tests::count_of(text_of_pdf(pdf_of(facts)), "SIMULATED") == 0);
  facts.simulated = true;
  for (const Paper paper : {Paper::a4, Paper::letter}) {
    for (const Units units : {Units::metric, Units::imperial}) {
      const std::string pdf = pdf_of(facts, {paper, units});
      std::vector<int> marks(static_cast<std::size_t>(tests::pages_of_pdf(pdf)), 0);
      for (const tests::PdfWord& word : tests::words_of_pdf(pdf)) {
        if (word.text == "SIMULATED") {
          ++marks[static_cast<std::size_t>(word.page - 1)];
        }
      }
      for (const int count : marks) {
        CHECK(count >= 2);  // banner and footer; poppler lists no words that are turned
      }
    }
  }
}

TEST_CASE("AWatermarkLiesUnderEachPageOfASimulatedSite") {
  CertificateFacts facts = tests::invented_facts();
  const std::string plain = pdf_of(facts);
  facts.simulated = true;
  const std::string marked = pdf_of(facts);
  for (int page = 1; page <= 2; ++page) {
    const tests::PageInk before = tests::ink_of_pdf(plain, page);
    const tests::PageInk after = tests::ink_of_pdf(marked, page);
    CHECK((after.any - after.dark) - (before.any - before.dark) > 0.03);
  }
}

TEST_CASE("OrdinaryFactsTakeTwoPagesAndMuchToSayThree") {
  CertificateFacts facts = tests::invented_facts();
  CHECK(tests::pages_of_pdf(pdf_of(facts)) == 2);
  facts.simulated = true;
  CHECK(tests::pages_of_pdf(pdf_of(facts)) == 2);
  CertificateFacts much = tests::invented_facts_with_much_to_say();
  CHECK(tests::pages_of_pdf(pdf_of(much)) == 3);
  much.simulated = true;
  CHECK(tests::pages_of_pdf(pdf_of(much, {Paper::letter, Units::imperial})) == 3);
}

TEST_CASE("NothingIsClippedAndNoTextsOverlap") {
  check_layout(pdf_of(tests::invented_facts()), 595.276, 841.89);
  check_layout(pdf_of(tests::invented_facts_with_much_to_say()), 595.276, 841.89);
  check_layout(pdf_of(tests::invented_facts_with_much_to_say(), {Paper::letter, Units::imperial}),
               612.0, 792.0);
}

TEST_CASE("LongTextsArePrintedWhole") {
  const CertificateFacts facts = tests::invented_facts_with_much_to_say();
  const std::string text = text_of_pdf(pdf_of(facts));
  CHECK(contains(text, tests::with_single_spaces(facts.parties.site_address)));
  CHECK(contains(text, tests::with_single_spaces(facts.parties.client)));
  CHECK(contains(text, tests::with_single_spaces(facts.room.floor_product)));
  CHECK(tests::count_of(text, tests::with_single_spaces(facts.assessment.gates[0].reason)) == 8);
  CHECK(tests::count_of(text, tests::with_single_spaces(facts.assessment.gates[0].action)) == 8);
  CHECK(contains(text, "the longest 20 of 57"));
  CHECK(contains(text, "20 of 31"));
  CHECK(contains(text, "and 22 more ranges with 1342 records"));
  for (const std::string& caution : facts.cautions) {
    CHECK(contains(text, caution));
  }
}

TEST_CASE("ATextTallerThanAPageIsRefusedNotCut") {
  CertificateFacts facts = tests::invented_facts();
  for (int i = 0; i < 3000; ++i) {
    facts.assessment.gates[0].reason += " and so on";
  }
  const auto pdf = draw_certificate_pdf(facts, tests::kInventedDigest, {});
  REQUIRE_FALSE(pdf);
  CHECK(pdf.error() == PagesError::text_too_long);
}

TEST_CASE("WhoSawASiteGateAndWhenIsPrinted") {
  CertificateFacts facts = tests::invented_facts();
  facts.requirements.site_gates.pop_back();
  facts.assessment.gates.pop_back();  // of the last gate, noted but not asked for
  const std::string text = text_of_pdf(pdf_of(facts));
  CHECK(contains(text, "Seen by Ada Invented, 2025-11-15 10:12: worst 2 mm in 1 m, by the window"));
  CHECK(contains(text,
                 "Also noted, not asked for: Building closed and conditioned, met, by Ada "
                 "Invented, 2025-11-15 10:42."));
}

TEST_CASE("WhatIsNotMetShowsReasonActionAndWhoSawIt") {
  CertificateFacts facts = tests::invented_facts();
  auto& gate = facts.assessment.gates.back();
  gate = {"site.conditioned", GateState::not_met, "Noted as not met.", "Close the building."};
  const std::string text = text_of_pdf(pdf_of(facts));
  CHECK(contains(text, "Noted as not met. Seen by Ada Invented, 2025-11-15 10:42."));
  CHECK(contains(text, "Close the building."));
  CHECK(contains(text, "14 gates met, 1 not met, 0 unknown"));
}

TEST_CASE("EmptyTextsOfACertificateShowAsWithheld") {
  CertificateFacts facts = tests::invented_facts();
  facts.parties.site_address.clear();
  facts.parties.installer.clear();
  facts.parties.client.clear();
  const std::string text = text_of_pdf(pdf_of(facts));
  CHECK(contains(text, "Site (withheld) Installer (withheld) Client none given"));
}

TEST_CASE("HoursThatAreNotCompleteNeverReadAsComplete") {
  CertificateFacts facts = tests::invented_facts();
  facts.assessment.dwell_done_hours = 47.9999;
  facts.assessment.dwell_left_hours = 0.0001;
  facts.assessment.dwell_expected_at.reset();
  const std::string text = text_of_pdf(pdf_of(facts));
  CHECK(contains(text, "47.9 h of 48 h"));
  CHECK(contains(text, "cannot be foreseen"));
}

// 17 degC = 62.6 degF, 1 K = 1.8 degF: exact by definition of the scale (NIST SP 811, B.8);
// 18.5 m2 = 199.13 ft2 by 1 ft = 0.3048 m.
TEST_CASE("ImperialPagesConvertValuesAndSayThatFindingsAreNotConverted") {
  const std::string text =
      text_of_pdf(pdf_of(tests::invented_facts(), {Paper::letter, Units::imperial}));
  CHECK(contains(text, "62.6 to 73.4 °F"));
  CHECK(contains(text, "at most 1.8 °F"));
  CHECK(contains(text, "199 ft²"));
  CHECK(contains(text, "max 73.4 °F"));
  CHECK(contains(text, "quoted as signed, in metric units"));
}

TEST_CASE("AnOverdueCalibrationIsCalledSo") {
  CertificateFacts facts = tests::invented_facts();
  facts.instruments[1].channel.calibration_due_at = facts.period.from;
  facts.instruments[2].channel.calibration_due_at.reset();
  const std::string text = text_of_pdf(pdf_of(facts));
  CHECK(contains(text, "2025-11-15 (overdue)"));
  CHECK(contains(text, "no date known"));
}

TEST_CASE("ThePagesPromiseNothing") {
  for (const CertificateFacts& facts :
       {tests::invented_facts(), tests::invented_facts_with_much_to_say()}) {
    const std::string text = lower_case(text_of_pdf(pdf_of(facts)));
    CHECK_FALSE(contains(text, "safe"));
    CHECK_FALSE(contains(text, "guarantee"));
    CHECK(contains(text, "records conditions. it does not warrant a floor."));
    CHECK(contains(text, "dwellog verify"));
  }
}

TEST_CASE("NoPageIsBlank") {
  const std::string pdf = pdf_of(tests::invented_facts());
  for (int page = 1; page <= tests::pages_of_pdf(pdf); ++page) {
    const tests::PageInk ink = tests::ink_of_pdf(pdf, page);
    CHECK(ink.dark > 0.005);
    CHECK(ink.any > 0.05);
    CHECK(ink.any < 0.6);
  }
}

TEST_CASE("FactsWithNothingInThemStillMakeAPage") {
  const std::string text = text_of_pdf(pdf_of(CertificateFacts{}));
  CHECK(contains(text, "CANNOT TELL"));
  CHECK(contains(text, "(withheld)"));
}

TEST_CASE("ADigestThatIsNoneIsRefused") {
  const CertificateFacts facts = tests::invented_facts();
  for (const std::string& digest :
       {std::string{}, std::string(63, 'a'), std::string(64, 'A'), std::string(65, 'a')}) {
    CHECK(draw_certificate_pdf(facts, digest, {}).error() == PagesError::bad_digest);
  }
}

TEST_CASE("ValuesThatCannotBeDrawnAreRefused") {
  for (const double value : {std::numeric_limits<double>::quiet_NaN(),
                             std::numeric_limits<double>::infinity(), -1.1e6}) {
    CertificateFacts facts = tests::invented_facts();
    facts.chart.series[3].buckets[7]->low = value;
    CHECK(draw_certificate_pdf(facts, tests::kInventedDigest, {}).error() ==
          PagesError::bad_number);
    facts = tests::invented_facts();
    facts.requirements.temperature_low.value = analysis::base::Celsius{value};
    CHECK(draw_certificate_pdf(facts, tests::kInventedDigest, {}).error() ==
          PagesError::bad_number);
  }
}
