// What people did and measured on the site: placements, tests of the slab, photos.
#include <algorithm>
#include <optional>
#include <ranges>
#include <utility>

#include "analysis/certificate/content/content.hpp"
#include "analysis/certificate/content/values.hpp"
#include "analysis/readiness/reason_texts.hpp"
#include "analysis/readiness/slab/slab_tests.hpp"

namespace analysis::certificate {
namespace {

// Digits of a photo's digest shown.
constexpr std::size_t kPhotoDigits = 8;

constexpr const char* kProbeTest = "rh-test";
constexpr const char* kDishTest = "dish-test";
constexpr const char* kCarbideTest = "carbide-test";

// What was found, and behind it the limit of the floor in the same unit where there is one.
std::string with_limit(const PagesTexts& texts, const std::string& values,
                       const std::optional<std::string>& limit) {
  return values + "; " +
         (limit ? filled(texts.test_limit, {filled(texts.at_most, {*limit})})
                : std::string(texts.test_without_limit));
}

std::string probes_text(const PagesTexts& texts, const readiness::RhTestNote& note) {
  std::string text;
  for (const readiness::RhTestPlace& place : note.test.places) {
    text +=
        (text.empty() ? "" : "; ") +
        filled(texts.probe_place, {rh_text(place.rh), readiness::text_from_millimetres(place.depth),
                                   duration_text(place.equilibrated_for)});
  }
  return text;
}

std::string dishes_text(const ContentSource& source, const readiness::DishTestNote& note) {
  const auto& slab = source.facts.requirements.slab;
  std::string text;
  for (const readiness::DishTest& dish : note.survey.dishes) {
    if (const auto rate = readiness::emission_rate_from(dish)) {
      text += (text.empty() ? "" : "; ") + emission_text(source, rate.value());
    }
  }
  return with_limit(source.texts, text,
                    slab && slab->emission_high
                        ? std::optional(emission_text(source, slab->emission_high->value))
                        : std::nullopt);
}

std::string samples_text(const ContentSource& source, const readiness::CarbideTestNote& note) {
  const auto& slab = source.facts.requirements.slab;
  std::string text;
  for (const readiness::CarbideMoisture sample : note.survey.samples) {
    text += (text.empty() ? "" : "; ") + carbide_text(source, sample);
  }
  return with_limit(source.texts, text,
                    slab && slab->carbide_high
                        ? std::optional(carbide_text(source, slab->carbide_high->value))
                        : std::nullopt);
}

template <class Test>
bool is_of(const std::optional<Test>& test, const char* subject, const PhotoFacts& photo) {
  return test && photo.subject == subject && photo.at == test->at;
}

bool belongs_to_a_note_shown_elsewhere(const CertificateFacts& facts, const PhotoFacts& photo) {
  const auto is_gate = [&](const readiness::SiteGateNote& note) {
    return photo.subject == "gate." + std::string(readiness::name_of(note.gate)) &&
           photo.at == note.at;
  };
  const auto is_placement = [&](const PlacementFacts& placement) {
    return photo.subject == "placement." + placement.channel_id && photo.at == placement.at;
  };
  const auto& tests = facts.subfloor_tests;
  return is_of(tests.rh, kProbeTest, photo) || is_of(tests.dish, kDishTest, photo) ||
         is_of(tests.carbide, kCarbideTest, photo) ||
         std::ranges::any_of(facts.site_gates, is_gate) ||
         std::ranges::any_of(facts.placements, is_placement);
}

std::string subject_label(const PagesTexts& texts, const std::string& subject) {
  if (subject.starts_with(kSupersededSubject)) {
    return filled(texts.superseded_note,
                  {subject_label(texts, subject.substr(kSupersededSubject.size()))});
  }
  const std::size_t dot = subject.find('.');
  const std::string rest = dot == std::string::npos ? "" : subject.substr(dot + 1);
  return subject.starts_with("gate.")          ? texts.gate_label("site." + rest)
         : subject.starts_with("placement.")   ? filled(texts.placed, {rest})
         : subject.starts_with("calibration.") ? filled(texts.calibrated, {rest})
                                               : texts.note_label(subject);
}

// Empty where all was written down soon.
std::string noted_later_text(const ContentSource& source) {
  std::string list;
  for (const NotedFacts& note :
       source.facts.noted | std::views::filter(was_written_down_later<NotedFacts>)) {
    list += (list.empty() ? "" : "; ") +
            filled(source.texts.noted_when, {subject_label(source.texts, note.subject),
                                             moment_text(note.at), moment_text(*note.noted_at)});
  }
  return list.empty() ? list : filled(source.texts.noted_later, {list});
}

template <class Test>
void add_test(TableContent& table, const ContentSource& source, const char* kind, const Test& test,
              const std::string& found) {
  table.rows.push_back({{.text = moment_text(test.at)},
                        {.text = subject_label(source.texts, kind)},
                        {.text = source.needed(test.by) + ": " + found},
                        {.text = photos_text(source, kind, test.at)}});
}

}  // namespace

std::string photos_text(const ContentSource& source, const std::string& subject,
                        base::UtcMicros at) {
  std::string digests;
  int count = 0;
  for (const PhotoFacts& photo : source.facts.photos) {
    if (photo.subject == subject && photo.at == at) {
      digests += (count == 0 ? "" : ", ") + photo.sha256_hex.substr(0, kPhotoDigits);
      ++count;
    }
  }
  if (count == 0) {
    return {};
  }
  return count == 1 ? filled(source.texts.one_photo, {digests})
                    : filled(source.texts.photos, {std::to_string(count), digests});
}

TableContent site_notes_content(const ContentSource& source) {
  const auto& texts = source.texts;
  const CertificateFacts& facts = source.facts;
  TableContent table{texts.site_notes_title,
                     {{texts.site_note_at, 1.3},
                      {texts.site_note_what, 1.9},
                      {texts.site_note_by, 3.4},
                      {texts.site_note_photos, 3.0}},
                     {},
                     texts.none_given,
                     {}};
  for (const PlacementFacts& placement : facts.placements) {
    const std::string remark = source.shown(placement.remark);
    table.rows.push_back(
        {{.text = moment_text(placement.at)},
         {.text = filled(texts.placed, {placement.channel_id})},
         {.text = source.needed(placement.by) + (remark.empty() ? "" : ": " + remark)},
         {.text = photos_text(source, "placement." + placement.channel_id, placement.at)}});
  }
  const auto& tests = facts.subfloor_tests;
  const auto& slab = facts.requirements.slab;
  if (tests.rh) {
    add_test(table, source, kProbeTest, *tests.rh,
             with_limit(texts, probes_text(texts, *tests.rh),
                        slab ? std::optional(rh_text(slab->rh_high.value)) : std::nullopt));
  }
  if (tests.dish) {
    add_test(table, source, kDishTest, *tests.dish, dishes_text(source, *tests.dish));
  }
  if (tests.carbide) {
    add_test(table, source, kCarbideTest, *tests.carbide, samples_text(source, *tests.carbide));
  }
  for (const NotedFacts& note : facts.noted) {
    if (!note.set_aside.empty()) {
      table.rows.push_back({{.text = moment_text(note.at)},
                            {.text = subject_label(texts, note.subject)},
                            {.text = filled(texts.set_aside, {note.set_aside})},
                            {}});
    }
  }
  std::vector<std::pair<std::string, base::UtcMicros>> done;
  for (const PhotoFacts& photo : facts.photos) {
    const std::pair<std::string, base::UtcMicros> note{photo.subject, photo.at};
    if (belongs_to_a_note_shown_elsewhere(facts, photo) ||
        std::ranges::find(done, note) != done.end()) {
      continue;
    }
    done.push_back(note);
    table.rows.push_back({{.text = moment_text(photo.at)},
                          {.text = subject_label(texts, photo.subject)},
                          {},
                          {.text = photos_text(source, photo.subject, photo.at)}});
  }
  if (std::string later = noted_later_text(source); !later.empty()) {
    table.notes.push_back(std::move(later));
  }
  if (!facts.photos.empty()) {
    table.notes.push_back(texts.photos_are_named);
  }
  return table;
}

std::string emission_text(const ContentSource& source, readiness::EmissionRate rate) {
  return source.units == Units::imperial
             ? filled(
                   source.texts.emission_rate_imperial,
                   {drawing::number_text(readiness::pounds_per_1000_square_feet_day_from(rate), 1)})
             : filled(source.texts.emission_rate,
                      {drawing::number_text(readiness::grams_per_square_metre_day_from(rate), 1)});
}

std::string carbide_text(const ContentSource& source, readiness::CarbideMoisture moisture) {
  return filled(source.texts.carbide_share,
                {drawing::number_text(readiness::percent_from_carbide(moisture), 2)});
}

}  // namespace analysis::certificate
