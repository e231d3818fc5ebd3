#include "firmware-sim/sim/simulation_run.hpp"

#include <catch2/catch.hpp>

#include "firmware-sim/core/wire_format.hpp"
#include "tests/sim/line_end.hpp"

using namespace firmware::sim;
using namespace firmware::core;
using namespace sim_test;
using analysis::base::micros_from_hours;

namespace {

BoxOnLine box_on(const std::string& port, std::uint8_t unit, std::uint64_t serial) {
  BoxOnLine box;
  box.port = port;
  box.box.unit = unit;
  box.box.serial = serial;
  return box;
}

// A site whose time stands still at its start, since its one client never comes.
std::unique_ptr<SimulationRun> standing_run(const TemporaryFolder& folder,
                                            std::vector<BoxOnLine> boxes) {
  RunSettings settings;
  settings.scenario = scenario_from_name("quick").value();
  settings.boxes = std::move(boxes);
  settings.time_socket = folder.file("time");
  auto made = SimulationRun::create(settings);
  REQUIRE(made.has_value());
  return std::move(made).value();
}

// What comes back while the simulator runs; waits for `count` bytes when they are to come.
std::vector<std::uint8_t> answer_of(SimulationRun& run, const Descriptor& end, std::size_t count) {
  std::vector<std::uint8_t> bytes;
  for (int i = 0; i < 1000 && bytes.size() < count; ++i) {
    run.step(std::chrono::milliseconds{count > 0 ? 5 : 0});
    end.read(bytes);
  }
  for (int i = 0; i < 20; ++i) {
    run.step(std::chrono::milliseconds{0});
    end.read(bytes);
  }
  return bytes;
}

std::uint64_t serial_in(const std::vector<std::uint8_t>& reply) {
  std::uint64_t serial = 0;
  for (std::size_t i = 0; i < 8; ++i) {
    serial = serial << 8U | reply.at(3 + 2 * kIdentitySerial + i);
  }
  return serial;
}

constexpr std::size_t kIdentityReply = reply_size(kIdentitySize);

}  // namespace

TEST_CASE("RequestThatComesByteByByteIsAnswered") {
  const TemporaryFolder folder;
  const auto run = standing_run(folder, {box_on(folder.file("tty"), 1, 77)});
  const Descriptor end = opened_line(folder.file("tty"));
  const auto request = read_request(1, kRegIdentity, kIdentitySize);
  for (std::size_t i = 0; i + 1 < request.size(); ++i) {
    REQUIRE(end.write(std::span(request).subspan(i, 1)));
    CHECK(answer_of(*run, end, 0).empty());
  }
  REQUIRE(end.write(std::span(request).last(1)));
  const auto reply = answer_of(*run, end, kIdentityReply);
  REQUIRE(reply.size() == kIdentityReply);
  CHECK(serial_in(reply) == 77);
}

TEST_CASE("BoxesOnOneLineAnswerForThemselvesOnly") {
  const TemporaryFolder folder;
  const std::string port = folder.file("tty");
  const auto run = standing_run(
      folder, {box_on(port, 1, 71), box_on(port, 9, 79), box_on(folder.file("tty2"), 1, 81)});
  const Descriptor end = opened_line(port);
  REQUIRE(end.write(read_request(9, kRegIdentity, kIdentitySize)));
  CHECK(serial_in(answer_of(*run, end, kIdentityReply)) == 79);
  REQUIRE(end.write(read_request(1, kRegIdentity, kIdentitySize)));
  CHECK(serial_in(answer_of(*run, end, kIdentityReply)) == 71);
  REQUIRE(end.write(read_request(5, kRegIdentity, kIdentitySize)));
  CHECK(answer_of(*run, end, 0).empty());
  const Descriptor other = opened_line(folder.file("tty2"));
  REQUIRE(other.write(read_request(1, kRegIdentity, kIdentitySize)));
  CHECK(serial_in(answer_of(*run, other, kIdentityReply)) == 81);
}

TEST_CASE("RequestHookDecidesWhatBecomesOfARequest") {
  const TemporaryFolder folder;
  const auto run = standing_run(folder, {box_on(folder.file("tty"), 1, 77)});
  const Descriptor end = opened_line(folder.file("tty"));
  const auto request = read_request(1, kRegIdentity, kIdentitySize);
  RequestFate fate = RequestFate::drop;
  std::vector<std::vector<std::uint8_t>> seen;
  run->set_request_hook([&](std::size_t box, std::span<const std::uint8_t> frame) {
    CHECK(box == 0);
    seen.emplace_back(frame.begin(), frame.end());
    return fate;
  });
  REQUIRE(end.write(request));
  CHECK(answer_of(*run, end, 0).empty());
  fate = RequestFate::lose_reply;
  REQUIRE(end.write(request));
  CHECK(answer_of(*run, end, 0).empty());
  fate = RequestFate::answer;
  REQUIRE(end.write(request));
  CHECK(answer_of(*run, end, kIdentityReply).size() == kIdentityReply);
  CHECK(seen == std::vector<std::vector<std::uint8_t>>(3, request));
}

