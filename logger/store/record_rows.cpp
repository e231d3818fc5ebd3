#include "logger/store/record_rows.hpp"

namespace logger::store {
namespace {

using analysis::base::ChannelStatus;
using analysis::base::kMaxChannels;

constexpr int kFirstRawColumn = 5;
constexpr unsigned kStatusBits = 4;

std::uint32_t packed_statuses(const Record& record) {
  std::uint32_t packed = 0;
  for (std::size_t channel = 0; channel < kMaxChannels; ++channel) {
    packed |= static_cast<std::uint32_t>(record.statuses[channel]) << (kStatusBits * channel);
  }
  return packed;
}

std::string name_of_record(const Record& record) {
  return "record of boot " + std::to_string(record.id.boot) + ", sequence " +
         std::to_string(record.id.sequence);
}

}  // namespace

std::optional<std::string> unfit_record(const Record& record) {
  if (record.id.sequence < 0) {
    return name_of_record(record) + ": a sequence is 0 or more";
  }
  for (std::size_t channel = 0; channel < kMaxChannels; ++channel) {
    const unsigned status = static_cast<unsigned>(record.statuses[channel]);
    if (status >= (1U << kStatusBits)) {
      return name_of_record(record) + ": channel " + std::to_string(channel) + " has status " +
             std::to_string(status) + ", expected 0..15";
    }
  }
  return std::nullopt;
}

Record as_stored(Record record) {
  for (std::size_t channel = 0; channel < kMaxChannels; ++channel) {
    if (record.statuses[channel] == ChannelStatus::not_fitted) {
      record.raw_counts[channel] = 0;
    }
  }
  return record;
}

Record record_from_row(Statement& row) {
  Record record;
  record.id.boot = row.number<std::uint32_t>(0);
  record.id.sequence = row.integer(1);
  record.ticks_ms = row.integer(2);
  record.flags = row.number<std::uint16_t>(3);
  const auto packed = row.number<std::uint32_t>(4);
  for (std::size_t channel = 0; channel < kMaxChannels; ++channel) {
    record.statuses[channel] =
        static_cast<ChannelStatus>((packed >> (kStatusBits * channel)) & 0xfU);
    record.raw_counts[channel] =
        row.number<std::int32_t>(kFirstRawColumn + static_cast<int>(channel));  // NULL reads as 0
  }
  return record;
}

Result<RecordInsert> RecordInsert::open(Connection& connection, std::int64_t box) {
  static const std::string insert_sql =
      std::string("INSERT INTO records (box, ") + kRecordColumns +
      ") VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING";
  static const std::string find_sql = std::string("SELECT ") + kRecordColumns +
                                      " FROM records WHERE box = ? AND boot = ? AND sequence = ?";
  const Result<Statement*> insert = connection.kept(insert_sql);
  if (!insert) {
    return Failure{insert.error()};
  }
  const Result<Statement*> find = connection.kept(find_sql);
  if (!find) {
    return Failure{find.error()};
  }
  return RecordInsert{connection, *insert.value(), *find.value(), box};
}

Result<RecordFate> RecordInsert::add(const Record& record) {
  const Query query{insert_};
  query->bind(box_)
      .bind(std::int64_t{record.id.boot})
      .bind(record.id.sequence)
      .bind(record.ticks_ms)
      .bind(std::int64_t{record.flags})
      .bind(std::int64_t{packed_statuses(record)});
  for (std::size_t channel = 0; channel < kMaxChannels; ++channel) {
    if (record.statuses[channel] == ChannelStatus::not_fitted) {
      query->bind_null();
    } else {
      query->bind(std::int64_t{record.raw_counts[channel]});
    }
  }
  if (const Result<void> done = query->run(); !done) {
    return Failure{done.error()};
  }
  return connection_.rows_changed() == 1 ? RecordFate::inserted : compare(record);
}

Result<RecordFate> RecordInsert::compare(const Record& record) {
  const Query query{find_};
  query->bind(box_).bind(std::int64_t{record.id.boot}).bind(record.id.sequence);
  const Result<bool> row = query->step();
  if (!row) {
    return Failure{row.error()};
  }
  const bool same = row.value() && record_from_row(*query) == as_stored(record);
  return same && !query->misfit() ? RecordFate::repeated : RecordFate::conflicting;
}

}  // namespace logger::store
