// What a transmitter's entry means, and what is wrong with one, word for word.
#include <catch2/catch.hpp>

#include "tests/app/job_texts.hpp"

using namespace logger::app;
using namespace job_tests;
using logger::ingest::RegisterType;
using logger::ingest::WordOrder;

namespace {

// A second box, on line 19.
std::string with_box(const std::string& box) {
  return with(kShortest, "     ]\n    }\n", "     ]\n    },\n    " + box + "\n");
}
std::string transmitter(const std::string& keys, const std::string& reg) {
  return with_box("{\"id\": \"tx\", " + keys +
                  R"(, "channels": [{"index": 0, "id": "out", "role": "outdoor_temperature")" +
                  reg + "}]}");
}
const std::string kRegister =
    R"(, "register": {"function": 4, "address": 1, "type": "i16", "unit": "celsius"})";
const std::string kAtPort = R"("registers": {}, "port": "/dev/ttyS1", "unit": 7)";

JobBox box_of(const std::string& text) {
  const JobReading reading = job_from_text(text, "job.json");
  CHECK(lines_of(reading.errors) == Lines{});
  REQUIRE(reading.job);
  return reading.job->boxes.at(1);
}
// What a raw count of that register is, in the file unit.
double value_of(const std::string& reg, double count) {
  const auto scale = box_of(transmitter(kAtPort, reg)).channels[0].scale;
  return count * scale.units_per_count + scale.value_at_zero;
}
Lines errors_of_register(const std::string& reg) { return errors_of(transmitter(kAtPort, reg)); }

}  // namespace

TEST_CASE("A transmitter is read as it is written") {
  const JobBox box = box_of(transmitter(
      R"("registers": {"answer_within_milliseconds": 250, "identity": {"function": 3, )"
      R"("address": 100, "type": "u32", "word_order": "low_first", "raw": 4711}}, )"
      R"("port": "/dev/ttyS1", "unit": 7, "baud": 9600, "parity": "even", "stop_bits": 2)",
      R"(, "register": {"function": 4, "address": 1, "type": "f32", "word_order": "low_first", )"
      R"("unit": "celsius", "sentinels": [{"raw": -999.9, "status": "open_circuit"}]})"));
  CHECK(box.serial == 0);
  CHECK(box.unit == 7);
  CHECK(box.parity == logger::ingest::Parity::even);
  CHECK(box.stop_bits == 2);
  REQUIRE(box.registers);
  CHECK(box.registers->answer_within == std::chrono::milliseconds(250));
  REQUIRE(box.registers->identity);
  CHECK(box.registers->identity->source.address == 100);
  CHECK(box.registers->identity->source.word_order == WordOrder::low_first);
  CHECK(box.registers->identity->raw == 4711);
  REQUIRE(box.channels[0].source);
  CHECK(box.channels[0].source->function == 4);
  CHECK(box.channels[0].source->type == RegisterType::f32);
  REQUIRE(box.channels[0].source->sentinels.size() == 1);
  CHECK(box.channels[0].source->sentinels[0].status == analysis::base::ChannelStatus::open_circuit);
  CHECK_FALSE(box.channels[0].scale.frozen_after);
}

TEST_CASE("Scale, offset and unit lead to the file unit once") {
  const auto reg = [](const std::string& rest) {
    return R"(, "register": {"function": 3, "address": 0, "type": )" + rest + "}";
  };
  CHECK(value_of(reg(R"("i16", "unit": "celsius", "scale": 0.1)"), -200) == Approx(-20.0));
  CHECK(value_of(reg(R"("u16", "unit": "celsius", "scale": 0.1, "offset": -40)"), 615) ==
        Approx(21.5));
  // -40 is the same on both scales; 69.8 degF are 21 degC.
  CHECK(value_of(reg(R"("i16", "unit": "fahrenheit", "scale": 0.1)"), -400) == Approx(-40.0));
  CHECK(value_of(reg(R"("i16", "unit": "fahrenheit", "scale": 0.1)"), 698) == Approx(21.0));
  CHECK(value_of(reg(R"("f32", "word_order": "high_first", "unit": "celsius")"), 21500) ==
        Approx(21.5));
  const auto rh = with(transmitter(kAtPort, reg(R"("f32", "word_order": "high_first", )"
                                                R"("unit": "rh_fraction")")),
                       "\"outdoor_temperature\"", "\"outdoor_rh\"");
  CHECK(1000 * box_of(rh).channels[0].scale.units_per_count == Approx(100.0));  // 1.000
}

TEST_CASE("The place of a box is a port or a host") {
  CHECK(box_of(transmitter(R"("registers": {}, "host": "192.0.2.7")", kRegister)).tcp_port == 502);
  CHECK(box_of(with_box(R"({"id": "b2", "serial": 9, "host": "2001:db8::7", "tcp_port": 5020, )"
                        R"("channels": [{"index": 0, "id": "v", "role": "supply_voltage"}]})"))
            .host == "2001:db8::7");
  CHECK(errors_of(
            transmitter(R"("registers": {}, "host": "adapter.local", "baud": 9600)", kRegister)) ==
        Lines{"job.json:19: boxes[1].baud: a box behind \"host\" has no serial device of this "
              "machine; leave this out",
              "job.json:19: boxes[1].host: \"adapter.local\" is no IP address in figures, such as "
              "192.168.1.20; names are not looked up, so that a name server can't stop the log"});
  CHECK(errors_of(transmitter(kAtPort + R"(, "tcp_port": 502)", kRegister)) ==
        Lines{"job.json:19: boxes[1].tcp_port: only a box with \"host\" has one; leave this out"});
}

