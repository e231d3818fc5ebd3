#include "logger/app/commands/export_rows.hpp"

#include <algorithm>
#include <charconv>
#include <ostream>

#include "analysis/evidence/digest.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

using analysis::readiness::ChannelSetup;
using analysis::readiness::Quality;
using analysis::readiness::StillCount;
using store::Result;

namespace {

// RFC 4180: quoted where the separator, a quote or a line end is inside.
std::string cell(const std::string& text, char separator) {
  if (text.find_first_of(std::string{separator, '"', '\r', '\n'}) == std::string::npos) {
    return text;
  }
  std::string quoted = "\"";
  for (const char c : text) {
    quoted += c == '"' ? "\"\"" : std::string(1, c);
  }
  return quoted + '"';
}

std::string number(double value, int digits, char decimal) {
  std::array<char, 64> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value,
                                 std::chars_format::fixed, digits);
  std::string text(buffer.data(), end.ptr);
  std::replace(text.begin(), text.end(), '.', decimal);
  return text;
}

// All channels of the box, whatever room they are in.
std::vector<ChannelSetup> channels_of(const OpenedJob& opened, const JobBox& box,
                                      const JobRecords& records) {
  std::vector<ChannelSetup> channels;
  std::vector<JobRoom> rooms = opened.job.rooms;
  rooms.emplace_back();  // what belongs to no room is written as a room without an id
  for (const JobRoom& room : rooms) {
    for (ChannelSetup& channel : room_setup_from(opened.job, room, records).channels) {
      if (channel.box_id == box.id) {
        channels.push_back(std::move(channel));
      }
    }
  }
  std::sort(channels.begin(), channels.end(),
            [](const auto& a, const auto& b) { return a.channel_index < b.channel_index; });
  return channels;
}

std::string header(const std::vector<ChannelSetup>& channels, const ExportQuery& query) {
  std::string line = "time_utc";
  const auto add = [&](const std::string& name) {
    line += query.separator + cell(name, query.separator);
  };
  for (const char* name : {"time_error_s", "box_id", "boot", "sequence", "ticks_ms", "flags"}) {
    add(name);
  }
  for (const ChannelSetup& channel : channels) {
    add(channel.channel_id + "_raw_counts");
    add(channel.channel_id + '_' + std::string(file_unit_of(channel.scale.role)));
    add(channel.channel_id + "_quality");
  }
  return line + "\r\n";
}

// `still_counts`: one for each channel, kept from row to row.
std::string row(const Record& record, DatedTime at, const std::vector<ChannelSetup>& channels,
                std::vector<StillCount>& still_counts, const ExportQuery& query) {
  std::string line = analysis::base::rfc3339_from_utc(at.at);
  const auto add = [&](const std::string& text) {
    line += query.separator + cell(text, query.separator);
  };
  add(number(static_cast<double>(at.error.count()) * 1e-6, 3, query.decimal));
  add(query.box->id);
  add(std::to_string(record.id.boot));
  add(std::to_string(record.id.sequence));
  add(std::to_string(record.ticks_ms));
  add(std::to_string(record.flags));
  for (std::size_t i = 0; i < channels.size(); ++i) {
    const ChannelSetup& channel = channels[i];
    const auto index = static_cast<std::size_t>(channel.channel_index);
    const auto status = record.statuses[index];
    const auto value =
        still_counts[i].read(record, index, channel.scale, at.at, channel.calibrations);
    add(status == analysis::base::ChannelStatus::ok ? std::to_string(record.raw_counts[index])
                                                    : "");
    add(value.value ? number(*value.value, 3, query.decimal) : "");
    add(std::string(value.quality == Quality::status_not_ok ? name_of(status)
                                                            : name_of(value.quality)));
  }
  return line + "\r\n";
}

}  // namespace

Result<std::int64_t> write_export(OpenedJob& opened, const ExportQuery& query, std::ostream& out) {
  const auto records = job_records_from(*opened.store);
  if (!records) {
    return store::Failure{records.error()};
  }
  const auto channels = channels_of(opened, *query.box, records.value());
  std::vector<StillCount> still_counts(channels.size());
  out << header(channels, query);
  return visit_history(*opened.store, {{query.box->id}, query.from, query.to, {}},
                       [&](const std::string& /*box_id*/, const Record& record, DatedTime at) {
                         out << row(record, at, channels, still_counts, query);
                       });
}

std::string sha256_hex_of(std::string_view bytes) {
  return analysis::evidence::hex_from_digest(analysis::evidence::sha256_from_bytes(bytes));
}

}  // namespace logger::app
