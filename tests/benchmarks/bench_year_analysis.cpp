// The analysis of a year of six channels at five minutes (105,120 records) against merely reading
// those rows from SQLite, in the same run: quality and dwell, then the heat in the stack beside
// them. Usage: bench_year_analysis [FOLDER].
#include "analysis/readiness/room_replay.hpp"
#include "logger/app/room/history.hpp"
#include "tests/benchmarks/bench_folder.hpp"
#include "tests/benchmarks/big_store.hpp"
#include "tests/benchmarks/year_store.hpp"

namespace {

using namespace benchmarks;
using namespace analysis::readiness;
using analysis::base::ChannelRole;
using analysis::base::Metres;

constexpr int kRounds = 9;
const std::string kBox = "box-1";

RoomSetup setup(bool with_stack) {
  RoomSetup room;
  room.requirements.slab = SlabRequirements{};
  room.delivered_at = kSiteStart;
  const ChannelRole roles[] = {ChannelRole::room_air_temperature, ChannelRole::room_air_rh,
                               ChannelRole::stack_core_temperature,
                               ChannelRole::slab_surface_temperature, ChannelRole::slab_rh};
  for (int i = 0; i < 5; ++i) {
    ChannelSetup channel;
    channel.box_id = kBox;
    channel.channel_index = i;
    channel.channel_id = "c" + std::to_string(i);
    channel.scale.role = roles[i];
    channel.calibrations = {
        {kSiteStart, kSiteStart + analysis::base::micros_from_hours(9000), 1.001, 0.1, 0.4}};
    room.channels.push_back(channel);
  }
  if (with_stack) {
    room.stack = StackSetup{
        {Metres{1.29}, Metres{0.39}, Metres{0.54}, analysis::physics::StackBottom::on_floor},
        Celsius{2.0}};
  }
  return room;
}

struct Analysed {
  double seconds = 0.0;
  double hours = 0.0;
};

// Reads, dates, checks, calibrates and accounts every record.
Analysed analysis_of(logger::store::ReadingStore& store, bool with_stack) {
  RoomReplay replay(setup(with_stack));
  const Stopwatch watch;
  required(logger::app::visit_history(
      store, {{kBox}, {}, {}, {}},
      [&replay](const std::string& box, const Record& record, analysis::base::DatedTime at) {
        replay.add(box, record, at.at);
      }));
  return {watch.seconds(), replay.dwell().total_in_seconds / 3600.0};
}

}  // namespace

int main(int argc, char** argv) {
  const BenchFolder folder{argc, argv};
  const std::string path = folder.file("year.db");
  make_year_store(path);
  const auto store = required(logger::store::open_sqlite_store(path, {.read_only = true}));
  std::vector<double> reading, dwell, stack;
  double hours = 0.0;
  for (int round = 0; round < kRounds; ++round) {
    reading.push_back(seconds_of_reading_rows(path));
    const Analysed plain = analysis_of(*store, false);
    dwell.push_back(plain.seconds);
    hours = plain.hours;
    stack.push_back(analysis_of(*store, true).seconds);
  }
  const double readings = static_cast<double>(kYearRecords) * kFittedChannels;
  const auto report = [&](const char* what, double seconds) {
    std::printf("%-44s %7.1f ms  %6.2f million readings/s  %.2f times the reading\n", what,
                seconds * 1e3, readings / seconds / 1e6, seconds / median(reading));
  };
  std::printf("a year of %d channels at 5 min, medians of %d rounds (%.1f h in band)\n",
              kFittedChannels, kRounds, hours);
  report("reading the rows from SQLite", median(reading));
  report("reading, dating, quality and dwell", median(dwell));
  report("the same with the heat in the stack", median(stack));
  return 0;
}
