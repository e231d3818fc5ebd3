#include <algorithm>
#include <utility>

#include "analysis/certificate/pages/sections.hpp"
#include "analysis/certificate/pages/values.hpp"
#include "analysis/drawing/axis.hpp"

namespace analysis::certificate {
namespace {

using drawing::Align;
using drawing::Block;
using drawing::Canvas;
using drawing::Cell;
using drawing::Face;
using drawing::Point;
using drawing::Section;
using drawing::TextStyle;
using readiness::FloorRequirements;

constexpr double kColumnGap = 16.0;

// Rows of the limits table. Sources repeat, so each gets a letter and is spelled out once below.
class LimitRows {
 public:
  explicit LimitRows(const Setting& setting) : setting_(setting), texts_(setting.texts) {}

  void add(const char* label, const std::string& value, const std::string& source) {
    add_row(label, value, letter_of(source));
  }
  template <class T>
  void add_band(const char* label, const readiness::Limit<T>& low, const readiness::Limit<T>& high,
                const std::string& low_text, const std::string& high_text) {
    const std::string first = letter_of(low.source);
    const std::string second = letter_of(high.source);
    add_row(label, filled(texts_.range_of, {low_text, high_text}),
            first == second ? first : first + ", " + second);
  }
  void add_at_most(const char* label, const readiness::Limit<base::Micros>& limit) {
    add(label, filled(texts_.at_most, {duration_text(limit.value)}), limit.source);
  }
  void add_at_least(const char* label, const readiness::Limit<base::Micros>& limit) {
    add(label, filled(texts_.at_least, {duration_text(limit.value)}), limit.source);
  }

  [[nodiscard]] const std::vector<std::vector<Cell>>& rows() const { return rows_; }
  [[nodiscard]] std::string legend() const {
    std::string text;
    for (std::size_t i = 0; i < sources_.size(); ++i) {
      text += (i == 0 ? "" : ";  ") + letter(i) + " = " + sources_[i];
    }
    return filled(texts_.limit_sources, {text});
  }

 private:
  // There are fewer limits than letters.
  static std::string letter(std::size_t rank) { return {static_cast<char>('a' + rank)}; }
  std::string letter_of(const std::string& source) {
    const std::string shown = setting_.needed(source);
    const auto found = std::find(sources_.begin(), sources_.end(), shown);
    const auto rank = static_cast<std::size_t>(found - sources_.begin());
    if (found == sources_.end()) {
      sources_.push_back(shown);
    }
    return letter(rank);
  }
  void add_row(const char* label, const std::string& value, const std::string& letters) {
    rows_.push_back({{.text = label}, {.text = value}, {.text = letters}});
  }

