// What a certificate shows to a reader, without its form: texts, tables and lists from the facts
// alone. The pages (PDF) and the HTML form set the same content. Pure; any thread. Internal to the
// forms.
#pragma once

#include <string>
#include <vector>

#include "analysis/certificate/certificate_json.hpp"
#include "analysis/certificate/content/texts.hpp"
#include "analysis/certificate/facts.hpp"
#include "analysis/certificate/pages.hpp"
#include "analysis/drawing/table.hpp"

namespace analysis::certificate {

// What the content is made from. References outlive it.
struct ContentSource {
  const CertificateFacts& facts;
  const PagesTexts& texts;
  std::string digest_hex;  // SHA-256 of the signed file
  Units units = Units::metric;
  std::size_t redacted_fields = 0;  // taken out of the copy that is shown

  [[nodiscard]] std::string shown(const std::string& text) const {
    return text == kRedactedText ? texts.redacted : text;
  }
  // A text the certificate can't do without.
  [[nodiscard]] std::string needed(const std::string& text) const {
    return text.empty() ? texts.withheld : shown(text);
  }
  [[nodiscard]] std::string optional(const std::string& text) const {
    return text.empty() ? texts.none_given : shown(text);
  }
  [[nodiscard]] std::string number_text() const {
    return filled(texts.number, {needed(facts.number)});
  }
};

struct TableContent {
  std::string heading;
  std::vector<drawing::Column> columns;
  std::vector<std::vector<drawing::Cell>> rows;  // as many cells as columns
  std::string none;                              // stands in place of an empty table
  std::vector<std::string> notes;                // below it
};

struct LabelledList {
  std::string title;
  std::vector<drawing::LabelledValue> values;
};

struct VerdictContent {
  drawing::Symbol symbol;
  std::string word;
  std::string meaning;
  std::vector<std::string> details;
};
[[nodiscard]] VerdictContent verdict_content(const ContentSource& source);

// What comes before all else: that it takes the place of another one, that it is a redacted copy.
[[nodiscard]] std::vector<std::string> notices_content(const ContentSource& source);

// What, where, when.
[[nodiscard]] std::vector<LabelledList> subject_content(const ContentSource& source);

struct HoursContent {
  std::string heading;
  std::string done;
  double share_done = 0.0;  // 0..1
  std::vector<drawing::LabelledValue> left;
  std::vector<drawing::LabelledValue> run;
};
[[nodiscard]] HoursContent hours_content(const ContentSource& source);

// The state comes first; a column of what is to be done only where something is, and none once the
// floor is being laid.
[[nodiscard]] TableContent gates_content(const ContentSource& source);
[[nodiscard]] TableContent limits_content(const ContentSource& source);
[[nodiscard]] TableContent instruments_content(const ContentSource& source);
// Who put which sensor where, and the photos that belong to no gate. No rows where there is
// neither.
[[nodiscard]] TableContent site_notes_content(const ContentSource& source);
[[nodiscard]] TableContent excursions_content(const ContentSource& source);
[[nodiscard]] TableContent unknown_time_content(const ContentSource& source);
[[nodiscard]] TableContent lost_records_content(const ContentSource& source);

// "Each point stands for ...".
[[nodiscard]] std::string charts_note(const ContentSource& source);

struct ProofContent {
  std::string digest_label;
  std::string readings_label;
  std::string readings_root;
  std::string log_text;
  std::string software;
};
[[nodiscard]] ProofContent proof_content(const ContentSource& source);

// The words and the sign of a verdict.
[[nodiscard]] const char* verdict_word(const CertificateFacts& facts, const PagesTexts& texts);
[[nodiscard]] drawing::Symbol symbol_of(readiness::Verdict verdict);

// The photos of the note on that subject made at `at`, by the first digits of their digests; empty
// where there is none.
[[nodiscard]] std::string photos_text(const ContentSource& source, const std::string& subject,
                                      base::UtcMicros at);
// In the unit of its test: "5.5 g/m² in 24 h" or pounds per 1000 square feet; "1.80 CM-%".
[[nodiscard]] std::string emission_text(const ContentSource& source, readiness::EmissionRate rate);
[[nodiscard]] std::string carbide_text(const ContentSource& source,
                                       readiness::CarbideMoisture moisture);
// Whether laying had begun when the verdict was made; whether a room is ready is no question then.
[[nodiscard]] bool is_after_laying_began(const CertificateFacts& facts);

}  // namespace analysis::certificate
