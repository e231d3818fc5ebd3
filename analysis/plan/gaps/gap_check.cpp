#include "analysis/plan/gaps/gap_check.hpp"

#include <cmath>

#include "analysis/plan/room/length_text.hpp"
#include "analysis/readiness/reason_texts.hpp"

namespace analysis::plan {
namespace {

// What is needed or missing: millimetres to a tenth, or inches rounded up to a sixteenth.
std::string gap_text(Metres length, bool imperial) {
  return imperial ? gap_text_from(length, true)
                  : readiness::text_from_number(length.value() * 1000.0) + " mm";
}

// What is left: as the plan tells it, or where it is short rounded down, so that it reads as short.
std::string left_text(Metres left, bool fits, bool imperial) {
  constexpr double kSixteenth = kMetresPerInch / 16.0;
  return imperial && !fits
             ? imperial_text_from(Metres{std::floor(left.value() / kSixteenth + 1e-6) * kSixteenth})
             : gap_text(left, imperial);
}

std::string percent_text(base::RelativeHumidity rh) {
  return std::to_string(std::lround(rh.value() * 100.0));
}

}  // namespace

base::Result<GapCheck, physics::DomainError> gap_check_from(Metres run, bool across_rows,
                                                            Metres gap,
                                                            const ServiceClimate& climate) {
  const auto answer = [&](base::MovementCoefficient coefficient) {
    return readiness::outlook::gap_answer_from(
        {{run, climate.hold, coefficient}, gap, climate.humidity});
  };
  const auto at_limit = answer(climate.limit);
  const auto at_typical = answer(physics::kTypicalMovement);
  if (!at_limit || !at_typical) {
    return base::Failure{at_limit ? at_typical.error() : at_limit.error()};
  }
  return GapCheck{run, across_rows, gap, at_limit.value(), at_typical.value()};
}

Remark remark_of(const GapCheck& check, const ServiceClimate& climate) {
  return remark_from([&](bool imperial) {
    const auto& limit = check.at_limit;
    const auto& typical = check.at_typical;
    std::string text =
        length_text_from(check.run, imperial) +
        (check.across_rows ? " across the rows" : " along the rows") +
        (climate.hold == physics::FloorHold::free_both_sides
             ? ": each side needs "
             : ", held at one side: the other needs ") +
        gap_text(limit.movement.gap_each_side, imperial) + " with the limit for such boards, " +
        gap_text(typical.movement.gap_each_side, imperial) + " with a typical one, " +
        left_text(check.left, limit.fits, imperial) + " are left";
    if (!limit.fits) {
      text += typical.fits ? ": short by up to " : ": short by ";
      text += gap_text(limit.short_by, imperial);
      if (limit.widest_run) {
        text += "; that gap is enough for " + length_text_from(*limit.widest_run, imperial);
      }
    }
    return text + " (panels of " + percent_text(climate.humidity.at_laying) + " %RH in " +
           percent_text(climate.humidity.lowest) + " to " + percent_text(climate.humidity.highest) +
           " %RH" + (climate.is_assumed ? ", assumed: job.json does not say it)" : ")");
  });
}

}  // namespace analysis::plan
