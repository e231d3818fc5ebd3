// Every word of ours on pages and HTML comes from the one catalogue: with another catalogue, and
// facts without words, no word is left.
#include <algorithm>
#include <array>
#include <bit>
#include <catch2/catch.hpp>
#include <cctype>
#include <list>
#include <regex>
#include <set>

#include "analysis/certificate/content/texts.hpp"
#include "analysis/certificate/html/html_page.hpp"
#include "tests/drawing/pages_fixture.hpp"
#include "tests/drawing/pdf_tools.hpp"

namespace {

using namespace analysis::certificate;

const std::string kDigest(64, '7');
constexpr const char* kWord = "жж";

// A word for each run of letters; places of values are kept.
std::string replaced(std::string_view text) {
  std::string made;
  bool in_word = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool letter = std::isalpha(static_cast<unsigned char>(text[i])) != 0;
    if (letter && !in_word) {
      made += kWord;
    } else if (!letter) {
      made += text[i];
    }
    in_word = letter;
  }
  return made;
}

// Keeps the texts that a catalogue points to.
struct OtherCatalogue {
  std::list<std::string> kept;
  PagesTexts texts = english_texts();

  OtherCatalogue() {
    using Pointers = std::array<const char*, sizeof(PagesWords) / sizeof(const char*)>;
    auto pointers = std::bit_cast<Pointers>(static_cast<const PagesWords&>(texts));
    for (const char*& text : pointers) {
      text = kept.emplace_back(replaced(text)).c_str();
    }
    static_cast<PagesWords&>(texts) = std::bit_cast<PagesWords>(pointers);
    analysis::drawing::ChartWords& chart = texts.chart_words;
    for (std::string* word :
         {&chart.no_data, &chart.nothing_recorded, &chart.at_most, &chart.at_least, &chart.key_mean,
          &chart.key_range, &chart.key_limit, &chart.key_allowed, &chart.key_excursion}) {
      *word = replaced(*word);
    }
    chart.months.fill(kWord);
    texts.gate_label = [](std::string_view) { return std::string(kWord); };
    texts.role_label = [](analysis::base::ChannelRole) { return kWord; };
    texts.note_label = [](std::string_view) { return std::string(kWord); };
    texts.lost_reason_label = [](std::string_view) { return std::string(kWord); };
  }
};

CertificateFacts facts_without_words() {
  CertificateFacts f = tests::invented_facts_with_much_to_say();
  f.number = "1-3";
  f.simulated = true;
  f.supersedes->number = "1-2";
  f.supersedes->certificate_sha256_hex = kDigest;
  f.readings.root_sha256_hex = kDigest;
  for (std::string* text :
       {&f.parties.job_name, &f.parties.site_address, &f.parties.installer, &f.room.room_name,
        &f.room.floor_product, &f.software, &f.supersedes->reason}) {
    *text = "я";
  }
  f.parties.client.clear();
  for (auto& gate : f.assessment.gates) {
    gate.reason = gate.action = "я";
  }
  for (auto& note : f.site_gates) {
    note.by = note.remark = "я";
  }
  f.site_gates.pop_back();
  for (auto& instrument : f.instruments) {
    instrument.channel.channel_id = instrument.box_serial = instrument.placement = "я";
    instrument.sensor_serial = "1";
    instrument.calibration_reference.clear();
  }
  for (auto& placement : f.placements) {
    placement.channel_id = placement.by = placement.remark = "я";
  }
  for (auto& photo : f.photos) {
    photo.subject = photo.subject.starts_with("placement.") ? "placement.я" : photo.subject;
  }
  for (auto& series : f.chart.series) {
    series.channel_id = "я";
  }
  for (auto& lost : f.lost_records) {
    lost.box_id = "я";
  }
  f.cautions = {"я"};
  f.log->checkpoint = "none";  // its root has letters
  f.log->anchor->authority = "я";
  analysis::readiness::FloorRequirements& r = f.requirements;
  for (std::string* source :
       {&r.temperature_low.source, &r.temperature_high.source, &r.rh_low.source, &r.rh_high.source,
        &r.dwell.source, &r.longest_interval.source, &r.grace.source, &r.excursion_budget.source,
        &r.longest_unknown.source, &r.core_within.source, &r.condensation_margin.source,
        &r.unknown_share.source, &r.decision.source, &r.slab->rh_high.source,
        &r.slab->settle.source, &r.slab->averaging.source, &r.slab->minimum_age.source}) {
    *source = "я";
  }
  r.slab->emission_high = {{}, "я"};
  r.slab->carbide_high = {{}, "я"};
  return f;
}

// Runs of Latin letters that are no symbols of units; "in" is one behind a number only.
std::set<std::string> words_in(const std::string& shown) {
  const std::string text = std::regex_replace(shown, std::regex("([0-9]) in\\b"), "$1");
  static const std::set<std::string> symbols{"h", "d", "s", "min", "K",  "C",  "F", "RH",
                                             "m", "g", "a", "b",   "CM", "ft", "mm"};
  std::set<std::string> words;
  const std::regex word("[A-Za-z]+");
  for (std::sregex_iterator at(text.begin(), text.end(), word), end; at != end; ++at) {
    if (!symbols.contains(at->str())) {
      words.insert(at->str());
    }
  }
  return words;
}

// What a reader meets: text, and the attributes that are read out or shown.
std::string shown_in_html(const std::string& html) {
  std::string text = std::regex_replace(html, std::regex("<style>[^]*?</style>"), "");
  text = std::regex_replace(text, std::regex("(aria-label|data-label)=\"([^\"]*)\""), ">$2<");
  return std::regex_replace(std::regex_replace(text, std::regex("<[^>]*>"), " "),
                            std::regex("&[a-z#0-9]+;"), " ");
}

std::string joined(const std::set<std::string>& words) {
  std::string text;
  for (const std::string& word : words) {
    text += word + " ";
  }
  return text;
}

}  // namespace

TEST_CASE("AnotherCatalogueLeavesNoWordOfOurs") {
  const OtherCatalogue other;
  CertificateFacts facts = facts_without_words();
  for (const bool laid : {false, true}) {
    if (laid) {
      facts.laying = {facts.period.from + std::chrono::hours(10),
                      facts.period.from + std::chrono::hours(20),
                      {{{"1-2", analysis::base::Metres{0.008}}, {"", analysis::base::Metres{0.01}}},
                       {{"1", "2"}},
                       31,
                       analysis::base::Metres{0.12},
                       21,
                       1}};
    }
    for (const Units units : {Units::metric, Units::imperial}) {
      const PageOptions options{Paper::a4, units, 2};
      const auto pdf = draw_certificate_pdf(facts, kDigest, options, other.texts);
      REQUIRE(pdf);
      CHECK(joined(words_in(tests::text_of_pdf(pdf.value()))) == "");
      const auto html = draw_certificate_html(facts, kDigest, options, other.texts);
      REQUIRE(html);
      CHECK(joined(words_in(shown_in_html(html.value()))) == "");
    }
  }
}

TEST_CASE("TheSearchForWordsFindsThoseOfTheEnglishCatalogue") {
  const auto html = draw_certificate_html(facts_without_words(), kDigest, {});
  REQUIRE(html);
  CHECK(words_in(shown_in_html(html.value())).contains("Gates"));
}
