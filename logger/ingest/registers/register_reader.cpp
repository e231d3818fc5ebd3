#include "logger/ingest/registers/register_reader.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cstdio>

#include "logger/ingest/round_trip.hpp"

namespace logger::ingest {

namespace asio = boost::asio;
namespace core = firmware::core;
using analysis::base::ChannelStatus;
using analysis::base::Record;
using analysis::base::RecordId;
using store::Failure;

namespace {

std::vector<RegisterSource> sources_of(const RegisterDevice& device) {
  std::vector<RegisterSource> sources;
  for (const RegisterChannel& channel : device.channels) {
    sources.push_back(channel.source);
  }
  return sources;
}

core::Request read_of(const RegisterSpan& span) {
  return {0, span.function, span.address, span.quantity, {}};
}

bool covers(const RegisterSpan& span, const RegisterSource& source) {
  return span.function == source.function && source.address >= span.address &&
         source.address + registers_of(source.type) <= span.address + span.quantity;
}

// "4711"; whole numbers without a fraction.
std::string plain(double value) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), "%.10g", value);
  return text.data();
}

}  // namespace

RegisterReader::RegisterReader(ModbusLine& line, Clock& clock, RegisterDevice device)
    : master_(line, device.address),
      clock_(clock),
      device_(std::move(device)),
      spans_(spans_from_sources(sources_of(device_))) {}

asio::awaitable<Result<void>> RegisterReader::check_identity() {
  if (!device_.identity) {
    co_return Result<void>{};
  }
  const RegisterSource& source = device_.identity->source;
  const core::Request request =
      read_of({source.function, source.address, registers_of(source.type)});
  const auto answer = co_await master_.ask(request);
  if (!answer) {
    co_return Failure{answer.error()};
  }
  if (answer.value().exception_code != 0) {
    co_return master_.failure_in_device(
        error_from_exception(answer.value().exception_code, request));
  }
  const double got = raw_from_registers(source, answer.value().register_bytes);
  if (got != device_.identity->raw) {
    co_return master_.failure_in_device({ErrorCode::not_found,
                                         "another device answers: its identity register holds " +
                                             plain(got) + ", expected " +
                                             plain(device_.identity->raw),
                                         0});
  }
  co_return Result<void>{};
}

// The moment of a poll is the middle of its exchanges; all of them lie within the error.
asio::awaitable<Result<void>> RegisterReader::poll() {
  // Opened before, so that the wait for a line is not in the round trip.
  if (auto opened = co_await master_.open(); !opened) {
    co_return Failure{opened.error()};
  }
  if (auto same = co_await check_identity(); !same) {
    co_return Failure{same.error()};
  }
  RoundTrip round_trip(clock_);
  Record record;
  record.statuses.fill(ChannelStatus::not_fitted);
  std::string refusal;
  for (const RegisterSpan& span : spans_) {
    const auto answer = co_await master_.ask(read_of(span));
    if (!answer) {
      co_return Failure{answer.error()};
    }
    if (answer.value().exception_code != 0 && refusal.empty()) {
      refusal = error_from_exception(answer.value().exception_code, read_of(span)).context +
                "; check function and address of its registers in job.json";
    }
    for (const RegisterChannel& channel : device_.channels) {
      if (!covers(span, channel.source)) {
        continue;
      }
      RegisterReading reading;  // refused: no answer
      if (answer.value().exception_code == 0) {
        const std::size_t first = 2U * (channel.source.address - span.address);
        reading = reading_from_registers(
            channel.source, std::span(answer.value().register_bytes)
                                .subspan(first, 2U * registers_of(channel.source.type)));
      }
      record.statuses[channel.index] = reading.status;
      record.raw_counts[channel.index] = reading.raw_count;
    }
  }
  refusal_ = std::move(refusal);
  round_trip.end();
  record.id = {boot_, ++sequence_};
  record.ticks_ms = (round_trip.middle() - session_began_).count() / 1000;
  exchange_ = round_trip.exchange(record.ticks_ms);
  keep(record);
  co_return Result<void>{};
}

void RegisterReader::keep(Record record) {
  if (waiting_.size() == kMostWaiting) {
    const std::int64_t lost = waiting_.front().id.sequence;
    waiting_.pop_front();
    if (lost_.empty() || lost_.back().last_sequence + 1 != lost) {
      lost_.push_back({device_.address.box_id, boot_, lost, lost, store::GapReason::overflow,
                       clock_.utc_now()});
    }
    lost_.back().last_sequence = lost;
  }
  waiting_.push_back(record);
}

asio::awaitable<Result<Harvest>> RegisterReader::collect(std::optional<RecordId> after,
                                                         std::size_t max_records) {
  assert(max_records > 0);
  Harvest harvest;
  harvest.rebooted = boot_ == 0 && after;
  if (boot_ == 0) {
    boot_ = after ? after->boot + 1 : 1;
    session_began_ = clock_.monotonic_now();
  }
  // What could not be committed before gets on first.
  Result<void> polled;
  if (waiting_.size() <= max_records) {
    polled = co_await poll();
  }
  if (!polled && waiting_.empty()) {
    co_return Failure{polled.error()};
  }
  if (!polled) {
    harvest.warnings.push_back(polled.error());
  }
  harvest.exchange = {boot_, *exchange_};
  for (const Record& record : waiting_) {
    if ((!after || *after < record.id) && harvest.records.size() < max_records) {
      harvest.records.push_back(record);
    }
  }
  harvest.gaps = lost_;
  harvest.refusal = refusal_;
  if (!harvest.records.empty()) {
    harvest.release_through = harvest.records.back().id;
    harvest.more = harvest.records.back().id < waiting_.back().id;
  }
  co_return harvest;
}

asio::awaitable<Result<void>> RegisterReader::release(RecordId last) {
  while (!waiting_.empty() && waiting_.front().id <= last) {
    waiting_.pop_front();
  }
  lost_.clear();
  co_return Result<void>{};
}

}  // namespace logger::ingest