TEST_CASE("A transmitter has no serial number, and a probe box no register") {
  CHECK(errors_of(transmitter(kAtPort + R"(, "serial": 8)", kRegister)) ==
        Lines{"job.json:19: boxes[1].serial: a transmitter with \"registers\" tells no serial "
              "number of a probe box; leave this out, and name an \"identity\" register where its "
              "papers have one"});
  CHECK(errors_of_register("") ==
        Lines{"job.json:19: boxes[1].channels[0].register: required key is missing: every channel "
              "of a box with \"registers\" says where its value stands"});
  CHECK(errors_of(with(kShortest, "\"role\": \"room_air_rh\"",
                       "\"role\": \"room_air_rh\"" + kRegister)) ==
        Lines{"job.json:15: boxes[0].channels[1].register: only a box with \"registers\" is read "
              "by register; leave this out"});
}

TEST_CASE("A register that can't be is told") {
  const auto reg = [](const std::string& from, const std::string& to) {
    return with(kRegister, from, to);
  };
  const std::string at = "job.json:19: boxes[1].channels[0].register.";
  CHECK(errors_of_register(reg("\"i16\"", "\"f32\"")) ==
        Lines{at + "word_order: required key is missing: which of the two registers comes first, "
                   "\"high_first\" or \"low_first\"; both are in use"});
  CHECK(errors_of_register(reg("\"i16\"", "\"i16\", \"word_order\": \"low_first\"")) ==
        Lines{at + "word_order: a 16-bit value has one register; leave this out"});
  CHECK(errors_of_register(reg("\"celsius\"", "\"percent_rh\"")) ==
        Lines{at + "unit: \"percent_rh\" does not fit a outdoor_temperature channel; expected "
                   "\"celsius\" or \"fahrenheit\""});
  CHECK(errors_of_register(reg("\"celsius\"", "\"celsius\", \"scale\": 0")) ==
        Lines{at + "scale: 0 makes every value the same; expected the unit's worth of one count"});
  CHECK(errors_of_register(reg("\"celsius\"",
                               "\"celsius\", \"sentinels\": [{\"raw\": 65535, "
                               "\"status\": \"fault\"}]")) ==
        Lines{at + "sentinels[0].raw: 65535 is no value that \"i16\" can have"});
  CHECK(errors_of_register(reg("\"address\": 1, \"type\": \"i16\"",
                               "\"address\": 65535, \"type\": \"u32\", \"word_order\": "
                               "\"low_first\"")) ==
        Lines{at + "address: 65535 is the last register, but a 32-bit value takes two"});
  CHECK(errors_of_register(reg("\"function\": 4", "\"function\": 6")) ==
        Lines{at + "function: 6 is outside 3..4"});
}

TEST_CASE("A line has one setting, and twins without a name are warned of") {
  CHECK(errors_of(transmitter(
            R"("registers": {}, "port": "/dev/ttyS0", "unit": 7, "parity": "even")", kRegister)) ==
        Lines{"job.json:19: boxes[1].parity: parity and stop_bits differ from those of another box "
              "on \"/dev/ttyS0\"; one line has one setting"});
  const std::string two =
      with(transmitter(kAtPort, kRegister), "{\"id\": \"tx\"",
           R"({"id": "ty", "registers": {}, "port": "/dev/ttyS2", "unit": 7, "channels": )"
           R"([{"index": 0, "id": "out2", "role": "outdoor_temperature")" +
               kRegister + "}]},\n    {\"id\": \"tx\"");
  const Lines warnings = warnings_of(two);
  CHECK(warnings.size() == 2);
  CHECK(warnings.at(0) ==
        "job.json:19: boxes[1].registers: another transmitter has unit 7 too, so that swapped "
        "ports would go unnoticed; name an \"identity\" register, or give each a unit of its own");
}

TEST_CASE("Room air of a probe box that stands still for three hours is not believed") {
  const JobReading reading = job_from_text(kShortest, "job.json");
  REQUIRE(reading.job);
  const auto& channels = reading.job->boxes[0].channels;
  CHECK(channels[0].scale.frozen_after == analysis::base::micros_from_hours(3));
  CHECK(channels[1].scale.frozen_after == analysis::base::micros_from_hours(3));
  CHECK_FALSE(channels[2].scale.frozen_after);
}

TEST_CASE("An address that looks like a number of the papers is warned of") {
  const auto warning = [](const std::string& function, const std::string& address) {
    return warnings_of(
        transmitter(kAtPort, with(with(kRegister, "\"function\": 4", "\"function\": " + function),
                                  "\"address\": 1", "\"address\": " + address)));
  };
  CHECK(warning("4", "30002") ==
        Lines{"job.json:19: boxes[1].channels[0].register.address: 30002 looks like a register's "
              "number in papers that count from 30001; the address would be 1"});
  CHECK(warning("3", "40001").size() == 1);
  CHECK(warning("3", "30002").empty());
  CHECK(warning("4", "30000").empty());
}
