// Stacks of cartons put into a real room: every second of 20 weeks of 10-minute readings of a
// half-heated house under renovation in ../shared/data/trh1 (CC BY 4.0), where it is there; else
// exit code 77. The room is real, the stack is not: no measured core exists in the data.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "analysis/readiness/stack/stack_tracker.hpp"
#include "tests/catch_session.hpp"

using namespace analysis::readiness;
using namespace analysis::physics;

namespace {

const std::string kFile = "../shared/data/trh1/R1_indoor_10min.csv";
constexpr std::size_t kWeek = 7 * 24 * 6;

// "2020-12-18 15:15:00,17.43,36.87", the time at +02:00.
std::vector<StackSample> air_of_house() {
  std::ifstream file(kFile);
  std::string row;
  std::getline(file, row);
  std::vector<StackSample> samples;
  while (std::getline(file, row)) {
    const auto at =
        analysis::base::utc_from_rfc3339(row.substr(0, 10) + "T" + row.substr(11, 8) + "+02:00");
    REQUIRE(at.has_value());
    samples.push_back({*at, Celsius{std::stod(row.substr(20))}, std::nullopt});
  }
  return samples;
}

// Largest differences of the tracker's mid core from a field that takes every reading and never
// stops, by what the tracker was doing.
struct Differences {
  double warming = 0.0;
  double following = 0.0;
  double armed_again = 0.0;
};

void compare_week(const StackGeometry& geometry, const std::vector<StackSample>& samples,
                  std::size_t first, Differences& worst) {
  StackTracker tracker =
      StackTracker::start(geometry, {samples[first].at, Celsius{2.0}}, {}).value();
  StackField plain = StackField::start(geometry, kMidStack, Celsius{2.0}).value();
  for (std::size_t i = first; i < first + kWeek; ++i) {
    tracker.add(samples[i]);
    if (i > first) {
      plain.step(samples[i].at - samples[i - 1].at, *samples[i - 1].air, *samples[i].air);
    }
    if (i % 11 == 0) {
      const StackResult result = tracker.result();
      double& kind = result.following           ? worst.following
                     : result.arming_number > 1 ? worst.armed_again
                                                : worst.warming;
      kind = std::max(
          kind, std::abs(result.mid.temperature.value() - plain.coldest_when_warming().value()));
    }
  }
}

}  // namespace

TEST_CASE("OneNumberInPlaceOfTheFieldCostsHalfAKelvinInARealRoom") {
  const auto samples = air_of_house();
  REQUIRE(samples.size() == 21365);
  for (const double height : {0.09, 0.54}) {
    const StackGeometry geometry{Metres{1.29}, Metres{0.195}, Metres{height},
                                 StackBottom::on_floor};
    Differences worst;
    for (std::size_t first = 0; first + kWeek <= samples.size(); first += 2 * kWeek) {
      compare_week(geometry, samples, first, worst);
    }
    CAPTURE(height, worst.warming, worst.following, worst.armed_again);
    CHECK(worst.warming < 0.01);
    CHECK(worst.following < 0.7);
    CHECK(worst.following > 0.0);
    CHECK(worst.armed_again < 0.7);
    CHECK(worst.armed_again > 0.0);
  }
}

int main(int argc, char* argv[]) {
  constexpr int kSkipped = 77;
  return std::filesystem::exists(kFile) ? run_tests(argc, argv) : kSkipped;
}
