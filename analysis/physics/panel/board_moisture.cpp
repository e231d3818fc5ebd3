#include "analysis/physics/panel/board_moisture.hpp"

#include "analysis/physics/panel/wood_moisture.hpp"

namespace analysis::physics {
namespace {

constexpr double kHighestShare = 1.5;

bool are_sound(const BoardShareOfWood& shares) {
  return shares.low_share > 0.0 && shares.low_share <= shares.expected_share &&
         shares.expected_share <= shares.high_share && shares.high_share <= kHighestShare;
}

}  // namespace

base::Result<MoistureContentRange, DomainError> board_emc_from_rh(base::Celsius air,
                                                                  base::RelativeHumidity rh,
                                                                  const BoardShareOfWood& shares) {
  if (!are_sound(shares)) {
    return base::Failure{DomainError::material_out_of_domain};
  }
  const auto wood = wood_emc_from_rh(air, rh);
  if (!wood) {
    return base::Failure{wood.error()};
  }
  const auto share_of_wood = [&](double share) {
    return base::MoistureContent{share * wood.value().value()};
  };
  return MoistureContentRange{share_of_wood(shares.low_share), share_of_wood(shares.expected_share),
                              share_of_wood(shares.high_share)};
}

}  // namespace analysis::physics
