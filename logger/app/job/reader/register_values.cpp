// What job.json says of a transmitter's registers.
#include "logger/app/job/reader/job_parts.hpp"

namespace logger::app {
namespace {

using ingest::RegisterSource;
using ingest::RegisterType;

RegisterType type_from_name(std::string_view name) {
  return name == "u16"   ? RegisterType::u16
         : name == "i32" ? RegisterType::i32
         : name == "u32" ? RegisterType::u32
         : name == "f32" ? RegisterType::f32
                         : RegisterType::i16;
}

RegisterSource source_from(const ObjectView& view) {
  RegisterSource source;
  source.function = static_cast<std::uint8_t>(view.whole_number("function").value_or(3));
  source.address = static_cast<std::uint16_t>(view.whole_number("address").value_or(0));
  source.type = type_from_name(view.text("type").value_or(""));
  source.word_order = view.text("word_order") == "low_first" ? ingest::WordOrder::low_first
                                                             : ingest::WordOrder::high_first;
  return source;
}

analysis::base::ChannelStatus status_from_name(std::string_view name) {
  using analysis::base::ChannelStatus;
  for (const auto status :
       {ChannelStatus::no_answer, ChannelStatus::open_circuit, ChannelStatus::short_circuit,
        ChannelStatus::out_of_range, ChannelStatus::warming_up}) {
    if (name_of(status) == name) {
      return status;
    }
  }
  return ChannelStatus::fault;
}

// Value in the file unit = factor * value in `unit` + zero.
struct UnitChange {
  double factor = 1.0;
  double zero = 0.0;
};
UnitChange change_from_unit(std::string_view unit) {
  if (unit == "fahrenheit") {
    return {5.0 / 9.0, -32.0 * 5.0 / 9.0};
  }
  return {unit == "rh_fraction" ? 100.0 : unit == "millivolt" ? 0.001 : 1.0, 0.0};
}

}  // namespace

std::optional<RegisterSource> register_from(const ObjectView& channel,
                                            analysis::readiness::ChannelScale& scale) {
  const ObjectView view = channel.object("register");
  if (!view.present()) {
    return std::nullopt;
  }
  RegisterSource source = source_from(view);
  for (const JsonNode& item : view.items("sentinels")) {
    const ObjectView sentinel(&item);
    source.sentinels.push_back({sentinel.number("raw").value_or(0.0),
                                status_from_name(sentinel.text("status").value_or(""))});
  }
  const UnitChange change = change_from_unit(view.text("unit").value_or(""));
  const double per_raw = view.number("scale").value_or(1.0);
  const double raw_per_count =
      source.type == RegisterType::f32 ? 1.0 / ingest::kCountsPerUnitOfFloat : 1.0;
  scale.units_per_count = change.factor * per_raw * raw_per_count;
  scale.value_at_zero = change.factor * view.number("offset").value_or(0.0) + change.zero;
  return source;
}

JobRegisters registers_from(const ObjectView& view) {
  JobRegisters registers;
  if (const auto within = view.whole_number("answer_within_milliseconds")) {
    registers.answer_within = std::chrono::milliseconds(*within);
  }
  const ObjectView identity = view.object("identity");
  if (identity.present()) {
    registers.identity = {source_from(identity), identity.number("raw").value_or(0.0)};
  }
  return registers;
}

}  // namespace logger::app