TEST_CASE("LostReplyMeansThatTheBoxActed") {
  const TemporaryFolder folder;
  const auto run = standing_run(folder, {box_on(folder.file("tty"), 1, 77)});
  const Descriptor end = opened_line(folder.file("tty"));
  Request write;
  write.unit = 1;
  write.function = kWriteSingleRegister;
  write.address = kRegSampleInterval;
  write.quantity = 1;
  const std::array<std::uint8_t, 2> value{0, 30};
  write.values = value;
  std::array<std::uint8_t, kMaxRtuFrame> frame{};
  std::size_t length = 0;
  REQUIRE(build_request(write, frame, length) == FrameStatus::ok);
  RequestFate fate = RequestFate::drop;
  run->set_request_hook([&](std::size_t, std::span<const std::uint8_t>) { return fate; });
  REQUIRE(end.write(std::span(frame).first(length)));
  CHECK(answer_of(*run, end, 0).empty());
  CHECK(run->box(0).firmware().sample_interval_s() == 60);
  fate = RequestFate::lose_reply;
  REQUIRE(end.write(std::span(frame).first(length)));
  CHECK(answer_of(*run, end, 0).empty());
  CHECK(run->box(0).firmware().sample_interval_s() == 30);
}

TEST_CASE("CableCanBePulledInTheMiddleOfAnExchange") {
  const TemporaryFolder folder;
  const auto run = standing_run(folder, {box_on(folder.file("tty"), 1, 77)});
  ScenarioAction pull;
  pull.kind = ActionKind::line_unplug;
  const auto request = read_request(1, kRegIdentity, kIdentitySize);

  SECTION("before the box sees the request") {
    run->set_request_hook([&](std::size_t, std::span<const std::uint8_t>) {
      run->perform(pull);
      return RequestFate::answer;
    });
  }
  SECTION("after seven bytes of the reply") {
    run->set_reply_hook([&](std::size_t, std::vector<std::uint8_t>& reply) {
      run->line_of(0).write(std::span(reply).first(7));
      run->perform(pull);
    });
  }
  const Descriptor end = opened_line(folder.file("tty"));
  REQUIRE(end.write(request));
  REQUIRE(end.write(request));  // a second one in the same read is lost with the line
  answer_of(*run, end, 0);
  CHECK_FALSE(run->line_of(0).plugged());
  std::vector<std::uint8_t> bytes;
  CHECK_FALSE(end.read(bytes));

  pull.kind = ActionKind::line_plug;
  run->perform(pull);
  run->set_request_hook(nullptr);
  run->set_reply_hook(nullptr);
  const Descriptor again = opened_line(folder.file("tty"));
  REQUIRE(again.write(request));
  CHECK(answer_of(*run, again, kIdentityReply).size() == kIdentityReply);
}

TEST_CASE("ReplyHookMayChangeTheReply") {
  const TemporaryFolder folder;
  const auto run = standing_run(folder, {box_on(folder.file("tty"), 1, 77)});
  const Descriptor end = opened_line(folder.file("tty"));
  run->set_reply_hook([](std::size_t, std::vector<std::uint8_t>& reply) { reply.resize(4); });
  REQUIRE(end.write(read_request(1, kRegIdentity, kIdentitySize)));
  CHECK(answer_of(*run, end, 4).size() == 4);
}

TEST_CASE("BoxesSampleAtTheirOwnPaceAndRebootOnTime") {
  RunSettings settings;
  settings.scenario = scenario_from_name("quick").value();
  settings.pace = Pace::free;
  settings.boxes = {box_on("", 1, 71), box_on("", 2, 72)};
  settings.boxes[1].box.sample_interval_s = 10;
  settings.boxes[1].box.power_on_after_start = micros_from_hours(1.0);
  auto made = SimulationRun::create(settings);
  REQUIRE(made.has_value());
  SimulationRun& run = *made.value();
  run.run();
  CHECK(run.scenario_over());
  CHECK(run.utc_now() == run.utc_end());
  CHECK(run.box(0).firmware().boot() == 2);
  // 2 s after the start and every minute for 2 h, then the same for the last hour.
  CHECK(run.box(0).firmware().held() == 120 + 60);
  CHECK(run.box(1).firmware().boot() == 2);
  CHECK(run.box(1).firmware().held() == 360 + 360);
}

TEST_CASE("SensorActionReachesItsChannelOnly") {
  RunSettings settings;
  settings.scenario = scenario_from_name("quick").value();
  settings.scenario.actions.clear();
  ScenarioAction broken;
  broken.kind = ActionKind::sensor_status;
  broken.target = 0;
  broken.channel = 4;
  broken.value = 3;  // open circuit
  settings.scenario.actions.push_back(broken);
  settings.pace = Pace::free;
  settings.boxes = {box_on("", 1, 71)};
  auto made = SimulationRun::create(settings);
  REQUIRE(made.has_value());
  SimulationRun& run = *made.value();
  run.run();
  const auto sample = run.box(0).sensors().measure(run.site_state(), micros_from_hours(3.0));
  CHECK(sample.statuses[4] == 3);
  CHECK(sample.statuses[3] == 0);
}

TEST_CASE("StopEndsARunAtOnce") {
  const TemporaryFolder folder;
  const auto run = standing_run(folder, {box_on(folder.file("tty"), 1, 77)});
  run->request_stop();
  CHECK(run->step(std::chrono::milliseconds{0}) == StepOutcome::ended);
}

TEST_CASE("LinksAndSocketGoWithTheRun") {
  const TemporaryFolder folder;
  {
    const auto run = standing_run(folder, {box_on(folder.file("tty"), 1, 77)});
    CHECK(std::filesystem::is_symlink(folder.file("tty")));
    CHECK(std::filesystem::exists(folder.file("time")));
  }
  CHECK_FALSE(std::filesystem::is_symlink(folder.file("tty")));
  CHECK_FALSE(std::filesystem::exists(folder.file("time")));
}