  const Setting& setting_;
  const PagesTexts& texts_;
  std::vector<std::string> sources_;
  std::vector<std::vector<Cell>> rows_;
};

void add_slab_limits(LimitRows& rows, const PagesTexts& texts,
                     const readiness::SlabRequirements& slab) {
  rows.add(texts.limit_slab_rh, filled(texts.at_most, {rh_text(slab.rh_high.value)}),
           slab.rh_high.source);
  rows.add_at_least(texts.limit_slab_settle, slab.settle);
  rows.add(texts.limit_slab_averaging, duration_text(slab.averaging.value), slab.averaging.source);
  rows.add_at_least(texts.limit_slab_age, slab.minimum_age);
  if (slab.probes_at_least) {
    rows.add(texts.limit_slab_probes,
             filled(texts.at_least, {std::to_string(slab.probes_at_least->value)}),
             slab.probes_at_least->source);
  }
  if (slab.service_conditions) {
    rows.add_at_least(texts.limit_slab_service, *slab.service_conditions);
  }
  if (slab.emission_high) {
    rows.add(texts.limit_emission,
             filled(texts.at_most, {emission_text(slab.emission_high->value)}),
             slab.emission_high->source);
  }
  if (slab.carbide_high) {
    rows.add(texts.limit_carbide, filled(texts.at_most, {carbide_text(slab.carbide_high->value)}),
             slab.carbide_high->source);
  }
}

LimitRows limit_rows(const Setting& setting) {
  const PagesTexts& texts = setting.texts;
  const FloorRequirements& limits = setting.facts.requirements;
  const Units units = setting.units;
  LimitRows rows(setting);
  rows.add_band(texts.limit_air_temperature, limits.temperature_low, limits.temperature_high,
                temperature_number(limits.temperature_low.value, units),
                temperature_text(limits.temperature_high.value, units));
  rows.add_band(texts.limit_air_rh, limits.rh_low, limits.rh_high, rh_number(limits.rh_low.value),
                rh_text(limits.rh_high.value));
  rows.add_at_least(limits.cumulative ? texts.limit_dwell_cumulative : texts.limit_dwell,
                    limits.dwell);
  rows.add_at_most(texts.limit_longest_interval, limits.longest_interval);
  rows.add_at_most(texts.limit_grace, limits.grace);
  rows.add_at_most(texts.limit_excursion_budget, limits.excursion_budget);
  rows.add_at_most(texts.limit_longest_unknown, limits.longest_unknown);
  rows.add(texts.limit_unknown_share,
           filled(texts.at_most, {share_text(limits.unknown_share.value)}),
           limits.unknown_share.source);
  rows.add(texts.limit_core_within,
           filled(texts.at_most, {delta_text(limits.core_within.value, units)}),
           limits.core_within.source);
  rows.add(texts.limit_condensation,
           filled(texts.at_least, {delta_text(limits.condensation_margin.value, units)}),
           limits.condensation_margin.source);
  rows.add(texts.limit_decision,
           limits.decision.value == readiness::DecisionRule::guarded ? texts.decision_guarded
                                                                     : texts.decision_simple,
           limits.decision.source);
  if (limits.wood_subfloor_high) {
    rows.add(texts.limit_wood,
             filled(texts.at_most, {share_text(limits.wood_subfloor_high->value.value())}),
             limits.wood_subfloor_high->source);
  }
  if (limits.slab) {
    add_slab_limits(rows, texts, *limits.slab);
  }
  return rows;
}

Block bullet(const Setting& setting, const std::string& text, double width) {
  const double size = setting.body_size() * 0.92;
  const TextStyle style{size, Face::regular, Align::left, drawing::kInk};
  const double indent = size * 1.1;
  Block words = drawing::paragraph(setting.canvas, text, style, width - indent, 2.0);
  const double height = words.height;
  return Block{
      height, [=, draw = std::move(words.draw)](Canvas& canvas, Point at) {
        canvas.fill_rect({at.x, at.y + size * 0.52, size * 0.5, size * 0.14}, drawing::kInk);
        draw(canvas, {at.x + indent, at.y});
      }};
}

Block proof_words(const Setting& setting, double width) {
  const PagesTexts& texts = setting.texts;
  const CertificateFacts& facts = setting.facts;
  const double size = setting.body_size();
  const TextStyle mono{size * 0.94, Face::mono, Align::left, drawing::kInk};
  const TextStyle label{size * 0.88, Face::regular, Align::left, drawing::kQuiet};
  const TextStyle plain{size * 0.92, Face::regular, Align::left, drawing::kInk};
  const TextStyle bold{size, Face::bold, Align::left, drawing::kInk};
  const auto say = [&](const std::string& text, const TextStyle& style, double after) {
    return drawing::paragraph(setting.canvas, text, style, width, after);
  };
  const std::string time_error =
      drawing::number_text(base::hours_from(facts.largest_time_error) * 3600.0, 1);
  return drawing::stacked(
      {say(texts.proof_digest, label, 0.0), say(setting.digest_hex, mono, 2.0),
       say(filled(texts.proof_readings, {std::to_string(facts.readings.records), time_error}),
           label, 0.0),
       say(setting.needed(facts.readings.root_sha256_hex), mono, 4.0),
       say(texts.how_to_check, bold, 1.0), say(texts.check_digest, plain, 0.0),
       say(texts.check_verify, mono, 0.5), say(texts.check_key, plain, 4.0),
       say(texts.disclaimer, bold, 2.0),
       say(filled(texts.proof_software, {setting.needed(facts.software)}), label, 0.0)});
}

}  // namespace

Section limits_section(const Setting& setting) {
  const LimitRows rows = limit_rows(setting);
  const PagesTexts& texts = setting.texts;
  const std::vector<drawing::Column> columns{
      {texts.limit, 2.4}, {texts.limit_value, 2.0}, {texts.limit_source, 0.8}};
  Section section =
      drawing::table_in_halves(setting.canvas, setting.heading(texts.limits_title), columns,
                               rows.rows(), setting.width, kColumnGap, setting.table_style());
  const TextStyle style{setting.body_size() * 0.88, Face::regular, Align::left, drawing::kQuiet};
  section.body.push_back(Block{2.0, {}});
  section.body.push_back(
      drawing::paragraph(setting.canvas, rows.legend(), style, setting.width, 0.0));
  section.space_before = setting.section_space();
  section.whole = true;
  return section;
}

Section cautions_section(const Setting& setting) {
  const double width = (setting.width - kColumnGap) / 2.0;
  std::vector<Block> left;
  std::vector<Block> right;
  const std::size_t half = (setting.facts.cautions.size() + 1) / 2;
  for (const std::string& caution : setting.facts.cautions) {
    (left.size() < half ? left : right).push_back(bullet(setting, caution, width));
  }
  Section section = drawing::beside(
      drawing::titled_section(setting.canvas, setting.heading(setting.texts.cautions_title), width,
                              std::move(left)),
      drawing::titled_section(setting.canvas, {" ", " ", setting.heading(" ").size}, width,
                              std::move(right)),
      width + kColumnGap);
  section.space_before = setting.section_space();
  return section;
}

Section proof_section(const Setting& setting) {
  const double side = 92.0 * setting.scale;
  const double inset = 8.0;
  const double indent = side + 14.0;
  Block words = proof_words(setting, setting.width - indent - 2.0 * inset);
  const double height = std::max(words.height, side) + 2.0 * inset;
  Section section = drawing::titled_section(
      setting.canvas, setting.heading(setting.texts.proof_title), setting.width,
      {Block{height, [=, width = setting.width, code = setting.code](Canvas& canvas, Point at) {
               canvas.stroke_rect({at.x, at.y, width, height},
                                  drawing::Pen{drawing::kInk, 0.8, drawing::Dash::solid});
               drawing::draw_qr(canvas, code, {at.x + inset, at.y + inset}, side);
               words.draw(canvas, {at.x + inset + indent, at.y + inset});
             }}});
  section.space_before = setting.section_space();
  section.whole = true;
  return section;
}

}  // namespace analysis::certificate
