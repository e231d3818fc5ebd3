#include "analysis/certificate/content/charts.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/certificate/content/values.hpp"
#include "analysis/certificate/facts_builder.hpp"
#include "analysis/readiness/uncertainty/conformance.hpp"

namespace analysis::certificate {
namespace {

using base::ChannelRole;
using drawing::TimeChart;

constexpr std::array<ChannelRole, 5> kChartedRoles{
    ChannelRole::room_air_temperature, ChannelRole::room_air_rh,
    ChannelRole::stack_core_temperature, ChannelRole::slab_rh,
    ChannelRole::slab_surface_temperature};

bool in_room_air(ChannelRole role) {
  return role == ChannelRole::room_air_temperature || role == ChannelRole::room_air_rh;
}

drawing::ChartLine line_from(const ChartSeries& series, Units units) {
  drawing::ChartLine line;
  line.label = series.channel_id;
  line.buckets.reserve(series.buckets.size());
  for (const auto& bucket : series.buckets) {
    if (!bucket) {
      line.buckets.emplace_back(std::nullopt);
      continue;
    }
    line.buckets.emplace_back(drawing::RangeBucket{shown_value(bucket->low, series.role, units),
                                                   shown_value(bucket->mean, series.role, units),
                                                   shown_value(bucket->high, series.role, units)});
  }
  return line;
}

void add_lines(TimeChart& chart, const CertificateFacts& facts, ChannelRole role, Units units) {
  for (const ChartSeries& series : facts.chart.series) {
    if (series.role == role) {
      chart.lines.push_back(line_from(series, units));
    }
  }
}

// The slab's limit as the least certain of its probes has to keep it.
double slab_limit_fraction(const CertificateFacts& facts) {
  double guard = 0.0;
  if (facts.requirements.decision.value == readiness::DecisionRule::guarded) {
    for (const InstrumentFacts& instrument : facts.instruments) {
      if (instrument.channel.scale.role == ChannelRole::slab_rh) {
        const auto u = readiness::standard_uncertainty_from(instrument.channel, facts.delivered_at);
        guard = std::max(guard, readiness::kCoverageFactor * u.value_or(0.0));
      }
    }
  }
  return facts.requirements.slab->rh_high.value.value() - guard;
}

// As they were decided by: drawn in where the job decides guarded.
void set_limits(TimeChart& chart, const CertificateFacts& facts, ChannelRole role, Units units) {
  const auto air_band = [&facts] {
    return readiness::dwell_policy_from(room_setup_from(facts)).band;
  };
  if (role == ChannelRole::room_air_temperature) {
    const readiness::ClimateBand band = air_band();
    chart.limit_low = shown_value(band.temperature_low.value(), role, units);
    chart.limit_high = shown_value(band.temperature_high.value(), role, units);
    chart.limit_decimals = 1;
  } else if (role == ChannelRole::room_air_rh) {
    const readiness::ClimateBand band = air_band();
    chart.limit_low = base::percent_from_rh(band.rh_low);
    chart.limit_high = base::percent_from_rh(band.rh_high);
  } else if (role == ChannelRole::slab_rh && facts.requirements.slab) {
    chart.limit_high = 100.0 * slab_limit_fraction(facts);
  }
  if (base::file_unit_of(role) == "percent_rh") {
    const auto whole = [](const std::optional<double>& limit) {
      return !limit || std::abs(*limit - std::round(*limit)) < 1e-9;
    };
    chart.limit_decimals = whole(chart.limit_low) && whole(chart.limit_high) ? 0 : 1;
  }
}

void add_excursions(TimeChart& chart, const CertificateFacts& facts, ChannelRole role) {
  for (std::size_t i = 0; i < facts.excursions.size(); ++i) {
    if (facts.excursions[i].role == role) {
      chart.excursions.push_back({facts.excursions[i].range, std::to_string(i + 1)});
    }
  }
}

void add_room_air(TimeChart& chart, const CertificateFacts& facts, Units units,
                  const PagesTexts& texts) {
  TimeChart air;
  add_lines(air, facts, ChannelRole::room_air_temperature, units);
  for (drawing::ChartLine& line : air.lines) {
    line.context = true;
    line.label = texts.role_label(ChannelRole::room_air_temperature);
    chart.lines.push_back(std::move(line));
  }
}

bool small_enough(double value) { return std::isfinite(value) && std::abs(value) <= 1e6; }

bool numbers_are_drawable(const CertificateFacts& facts) {
  for (const ChartSeries& series : facts.chart.series) {
    for (const auto& bucket : series.buckets) {
      if (bucket && !(small_enough(bucket->low) && small_enough(bucket->mean) &&
                      small_enough(bucket->high))) {
        return false;
      }
    }
  }
  const auto& limits = facts.requirements;
  const std::array<double, 12> values{limits.temperature_low.value.value(),
                                      limits.temperature_high.value.value(),
                                      limits.rh_low.value.value(),
                                      limits.rh_high.value.value(),
                                      limits.core_within.value.value(),
                                      limits.condensation_margin.value.value(),
                                      limits.unknown_share.value,
                                      limits.slab ? limits.slab->rh_high.value.value() : 0.0,
                                      facts.room.floor_area_m2,
                                      facts.assessment.dwell_done_hours,
                                      facts.assessment.dwell_left_hours,
                                      facts.assessment.unknown_share};
  return std::all_of(values.begin(), values.end(), small_enough) &&
         std::all_of(facts.excursions.begin(), facts.excursions.end(),
                     [](const readiness::Excursion& e) { return small_enough(e.worst); });
}

bool is_sha256_hex(std::string_view text) {
  return text.size() == 64 && text.find_first_not_of("0123456789abcdef") == std::string_view::npos;
}

}  // namespace

std::vector<TimeChart> charts_from(const CertificateFacts& facts, Units units,
                                   const PagesTexts& texts) {
  std::vector<TimeChart> charts;
  for (const ChannelRole role : kChartedRoles) {
    TimeChart chart;
    chart.title = texts.role_label(role);
    chart.unit = role_unit(role, units);
    chart.from = facts.chart.from;
    chart.bucket = facts.chart.bucket;
    add_lines(chart, facts, role, units);
    if (chart.lines.empty()) {
      continue;
    }
    set_limits(chart, facts, role, units);
    add_excursions(chart, facts, role);
    if (in_room_air(role)) {
      chart.gaps = facts.unknown_time;
    }
    if (role == ChannelRole::stack_core_temperature) {
      add_room_air(chart, facts, units, texts);
    }
    charts.push_back(std::move(chart));
  }
  return charts;
}

base::Result<void, PagesError> check_drawable(const CertificateFacts& facts,
                                              std::string_view digest_hex) {
  if (!is_sha256_hex(digest_hex)) {
    return base::Failure{PagesError::bad_digest};
  }
  if (!numbers_are_drawable(facts)) {
    return base::Failure{PagesError::bad_number};
  }
  return {};
}

PagesError pages_error_from(drawing::DrawError error) {
  switch (error) {
    case drawing::DrawError::font_missing:
      return PagesError::font_missing;
    case drawing::DrawError::too_tall:
      return PagesError::text_too_long;
    case drawing::DrawError::surface_failed:
    case drawing::DrawError::not_encodable:
      break;
  }
  return PagesError::drawing_failed;
}

}  // namespace analysis::certificate
