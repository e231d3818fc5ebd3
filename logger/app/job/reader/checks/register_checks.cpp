#include <array>
#include <limits>

#include "logger/app/job/reader/job_parts.hpp"
#include "logger/app/job/reader/keys/key_check.hpp"

namespace logger::app {
namespace {

using ingest::RegisterType;

struct RawRange {
  double low;
  double high;
};
RawRange range_of(RegisterType type) {
  switch (type) {
    case RegisterType::i16:
      return {std::numeric_limits<std::int16_t>::min(), std::numeric_limits<std::int16_t>::max()};
    case RegisterType::u16:
      return {0.0, std::numeric_limits<std::uint16_t>::max()};
    case RegisterType::i32:
      return {std::numeric_limits<std::int32_t>::min(), std::numeric_limits<std::int32_t>::max()};
    case RegisterType::u32:
      return {0.0, std::numeric_limits<std::uint32_t>::max()};
    case RegisterType::f32:
      break;
  }
  return {std::numeric_limits<float>::lowest(), std::numeric_limits<float>::max()};
}

bool is_whole(double value) {
  return value == static_cast<double>(static_cast<std::int64_t>(value));
}

// The words of an integer and the type must allow the value; a float may be anything.
void check_raw(const ObjectView& view, const std::string& path, RegisterType type,
               const std::string& type_name, Findings& findings) {
  const auto raw = view.number("raw");
  const RawRange range = range_of(type);
  if (raw &&
      (*raw < range.low || *raw > range.high || (type != RegisterType::f32 && !is_whole(*raw)))) {
    findings.add_error(
        view.line_of("raw"), key_path(path, "raw"),
        value_text(*raw, "raw") + " is no value that " + in_quotes(type_name) + " can have");
  }
}

// Type, address and word order, which belong together.
void check_place(const ObjectView& view, const std::string& path,
                 const ingest::RegisterSource& source, Findings& findings) {
  const bool is_wide = registers_of(source.type) == 2;
  if (!view.text("type")) {
    return;
  }
  if (is_wide && !view.has("word_order")) {
    findings.add_error(view.line_of("word_order"), key_path(path, "word_order"),
                       "required key is missing: which of the two registers comes first, "
                       "\"high_first\" or \"low_first\"; both are in use");
  }
  if (!is_wide && view.has("word_order")) {
    findings.add_error(view.line_of("word_order"), key_path(path, "word_order"),
                       "a 16-bit value has one register; leave this out");
  }
  if (is_wide && source.address == std::numeric_limits<std::uint16_t>::max()) {
    findings.add_error(view.line_of("address"), key_path(path, "address"),
                       "65535 is the last register, but a 32-bit value takes two");
  }
}

// Papers that number registers from 30001 or 40001 mean address 0 by it.
void warn_of_counting(const ObjectView& view, const std::string& path,
                      const ingest::RegisterSource& source, Findings& findings) {
  const int first = source.function == 4 ? 30001 : 40001;
  if (view.whole_number("address") && source.address >= first && source.address < first + 9999) {
    findings.add_warning(view.line_of("address"), key_path(path, "address"),
                         std::to_string(source.address) +
                             " looks like a register's number in "
                             "papers that count from " +
                             std::to_string(first) + "; the address would be " +
                             std::to_string(source.address - first));
  }
}

void check_unit(const JobChannel& channel, const ObjectView& view, const std::string& path,
                Findings& findings) {
  const std::string_view unit = analysis::base::file_unit_of(channel.scale.role);
  const std::string other = unit == "celsius"      ? "fahrenheit"
                            : unit == "percent_rh" ? "rh_fraction"
                                                   : "millivolt";
  const auto written = view.text("unit");
  if (written && *written != unit && *written != other) {
    findings.add_error(view.line_of("unit"), key_path(path, "unit"),
                       in_quotes(*written) + " does not fit a " +
                           std::string(name_of(channel.scale.role)) + " channel; expected " +
                           in_quotes(unit) + " or " + in_quotes(other));
  }
  if (view.number("scale") == 0.0) {
    findings.add_error(view.line_of("scale"), key_path(path, "scale"),
                       "0 makes every value the same; expected the unit's worth of one count");
  }
}

void check_channel_register(const JobChannel& channel, const ObjectView& view,
                            const std::string& path, Findings& findings) {
  const ObjectView written = view.object("register");
  const std::string register_path = key_path(path, "register");
  if (!view.has("register")) {
    findings.add_error(view.line_of("register"), register_path,
                       "required key is missing: every channel of a box with \"registers\" says "
                       "where its value stands");
    return;
  }
  if (!written.present()) {
    return;  // refused before
  }
  if (view.has("units_per_count")) {
    findings.add_error(view.line_of("units_per_count"), key_path(path, "units_per_count"),
                       "a channel with \"register\" has its \"scale\" there; leave this out");
  }
  check_place(written, register_path, *channel.source, findings);
  warn_of_counting(written, register_path, *channel.source, findings);
  check_unit(channel, written, register_path, findings);
  const std::vector<JsonNode>& sentinels = written.items("sentinels");
  for (std::size_t i = 0; i < sentinels.size(); ++i) {
    check_raw(ObjectView(&sentinels[i]), item_path(key_path(register_path, "sentinels"), i),
              channel.source->type, written.text("type").value_or("i16"), findings);
  }
}

}  // namespace

void check_registers(const JobBox& box, const ObjectView& view, const std::string& path,
                     Findings& findings) {
  const std::vector<JsonNode>& channels = view.items("channels");
  for (std::size_t i = 0; i < channels.size(); ++i) {
    check_channel_register(box.channels[i], ObjectView(&channels[i]),
                           item_path(key_path(path, "channels"), i), findings);
  }
  const ObjectView identity = view.object("registers").object("identity");
  if (identity.present() && box.registers->identity) {
    const std::string identity_path = key_path(path, "registers.identity");
    const ingest::RegisterSource& source = box.registers->identity->source;
    check_place(identity, identity_path, source, findings);
    check_raw(identity, identity_path, source.type, identity.text("type").value_or("i16"),
              findings);
  }
}

}  // namespace logger::app
