// The limits of the job, and what the proof says.
#include <algorithm>

#include "analysis/certificate/content/content.hpp"
#include "analysis/certificate/content/values.hpp"
#include "analysis/drawing/axis.hpp"
#include "analysis/evidence/checkpoint.hpp"
#include "analysis/evidence/digest.hpp"

namespace analysis::certificate {

using drawing::Cell;
using readiness::FloorRequirements;

namespace {

// Rows of the limits table. Sources repeat, so each gets a letter and is spelled out once below.
class LimitRows {
 public:
  explicit LimitRows(const ContentSource& source) : source_(source), texts_(source.texts) {}

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
    const std::string shown = source_.needed(source);
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

  const ContentSource& source_;
  const PagesTexts& texts_;
  std::vector<std::string> sources_;
  std::vector<std::vector<Cell>> rows_;
};

void add_slab_limits(LimitRows& rows, const ContentSource& source,
                     const readiness::SlabRequirements& slab) {
  const PagesTexts& texts = source.texts;
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
             filled(texts.at_most, {emission_text(source, slab.emission_high->value)}),
             slab.emission_high->source);
  }
  if (slab.carbide_high) {
    rows.add(texts.limit_carbide,
             filled(texts.at_most, {carbide_text(source, slab.carbide_high->value)}),
             slab.carbide_high->source);
  }
}

// Largest gap and length of the straightedge.
std::string flatness_text(const ContentSource& source, const readiness::FlatnessLimit& limit) {
  constexpr double kMetresPerFoot = 0.3048;
  return source.units == Units::imperial
             ? filled(source.texts.gap_over,
                      {small_length_text(base::Metres{limit.within_mm / 1000.0}, source.units),
                       drawing::number_text(limit.straightedge_m / kMetresPerFoot, 1)})
             : filled(source.texts.gap_in, {drawing::number_text(limit.within_mm, 1),
                                            drawing::number_text(limit.straightedge_m, 2)});
}

LimitRows limit_rows(const ContentSource& source) {
  const PagesTexts& texts = source.texts;
  const FloorRequirements& limits = source.facts.requirements;
  const Units units = source.units;
  LimitRows rows(source);
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
  if (limits.flatness != readiness::FlatnessLimit{}) {
    rows.add(texts.limit_flatness, filled(texts.at_most, {flatness_text(source, limits.flatness)}),
             limits.flatness.source);
  }
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
    add_slab_limits(rows, source, *limits.slab);
  }
  return rows;
}

std::string log_text(const ContentSource& source) {
  const PagesTexts& texts = source.texts;
  if (!source.facts.log) {
    return texts.no_log;
  }
  const LogFacts& log = *source.facts.log;
  const auto head = evidence::checkpoint_from_text(log.checkpoint + "\n");
  std::string text =
      head ? filled(texts.log_entries, {std::to_string(head.value().head.size),
                                        evidence::hex_from_digest(head.value().head.root)})
           : std::string(texts.withheld);
  text += '\n';
  return text + (log.anchor
                     ? filled(texts.log_anchored, {std::to_string(log.readings_anchored),
                                                   std::to_string(source.facts.readings.records),
                                                   moment_text(log.anchor->stamped_at),
                                                   source.needed(log.anchor->authority)})
                     : std::string(texts.log_not_anchored));
}

}  // namespace

TableContent limits_content(const ContentSource& source) {
  const LimitRows rows = limit_rows(source);
  const PagesTexts& texts = source.texts;
  return {texts.limits_title,
          {{texts.limit, 2.4}, {texts.limit_value, 2.0}, {texts.limit_source, 0.8}},
          rows.rows(),
          texts.none_given,
          {rows.legend()}};
}

std::string charts_note(const ContentSource& source) {
  return filled(source.texts.charts_note, {duration_text(source.facts.chart.bucket)});
}

ProofContent proof_content(const ContentSource& source) {
  const CertificateFacts& facts = source.facts;
  const std::string time_error =
      drawing::number_text(base::hours_from(facts.largest_time_error) * 3600.0, 1);
  return {source.texts.proof_digest,
          filled(source.texts.proof_readings, {std::to_string(facts.readings.records), time_error}),
          source.needed(facts.readings.root_sha256_hex), log_text(source),
          filled(source.texts.proof_software, {source.needed(facts.software)})};
}

}  // namespace analysis::certificate
