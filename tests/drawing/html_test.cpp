#include <catch2/catch.hpp>

#include "analysis/certificate/html/html_page.hpp"
#include "analysis/drawing/visible_text.hpp"
#include "tests/drawing/pages_fixture.hpp"
#include "tests/drawing/pdf_tools.hpp"

using tests::contains;

namespace {

using namespace analysis::certificate;

std::string html_of(const CertificateFacts& facts, const PageOptions& options = {}) {
  const auto html = draw_certificate_html(facts, tests::kInventedDigest, options);
  REQUIRE(html);
  return html.value();
}

}  // namespace

TEST_CASE("HostileTextsAreShownAndDoNothing") {
  const std::string plain = html_of(tests::invented_facts_with_much_to_say());
  const std::string html = html_of(tests::hostile_facts());
  for (const char* markup : {"<script", "</style>", "<!--", "onload='"}) {
    INFO(markup);
    CHECK(tests::count_of(html, markup) <= tests::count_of(plain, markup));
  }
  for (const char* turning : {"\xE2\x80\xAE", "\xE2\x80\xAC", "\xE2\x81\xA6", "\x07", "\xFF"}) {
    CHECK_FALSE(contains(html, turning));
  }
  CHECK(tests::count_of(html,
                        "&lt;script&gt;alert(1)&lt;/script&gt;&quot;&#39; onload=&#39;x&#39; "
                        "&amp; &amp;amp; &lt;!-- \xEF\xBF\xBD"
                        "evil\xEF\xBF\xBD") > 60);
  // Pages take the same texts.
  CHECK(draw_certificate_pdf(tests::hostile_facts(), tests::kInventedDigest, {}));
}

TEST_CASE("TextOfOthersIsMadeVisibleAndNamesKeepTheirMarks") {
  using analysis::drawing::visible_text;
  CHECK(visible_text("a\xE2\x80\xAE"
                     "b") ==
        "a\xEF\xBF\xBD"
        "b");
  CHECK(visible_text("a\tb\nc") == "a\tb\nc");
  CHECK(visible_text(std::string_view("a\0b", 3)) ==
        "a\xEF\xBF\xBD"
        "b");
  // Hebrew with a right-to-left mark, which moves nobody else.
  CHECK(visible_text("\xD7\xA9\xE2\x80\x8F!") == "\xD7\xA9\xE2\x80\x8F!");
  CHECK(analysis::drawing::markup_from_text("<&>\"'") == "&lt;&amp;&gt;&quot;&#39;");
}

TEST_CASE("HtmlSaysWhatThePagesSay") {
  const CertificateFacts facts = tests::invented_facts_with_much_to_say();
  const std::string html = html_of(facts);
  for (const char* part :
       {"No. kitchen-3", "NOT READY", "Gates", "Limits of this job", "Instruments",
        "Placements and photos", "What was measured", "the longest 20 of 57", "20 of 31",
        "and 22 more ranges with 1342 records", "Cautions", "Proof", "dwellog verify",
        "these pages alone prove nothing", "does not warrant a floor", "DejaVu Sans 2.37",
        "Takes the place of certificate No. kitchen-2"}) {
    INFO(part);
    CHECK(contains(html, part));
  }
  CHECK(tests::count_of(html, tests::kInventedDigest) == 2);
  CHECK_FALSE(contains(html, "SIMULATED"));
  CHECK_FALSE(contains(html, "safe"));
  CHECK_FALSE(contains(html, "guarantee"));
}

TEST_CASE("ASimulatedSiteIsMarkedLoudlyInHtml") {
  CertificateFacts facts = tests::invented_facts();
  facts.simulated = true;
  const std::string html = html_of(facts);
  // Title, banner, mark across the page, foot.
  CHECK(tests::count_of(html, "SIMULATED SITE") == 4);
  CHECK(contains(html, "class=\"banner\""));
}

TEST_CASE("HtmlBytesAreTheSameEachTimeAndOthersForOtherFacts") {
  CertificateFacts facts = tests::invented_facts();
  const std::string before = html_of(facts);
  CHECK(html_of(facts) == before);
  facts.chart.series[0].buckets[100]->mean += 1.0;
  CHECK(html_of(facts) != before);
}

TEST_CASE("HtmlRefusesWhatCannotBeShown") {
  CertificateFacts facts = tests::invented_facts();
  CHECK(draw_certificate_html(facts, "no digest", {}).error() == PagesError::bad_digest);
  facts.chart.series[0].buckets[1]->mean = 2e6;
  CHECK(draw_certificate_html(facts, tests::kInventedDigest, {}).error() == PagesError::bad_number);
  CHECK(draw_certificate_html(CertificateFacts{}, tests::kInventedDigest, {}));
}
