#include "logger/ingest/tcp_line.hpp"

#include <algorithm>
#include <boost/asio/buffer.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/ip/address.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <utility>

#include "firmware-sim/core/modbus_frame.hpp"

namespace logger::ingest {

namespace asio = boost::asio;
namespace core = firmware::core;
using asio::ip::tcp;
using store::failure;

namespace {

constexpr Micros kConnectTime{5'000'000};
constexpr Micros kSwitchingTime{200'000};
constexpr std::int64_t kMicrosOfACharacter = 1'146;  // 11 bits at 9600 baud
// Transaction number, protocol 0, length of what follows, unit.
constexpr std::size_t kHeader = 7;
constexpr std::size_t kCountedBefore = 6;  // bytes that the length does not count
constexpr std::size_t kShortestCounted = 3;
constexpr std::size_t kLongestCounted = 1 + core::kMaxPdu;
constexpr std::size_t kCheckSum = 2;

std::uint16_t u16_at(std::span<const std::uint8_t> bytes, std::size_t place) {
  return static_cast<std::uint16_t>(bytes[place] << 8U | bytes[place + 1]);
}

}  // namespace

struct TcpLine::Connection {
  Connection(asio::io_context& loop, TcpLine& owner) : socket(loop), line(&owner) {}
  tcp::socket socket;
  TcpLine* line;  // nullptr = given up
  bool established = false;
  std::vector<std::uint8_t> received;
};

TcpLine::TcpLine(asio::io_context& loop, Clock& clock, TcpSettings settings)
    : loop_(loop),
      clock_(clock),
      settings_(std::move(settings)),
      signal_(loop.get_executor()),
      lost_{ErrorCode::unavailable, "was not connected yet", 0} {}

TcpLine::~TcpLine() { close(); }

std::string TcpLine::name() const {
  const bool v6 = settings_.address.find(':') != std::string::npos;
  return (v6 ? "[" + settings_.address + "]" : settings_.address) + ":" +
         std::to_string(settings_.port);
}

Micros TcpLine::carrying_time(std::size_t bytes) const {
  return Micros{static_cast<std::int64_t>(bytes) * kMicrosOfACharacter} + kSwitchingTime;
}

void TcpLine::drop(const std::string& reason, int os_errno) {
  if (connection_) {
    boost::system::error_code ignored;
    connection_->line = nullptr;
    connection_->socket.close(ignored);
    connection_.reset();
  }
  ++failures_;
  next_attempt_at_ = clock_.monotonic_now() + reopen_delay(failures_);
  lost_ = {ErrorCode::unavailable, reason, os_errno};
  signal_.raise();
}

void TcpLine::close() {
  drop("was closed", 0);
  failures_ = 0;
  next_attempt_at_.reset();
}

store::Failure TcpLine::unavailable() const {
  return failure(ErrorCode::unavailable, "adapter " + name() + " " + lost_.context, lost_.os_errno);
}

asio::awaitable<void> TcpLine::establish(std::shared_ptr<Connection> connection,
                                         tcp::endpoint end) {
  boost::system::error_code ec;
  co_await connection->socket.async_connect(end, asio::redirect_error(asio::use_awaitable, ec));
  if (connection->line == nullptr) {
    co_return;
  }
  if (!ec) {
    connection->socket.set_option(tcp::no_delay(true), ec);
  }
  if (!ec) {
    connection->socket.non_blocking(true, ec);
  }
  if (ec) {
    connection->line->drop("cannot be connected: " + ec.message(), ec.value());
    co_return;
  }
  connection->established = true;
  connection->line->signal_.raise();
  co_await read_until_closed(connection);
}

asio::awaitable<void> TcpLine::read_until_closed(std::shared_ptr<Connection> connection) {
  std::array<std::uint8_t, 512> bytes{};
  while (connection->line != nullptr) {
    boost::system::error_code ec;
    const std::size_t count = co_await connection->socket.async_read_some(
        asio::buffer(bytes), asio::redirect_error(asio::use_awaitable, ec));
    TcpLine* const line = connection->line;
    if (line == nullptr) {
      co_return;
    }
    if (ec) {
      line->drop(ec == asio::error::eof ? "closed the connection" : "was lost: " + ec.message(),
                 ec.value());
      co_return;
    }
    auto& received = connection->received;
    received.insert(received.end(), bytes.begin(),
                    bytes.begin() + static_cast<std::ptrdiff_t>(count));
    // Whatever babbles between exchanges must not fill the memory.
    if (received.size() > 4 * core::kMaxRtuFrame + bytes.size()) {
      line->drop("sends more than was asked", 0);
      co_return;
    }
    line->signal_.raise();
  }
}

asio::awaitable<Result<void>> TcpLine::open() {
  if (connection_ && connection_->established) {
    co_return Result<void>{};
  }
  if (next_attempt_at_ && clock_.monotonic_now() < *next_attempt_at_) {
    co_return unavailable();
  }
  boost::system::error_code ec;
  const auto address = asio::ip::make_address(settings_.address, ec);
  if (ec) {
    drop("is no IP address", 0);
    co_return unavailable();
  }
  connection_ = std::make_shared<Connection>(loop_, *this);
  asio::co_spawn(loop_, establish(connection_, tcp::endpoint(address, settings_.port)),
                 asio::detached);
  bool passed = false;
  const auto timer = clock_.call_after(kConnectTime, [this, &passed] {
    passed = true;
    signal_.raise();
  });
  while (connection_ && !connection_->established && !passed) {
    co_await signal_.wait();
  }
  clock_.cancel(timer);
  if (connection_ && !connection_->established) {
    drop("does not take a connection within 5 s", 0);
  }
  if (!connection_) {
    co_return unavailable();
  }
  co_return Result<void>{};
}

// A request is far smaller than the buffer of any connection, so one that does not take it whole at
// once is stuck.
bool TcpLine::send(std::span<const std::uint8_t> request) {
  const std::size_t pdu = request.size() - 1 - kCheckSum;
  ++number_;
  std::vector<std::uint8_t> bytes{
      static_cast<std::uint8_t>(number_ >> 8U),   static_cast<std::uint8_t>(number_ & 0xffU),  0, 0,
      static_cast<std::uint8_t>((pdu + 1) >> 8U), static_cast<std::uint8_t>((pdu + 1) & 0xffU)};
  bytes.insert(bytes.end(), request.begin(), request.end() - kCheckSum);
  boost::system::error_code ec;
  const std::size_t written = connection_->socket.write_some(asio::buffer(bytes), ec);
  if (written == bytes.size()) {
    return true;
  }
  drop(ec && ec != asio::error::would_block ? "was lost: " + ec.message() : "takes no bytes",
       ec.value());
  return false;
}

asio::awaitable<Result<std::vector<std::uint8_t>>> TcpLine::exchange(
    std::span<const std::uint8_t> request, Micros deadline) {
  if (auto opened = co_await open(); !opened) {
    co_return store::Failure{opened.error()};
  }
  if (!send(request)) {
    co_return unavailable();
  }
  bool passed = false;
  const auto timer = clock_.call_after(deadline, [this, &passed] {
    passed = true;
    signal_.raise();
  });
  Result<std::optional<std::vector<std::uint8_t>>> reply{std::nullopt};
  while (true) {
    if (!connection_) {
      break;
    }
    reply = take_reply(request);
    if (!reply || reply.value() || passed) {
      break;
    }
    co_await signal_.wait();
  }
  clock_.cancel(timer);
  if (!reply) {
    co_return store::Failure{reply.error()};
  }
  if (reply.value()) {
    failures_ = 0;
    co_return std::move(*reply.value());
  }
  if (!connection_) {
    co_return unavailable();
  }
  co_return failure(ErrorCode::timeout,
                    "no answer within " + std::to_string(deadline.count() / 1000) + " ms");
}

Result<std::optional<std::vector<std::uint8_t>>> TcpLine::take_reply(
    std::span<const std::uint8_t> request) {
  using Reply = std::optional<std::vector<std::uint8_t>>;
  auto& received = connection_->received;
  while (received.size() >= kHeader) {
    const std::size_t counted = u16_at(received, 4);
    if (u16_at(received, 2) != 0 || counted < kShortestCounted || counted > kLongestCounted) {
      drop("sends what is no Modbus TCP", 0);  // where the next frame begins can't be told
      return Reply{};
    }
    if (received.size() < kCountedBefore + counted) {
      return Reply{};
    }
    const std::uint16_t number = u16_at(received, 0);
    std::vector<std::uint8_t> frame(counted + kCheckSum);
    std::copy_n(received.begin() + kCountedBefore, counted, frame.begin());
    received.erase(received.begin(),
                   received.begin() + static_cast<std::ptrdiff_t>(kCountedBefore + counted));
    if (number != number_) {
      continue;  // to a request that was given up
    }
    if (frame[0] != request[0]) {
      return failure(ErrorCode::corrupt, "unit " + std::to_string(frame[0]) + " answered, unit " +
                                             std::to_string(request[0]) + " was asked");
    }
    if ((frame[1] & ~core::kExceptionBit) != request[1]) {
      return failure(ErrorCode::corrupt, "a reply to function " + std::to_string(frame[1]) +
                                             ", function " + std::to_string(request[1]) +
                                             " was asked");
    }
    std::size_t length = 0;
    const auto sealed = core::seal_rtu(frame[0], counted - 1, frame, length);
    return sealed == core::FrameStatus::ok
               ? Result<Reply>{Reply{std::move(frame)}}
               : failure(ErrorCode::corrupt, "a reply that is too long");
  }
  return Reply{};
}

}  // namespace logger::ingest
