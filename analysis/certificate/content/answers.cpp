// The part of the content that answers: what, where, when, how long.
#include <algorithm>
#include <cmath>
#include <ranges>

#include "analysis/base/day_end.hpp"
#include "analysis/certificate/content/content.hpp"
#include "analysis/certificate/content/values.hpp"
#include "analysis/drawing/axis.hpp"
#include "analysis/readiness/reason_texts.hpp"

namespace analysis::certificate {

using drawing::LabelledValue;

namespace {

std::string gate_counts(const ContentSource& source) {
  const auto& assessment = source.facts.assessment;
  const auto count = [&](readiness::GateState state) {
    return std::to_string(
        std::count_if(assessment.gates.begin(), assessment.gates.end(),
                      [&](const readiness::GateResult& gate) { return gate.state == state; }));
  };
  return filled(source.texts.gate_counts,
                {moment_text(assessment.at), count(readiness::GateState::met),
                 count(readiness::GateState::not_met), count(readiness::GateState::unknown)});
}

// Only a "ready" can be wrongly one; empty otherwise.
std::string wrong_ready_text(const ContentSource& source) {
  const auto& assessment = source.facts.assessment;
  if (assessment.verdict != readiness::Verdict::ready) {
    return {};
  }
  return assessment.wrong_ready_probability
             ? filled(source.texts.wrong_ready,
                      {readiness::text_from_upper_share(*assessment.wrong_ready_probability)})
             : source.texts.wrong_ready_unknown;
}

const char* verdict_meaning(const CertificateFacts& facts, const PagesTexts& texts) {
  const bool laid = is_after_laying_began(facts);
  switch (facts.assessment.verdict) {
    case readiness::Verdict::ready:
      return laid ? texts.conditions_met_means : texts.ready_means;
    case readiness::Verdict::not_ready:
      return laid ? texts.conditions_not_met_means : texts.not_ready_means;
    case readiness::Verdict::cannot_tell:
      break;
  }
  return texts.cannot_tell_means;
}

std::string moment_or(const std::optional<UtcMicros>& at, const char* otherwise) {
  return at ? moment_text(*at) : otherwise;
}

std::string laying_text(const ContentSource& source) {
  const LayingFacts& laying = source.facts.laying;
  if (!laying.began_at) {
    return source.texts.not_noted_of_this_time;
  }
  const std::string began = moment_text(*laying.began_at);
  return laying.finished_at
             ? filled(source.texts.laying_lasted, {began, moment_text(*laying.finished_at)})
             : filled(source.texts.laying_began, {began});
}

std::string joined(std::string text, const std::string& part) {
  return text.empty() ? part : std::move(text) + ", " + part;
}

std::string rows_text(const readiness::LaidFloor& laid, const ContentSource& source) {
  const std::string rows = laid.rows ? std::to_string(*laid.rows) : std::string();
  if (!laid.first_row) {
    return rows;
  }
  const std::string first = small_length_text(*laid.first_row, source.units);
  return rows.empty() ? first : filled(source.texts.laid_rows_first, {rows, first});
}

// A long list would push everything else off the first page; the signed file has it all.
std::size_t shown_of(std::size_t count) {
  constexpr std::size_t kMost = 6;
  constexpr std::size_t kOfMore = 4;
  return count <= kMost ? count : kOfMore;
}

std::string listed(const std::vector<std::string>& parts, const PagesTexts& texts) {
  const std::size_t shown = shown_of(parts.size());
  std::string text;
  for (const std::string& part : parts | std::views::take(shown)) {
    text = joined(std::move(text), part);
  }
  return shown == parts.size()
             ? text
             : joined(std::move(text),
                      filled(texts.laid_more, {std::to_string(parts.size() - shown)}));
}

std::string gaps_text(std::vector<readiness::LaidGap> gaps, const ContentSource& source) {
  if (shown_of(gaps.size()) < gaps.size()) {
    std::ranges::stable_sort(gaps, {}, &readiness::LaidGap::gap);  // the narrowest matter
  }
  std::vector<std::string> parts;
  for (const readiness::LaidGap& left : gaps) {
    const std::string where =
        left.wall.empty() && gaps.size() > 1 ? source.texts.laid_gap_elsewhere : left.wall;
    parts.push_back((where.empty() ? "" : where + ": ") +
                    small_length_text(left.gap, source.units));
  }
  return listed(parts, source.texts);
}

std::string joints_text(const readiness::LaidFloor& laid, const ContentSource& source) {
  std::vector<std::string> parts;
  for (const readiness::LaidJoint& joint : laid.joints) {
    parts.push_back(joint.place + (joint.kind.empty() ? "" : " (" + joint.kind + ")"));
  }
  return listed(parts, source.texts);
}

// What was noted of the floor as laid, in lines; none where nothing is.
void add_laid(std::vector<LabelledValue>& values, const ContentSource& source) {
  const readiness::LaidFloor& laid = source.facts.laying.laid;
  const PagesTexts& texts = source.texts;
  std::string cartons;
  for (const auto& [count, text] : {std::pair{laid.cartons_used, texts.laid_cartons_used},
                                    std::pair{laid.cartons_left, texts.laid_cartons_left}}) {
    cartons = count ? joined(std::move(cartons), filled(text, {std::to_string(*count)})) : cartons;
  }
  for (const auto& [label, text] :
       {std::pair{texts.laid_gaps, gaps_text(laid.gaps, source)},
        std::pair{texts.laid_joints, joints_text(laid, source)},
        std::pair{laid.rows ? texts.laid_rows : texts.laid_first_row, rows_text(laid, source)},
        std::pair{texts.laid_cartons, cartons}}) {
    if (!text.empty()) {
      values.push_back({label, text});
    }
  }
}

// Where the period lies by the laying; empty where that was not noted.
std::string place_in_time(const ContentSource& source) {
  const auto& [from, to] = source.facts.period;
  const LayingFacts& laying = source.facts.laying;
  const PagesTexts& texts = source.texts;
  if (!laying.began_at) {
    return {};
  }
  const bool before = from < *laying.began_at;
  const bool after = laying.finished_at && to > *laying.finished_at;
  if (to <= *laying.began_at) {
    return texts.before_laying;
  }
  if (laying.finished_at && from >= *laying.finished_at) {
    return texts.after_laying;
  }
  return before && after ? texts.before_during_and_after_laying
         : before        ? texts.before_and_during_laying
         : after         ? texts.during_and_after_laying
                         : texts.during_laying;
}

// What lies outside the period, whoever chose it; then where it lies by the laying.
std::string about_period(const ContentSource& source) {
  const CertificateFacts& facts = source.facts;
  std::string text = place_in_time(source);
  const PeriodEdges edges = period_edges(facts);
  if (edges.after_delivery) {
    text = joined(std::move(text), filled(source.texts.begins_after_delivery,
                                          {duration_text(*edges.after_delivery)}));
  }
  if (edges.before_issue) {
    text = joined(std::move(text),
                  filled(source.texts.ended_before_issue, {duration_text(*edges.before_issue)}));
  }
  return text;
}

// Rounded down: hours that are not complete must not read as complete.
std::string hours_number(double hours) {
  return drawing::number_text(std::max(0.0, std::floor(hours * 10.0 + 1e-6) / 10.0), 1);
}

std::string required_number(double hours) {
  const bool whole = std::abs(hours - std::round(hours)) < 1e-6;
  return drawing::number_text(hours, whole ? 0 : 1);
}

std::string run_range_text(const ContentSource& source) {
  const readiness::DwellState& dwell = source.facts.dwell;
  std::string text;
  if (dwell.run_temperature_min && dwell.run_temperature_max) {
    text =
        filled(source.texts.range_of, {temperature_text(*dwell.run_temperature_min, source.units),
                                       temperature_text(*dwell.run_temperature_max, source.units)});
  }
  if (dwell.run_rh_min && dwell.run_rh_max) {
    text += text.empty() ? "" : "\n";
    text += filled(source.texts.range_of, {rh_text(*dwell.run_rh_min), rh_text(*dwell.run_rh_max)});
  }
  return text.empty() ? source.texts.run_not_begun : text;
}

std::vector<LabelledValue> hours_left_values(const ContentSource& source) {
  const auto& assessment = source.facts.assessment;
  const auto& texts = source.texts;
  std::vector<LabelledValue> values;
  if (assessment.dwell_left_hours <= 0.0) {
    values.push_back({texts.hours_left, texts.hours_none_left});
  } else {
    values.push_back(
        {texts.hours_left, duration_text(base::micros_from_hours(assessment.dwell_left_hours))});
    values.push_back(
        {texts.hours_expected_at,
         assessment.dwell_expected_at
             ? filled(texts.hours_expected_if, {moment_text(*assessment.dwell_expected_at)})
             : texts.hours_not_foreseeable});
  }
  if (assessment.dwell_done_at) {
    values.push_back({texts.hours_completed_at, moment_text(*assessment.dwell_done_at)});
  }
  values.push_back({texts.resets, std::to_string(source.facts.dwell.resets)});
  return values;
}

// The hours before a period are not in its accounting.
bool counts_from_delivery(const CertificateFacts& facts) {
  return !facts.delivered_at || *facts.delivered_at >= facts.period.from;
}

std::vector<LabelledValue> run_values(const ContentSource& source) {
  const auto& dwell = source.facts.dwell;
  const auto& texts = source.texts;
  return {{texts.run_began, moment_or(dwell.run_started_at, texts.run_not_begun)},
          {texts.run_range, run_range_text(source)},
          {counts_from_delivery(source.facts) ? texts.whole_log : texts.whole_period,
           filled(texts.whole_log_shares, {hours_number(dwell.total_in_seconds / 3600.0),
                                           hours_number(dwell.total_out_seconds / 3600.0),
                                           hours_number(dwell.total_unknown_seconds / 3600.0)})},
          {texts.unknown_share, share_text(source.facts.assessment.unknown_share)}};
}

}  // namespace

const char* verdict_word(const CertificateFacts& facts, const PagesTexts& texts) {
  const bool laid = is_after_laying_began(facts);
  switch (facts.assessment.verdict) {
    case readiness::Verdict::ready:
      return laid ? texts.conditions_met : texts.ready;
    case readiness::Verdict::not_ready:
      return laid ? texts.conditions_not_met : texts.not_ready;
    case readiness::Verdict::cannot_tell:
      break;
  }
  return texts.cannot_tell;
}

drawing::Symbol symbol_of(readiness::Verdict verdict) {
  switch (verdict) {
    case readiness::Verdict::ready:
      return drawing::Symbol::disc_tick;
    case readiness::Verdict::not_ready:
      return drawing::Symbol::square_cross;
    case readiness::Verdict::cannot_tell:
      break;
  }
  return drawing::Symbol::diamond_query;
}

bool is_after_laying_began(const CertificateFacts& facts) {
  return facts.laying.began_at && *facts.laying.began_at < facts.assessment.at;
}

VerdictContent verdict_content(const ContentSource& source) {
  VerdictContent content{symbol_of(source.facts.assessment.verdict),
                         verdict_word(source.facts, source.texts),
                         verdict_meaning(source.facts, source.texts),
                         {gate_counts(source)}};
  if (const std::string wrong = wrong_ready_text(source); !wrong.empty()) {
    content.details.push_back(wrong);
  }
  if (is_after_laying_began(source.facts)) {
    content.details.push_back(
        filled(source.texts.laying_had_begun, {moment_text(*source.facts.laying.began_at)}));
  }
  return content;
}

std::vector<std::string> notices_content(const ContentSource& source) {
  std::vector<std::string> notices;
  if (const auto& older = source.facts.supersedes) {
    notices.push_back(filled(source.texts.supersedes, {older->number, older->certificate_sha256_hex,
                                                       source.shown(older->reason)}));
  }
  if (source.redacted_fields > 0) {
    notices.push_back(filled(source.texts.redacted_copy,
                             {std::to_string(source.redacted_fields), source.texts.redacted}));
  }
  return notices;
}

std::vector<LabelledList> subject_content(const ContentSource& source) {
  const CertificateFacts& facts = source.facts;
  const PagesTexts& texts = source.texts;
  std::vector<LabelledList> lists{
      {texts.what,
       {{texts.room, source.needed(facts.room.room_name)},
        {texts.floor, source.needed(facts.room.floor_product)},
        {texts.area, area_text(base::SquareMetres{facts.room.floor_area_m2}, source.units)}}},
      {texts.where,
       {{texts.job, source.needed(facts.parties.job_name)},
        {texts.site, source.needed(facts.parties.site_address)},
        {texts.installer, source.needed(facts.parties.installer)},
        {texts.client, source.optional(facts.parties.client)}}},
      {texts.when,
       {{texts.period_from, moment_text(facts.period.from)},
        {texts.period_to, moment_text(facts.period.to)},
        {texts.delivered, moment_or(facts.delivered_at, texts.not_noted)},
        {texts.slab_poured, facts.slab_poured_at && base::is_day_end(*facts.slab_poured_at)
                                ? base::day_or_minute_text(*facts.slab_poured_at)
                                : moment_or(facts.slab_poured_at, texts.not_noted)},
        {texts.laying, laying_text(source)}}}};
  std::vector<LabelledValue>& when = lists.back().values;
  add_laid(lists.front().values, source);
  if (const std::string place = about_period(source); !place.empty()) {
    when.push_back({texts.place_in_time, place});
  }
  when.push_back({texts.issued, moment_text(facts.issued_at)});
  return lists;
}

HoursContent hours_content(const ContentSource& source) {
  const CertificateFacts& facts = source.facts;
  const double done = facts.assessment.dwell_done_hours;
  const double needed = base::hours_from(facts.requirements.dwell.value);
  return {facts.requirements.cumulative ? source.texts.hours_title_cumulative
                                        : source.texts.hours_title,
          filled(source.texts.hours_done, {hours_number(done), required_number(needed)}),
          needed > 0.0 ? std::clamp(done / needed, 0.0, 1.0) : 1.0, hours_left_values(source),
          run_values(source)};
}

}  // namespace analysis::certificate
