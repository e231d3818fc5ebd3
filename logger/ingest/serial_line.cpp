#include "logger/ingest/serial_line.hpp"

#include <sys/file.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <boost/asio/buffer.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <cerrno>
#include <cstring>
#include <utility>

#include "firmware-sim/core/modbus_frame.hpp"

namespace logger::ingest {

namespace asio = boost::asio;
namespace core = firmware::core;
using store::failure;

namespace {

// How long a line must be silent after an exchange that failed, so that its late reply is not taken
// for the next one; and how long to wait for that at most on a line that babbles.
constexpr Micros kSilenceAfterFailure{200'000};
constexpr Micros kLongestWaitForSilence{1'000'000};
constexpr int kBitsPerCharacter = 11;  // at most: start, 8 data, parity or second stop, stop

// Why a port can't be opened, and what to do about it.
std::string opening_fault(int os_errno) {
  switch (os_errno) {
    case ENOENT:
      return "is not there; plug the adapter in, or name its port in job.json";
    case EACCES:
      return "may not be opened by this user; give it access to serial ports";
    case ENOTTY:
    case EISDIR:
      return "is no serial device; name the adapter's port in job.json";
    default:
      return std::string("cannot be opened: ") + std::strerror(os_errno);
  }
}

// Unix98 pseudo-terminals, Linux Documentation/admin-guide/devices.txt.
bool is_pseudo_terminal(int fd) {
  struct stat status {};
  return ::fstat(fd, &status) == 0 && major(status.st_rdev) >= 136 && major(status.st_rdev) <= 143;
}

asio::serial_port_base::parity::type asio_parity(Parity parity) {
  using Port = asio::serial_port_base;
  switch (parity) {
    case Parity::even:
      return Port::parity::even;
    case Parity::odd:
      return Port::parity::odd;
    case Parity::none:
      break;
  }
  return Port::parity::none;
}

std::string name_of(Parity parity) {
  return parity == Parity::none ? "no" : parity == Parity::even ? "even" : "odd";
}

// Keeps other programs out. The lock ends with this process, however it ends.
int take_alone(int fd) {
  if (::flock(fd, LOCK_EX | LOCK_NB) != 0) {
    return errno;
  }
  // A pseudo-terminal stays exclusive as long as its other end is open, so that nobody but root
  // could reopen it; the lock has to do there.
  if (!is_pseudo_terminal(fd) && ::ioctl(fd, TIOCEXCL) != 0) {
    return errno;
  }
  return 0;
}

bool starts_with(std::span<const std::uint8_t> bytes, std::span<const std::uint8_t> prefix) {
  return bytes.size() >= prefix.size() && std::equal(prefix.begin(), prefix.end(), bytes.begin());
}

}  // namespace

Micros time_on_wire(int baud, std::size_t bytes) {
  const auto bits = static_cast<std::int64_t>(bytes) * kBitsPerCharacter;
  return Micros{(bits * 1'000'000 + baud - 1) / baud};
}

Micros silence_between_frames(int baud) {
  return baud > 19'200 ? Micros{1'750} : time_on_wire(baud, 7) / 2;
}

// Reads for as long as one opening lasts. It may outlive the line by a completion that is on its
// way already, so it reaches the line only through `line`, which shut_port() clears.
struct SerialLine::ReadLoop {
  explicit ReadLoop(SerialLine& owner) : line(&owner) {}
  ReadLoop(const ReadLoop&) = delete;
  ReadLoop& operator=(const ReadLoop&) = delete;
  ~ReadLoop() {
    if (line != nullptr) {
      line->read_loop_ = nullptr;
    }
  }
  SerialLine* line;
};

// Raises the line's signal when `delay` has passed, for as long as it lives.
class SerialLine::Timer {
 public:
  Timer(SerialLine& line, Micros delay)
      : clock_(line.clock_), id_(line.clock_.call_after(delay, [this, &line] {
          passed_ = true;
          line.signal_.raise();
        })) {}
  Timer(const Timer&) = delete;
  Timer& operator=(const Timer&) = delete;
  ~Timer() { clock_.cancel(id_); }
  [[nodiscard]] bool passed() const { return passed_; }

 private:
  bool passed_ = false;
  Clock& clock_;
  Clock::TimerId id_;
};

SerialLine::SerialLine(asio::io_context& loop, Clock& clock, LineObserver* observer,
                       SerialSettings settings)
    : clock_(clock),
      observer_(observer),
      settings_(std::move(settings)),
      executor_(loop.get_executor()),
      port_(loop),
      signal_(loop.get_executor()) {}

SerialLine::~SerialLine() { close(); }

Result<void> SerialLine::open_port() {
  boost::system::error_code ec;
  const auto failed = [&](const std::string& what, int os_errno) {
    boost::system::error_code ignored;
    port_.close(ignored);
    return failure(ErrorCode::unavailable, what, os_errno);
  };
  const auto told = [](int os_errno) { return std::string(": ") + std::strerror(os_errno); };
  port_.open(settings_.port, ec);
  if (ec) {
    return failed(opening_fault(ec.value()), ec.value());
  }
  if (const int os_errno = take_alone(port_.native_handle()); os_errno != 0) {
    return failed(
        os_errno == EWOULDBLOCK
            ? "is in use by another program, or by another box of the job under another name"
            : "cannot be locked" + told(os_errno),
        os_errno);
  }
  using Port = asio::serial_port_base;
  port_.set_option(Port::baud_rate(static_cast<unsigned>(settings_.baud)), ec);
  if (ec) {
    return failed("refuses " + std::to_string(settings_.baud) + " baud" + told(ec.value()),
                  ec.value());
  }
  port_.set_option(Port::character_size(8), ec);
  if (!ec) {
    port_.set_option(Port::parity(asio_parity(settings_.parity)), ec);
  }
  if (!ec) {
    port_.set_option(
        Port::stop_bits(settings_.stop_bits == 2 ? Port::stop_bits::two : Port::stop_bits::one),
        ec);
  }
  if (!ec) {
    port_.set_option(Port::flow_control(Port::flow_control::none), ec);
  }
  if (ec) {
    return failed("refuses 8 data bits, " + name_of(settings_.parity) + " parity, " +
                      std::to_string(settings_.stop_bits) + " stop bits" + told(ec.value()),
                  ec.value());
  }
  if (::tcflush(port_.native_handle(), TCIOFLUSH) != 0) {
    const int os_errno = errno;
    return failed("cannot be flushed" + told(os_errno), os_errno);
  }
  return {};
}

asio::awaitable<Result<void>> SerialLine::open() {
  if (state_ == LineState::connected) {
    co_return Result<void>{};
  }
  if (next_attempt_at_ && clock_.monotonic_now() < *next_attempt_at_) {
    co_return unavailable();
  }
  if (auto opened = open_port(); !opened) {
    disconnect(opened.error().context, opened.error().os_errno);
    co_return unavailable();
  }
  received_.clear();
  last_byte_at_.reset();
  unanswered_ = false;
  late_until_.reset();
  ++opening_;
  state_ = LineState::opening;
  if (observer_ == nullptr) {
    state_ = LineState::connected;
  } else {
    observer_->opened(settings_.port, [this, opening = opening_] {
      if (opening == opening_ && state_ == LineState::opening) {
        state_ = LineState::connected;
        signal_.raise();
      }
    });
  }
  // No deadline: only simulated time answers later, and it ends with close().
  while (state_ == LineState::opening) {
    co_await signal_.wait();
  }
  if (state_ != LineState::connected) {
    co_return unavailable();
  }
  start_reading();
  co_return Result<void>{};
}

void SerialLine::start_reading() {
  auto loop = std::make_unique<ReadLoop>(*this);
  read_loop_ = loop.get();
  asio::co_spawn(executor_, read_until_closed(std::move(loop)), asio::detached);
}

asio::awaitable<void> SerialLine::read_until_closed(std::unique_ptr<ReadLoop> loop) {
  std::array<std::uint8_t, 512> bytes{};
  while (loop->line != nullptr) {
    boost::system::error_code ec;
    const std::size_t count = co_await loop->line->port_.async_read_some(
        asio::buffer(bytes), asio::redirect_error(asio::use_awaitable, ec));
    SerialLine* const line = loop->line;
    if (line == nullptr) {
      co_return;
    }
    if (ec) {
      line->disconnect(ec == asio::error::eof ? "was unplugged" : "was lost", ec.value());
      co_return;
    }
    line->received_.insert(line->received_.end(), bytes.begin(),
                           bytes.begin() + static_cast<std::ptrdiff_t>(count));
    // Whatever babbles between exchanges must not fill the memory; the next request drops it
    // anyway.
    if (line->received_.size() > 2 * core::kMaxRtuFrame + bytes.size()) {
      line->received_.erase(line->received_.begin(),
                            line->received_.end() - 2 * core::kMaxRtuFrame);
    }
    line->last_byte_at_ = line->clock_.monotonic_now();
    if (line->observer_ != nullptr) {
      line->observer_->received(line->settings_.port, count);
    }
    line->signal_.raise();
  }
}

void SerialLine::shut_port() {
  if (read_loop_ != nullptr) {
    read_loop_->line = nullptr;
    read_loop_ = nullptr;
  }
  const bool was_open = state_ != LineState::disconnected;
  state_ = LineState::disconnected;
  ++opening_;
  if (port_.is_open()) {
    // Bytes nobody takes would make closing a real port wait for them.
    ::tcflush(port_.native_handle(), TCIOFLUSH);
    boost::system::error_code ignored;
    port_.close(ignored);
  }
  if (was_open && observer_ != nullptr) {
    observer_->closed(settings_.port);
  }
  signal_.raise();
}

void SerialLine::disconnect(const std::string& reason, int os_errno) {
  shut_port();
  ++failures_;
  next_attempt_at_ = clock_.monotonic_now() + reopen_delay(failures_);
  lost_ = {ErrorCode::unavailable, reason, os_errno};
}

void SerialLine::close() {
  shut_port();
  failures_ = 0;
  next_attempt_at_.reset();
  lost_ = {ErrorCode::unavailable, "was closed", 0};
}

store::Failure SerialLine::unavailable() const {
  return failure(ErrorCode::unavailable, "serial port " + settings_.port + " " + lost_.context,
                 lost_.os_errno);
}

asio::awaitable<void> SerialLine::wait_for_silence() {
  const Micros silence =
      unanswered_ ? kSilenceAfterFailure : silence_between_frames(settings_.baud);
  const Micros give_up_at = clock_.monotonic_now() + kLongestWaitForSilence;
  // After a failure the line may have been silent for long, but a reply can still come.
  Micros silent_since =
      unanswered_ ? clock_.monotonic_now() : last_byte_at_.value_or(Micros::min() / 2);
  while (state_ == LineState::connected) {
    if (last_byte_at_) {
      silent_since = std::max(silent_since, *last_byte_at_);
    }
    const Micros now = clock_.monotonic_now();
    const Micros until = std::min(silent_since + silence, give_up_at);
    if (now >= until) {
      break;
    }
    const Timer timer(*this, until - now);
    co_await signal_.wait();
  }
  unanswered_ = false;
}

bool SerialLine::may_answer_late(std::span<const std::uint8_t> request) const {
  return late_until_ && clock_.monotonic_now() < *late_until_ &&
         std::equal(request.begin(), request.end(), late_request_.begin(), late_request_.end());
}

// A late reply is a good one to the same request tried again, and told apart where unit or function
// differ. Anything else has to wait until none can come any more.
asio::awaitable<void> SerialLine::wait_for_late_reply(std::span<const std::uint8_t> request) {
  if (!late_until_ || may_answer_late(request) || late_request_[0] != request[0] ||
      late_request_[1] != request[1]) {
    co_return;
  }
  while (state_ == LineState::connected && clock_.monotonic_now() < *late_until_) {
    const Timer timer(*this, *late_until_ - clock_.monotonic_now());
    co_await signal_.wait();
  }
  late_until_.reset();
}

// A request is far smaller than the buffer of any port, so a port that does not take it whole at
// once is stuck.
bool SerialLine::send(std::span<const std::uint8_t> request) {
  const ssize_t written = ::write(port_.native_handle(), request.data(), request.size());
  const int os_errno = written < 0 ? errno : 0;
  last_byte_at_ = clock_.monotonic_now();
  if (observer_ != nullptr && written > 0) {
    observer_->sent(settings_.port, static_cast<std::size_t>(written));
  }
  if (written == static_cast<ssize_t>(request.size())) {
    return true;
  }
  const bool stuck = written >= 0 || os_errno == EAGAIN;
  disconnect(stuck ? "takes no bytes" : "was lost", os_errno);
  return false;
}

asio::awaitable<Result<std::vector<std::uint8_t>>> SerialLine::exchange(
    std::span<const std::uint8_t> request, Micros deadline) {
  if (auto opened = co_await open(); !opened) {
    co_return store::Failure{opened.error()};
  }
  co_await wait_for_silence();
  co_await wait_for_late_reply(request);
  if (state_ != LineState::connected) {
    co_return unavailable();
  }
  received_.clear();
  signal_.clear();
  const Timer timer(*this, deadline);
  if (!send(request)) {
    co_return unavailable();
  }
  while (true) {
    auto reply = take_reply(request);
    if (!reply) {
      unanswered_ = true;
      co_return store::Failure{reply.error()};
    }
    if (reply.value()) {
      failures_ = 0;
      if (may_answer_late(request)) {
        // It may be the late one to the first try; then that to this one still comes.
        late_until_ = clock_.monotonic_now() + deadline;
      }
      co_return std::move(*reply.value());
    }
    if (state_ != LineState::connected) {
      co_return unavailable();
    }
    if (timer.passed()) {
      unanswered_ = true;
      late_request_.assign(request.begin(), request.end());
      late_until_ = clock_.monotonic_now() + deadline;
      const std::string came =
          received_.empty() ? "no answer"
                            : "only " + std::to_string(received_.size()) + " bytes of an answer";
      co_return failure(ErrorCode::timeout,
                        came + " within " + std::to_string(deadline.count() / 1000) + " ms");
    }
    co_await signal_.wait();
  }
}

Result<std::optional<std::vector<std::uint8_t>>> SerialLine::take_reply(
    std::span<const std::uint8_t> request) {
  using Reply = std::optional<std::vector<std::uint8_t>>;
  // A half-duplex adapter gives back what was sent. The reply to function 06 is the request itself,
  // so there the first copy is taken for it.
  if (request[1] != core::kWriteSingleRegister && !received_.empty()) {
    if (starts_with(received_, request)) {
      received_.erase(received_.begin(),
                      received_.begin() + static_cast<std::ptrdiff_t>(request.size()));
    } else if (starts_with(request, received_)) {
      return Reply{};
    }
  }
  const core::ExpectedLength length = core::expected_reply_length(received_);
  if (length.kind == core::ExpectedLength::Kind::unknown_end) {
    return failure(ErrorCode::corrupt, "what came is no reply to any function asked");
  }
  if (length.kind == core::ExpectedLength::Kind::need_more || received_.size() < length.bytes) {
    return Reply{};
  }
  std::vector<std::uint8_t> frame(received_.begin(),
                                  received_.begin() + static_cast<std::ptrdiff_t>(length.bytes));
  std::uint8_t unit = 0;
  std::span<const std::uint8_t> pdu;
  if (core::open_rtu(frame, unit, pdu) != core::FrameStatus::ok) {
    return failure(ErrorCode::corrupt, "a reply with a wrong check sum");
  }
  if (unit != request[0]) {
    return failure(ErrorCode::corrupt, "unit " + std::to_string(unit) + " answered, unit " +
                                           std::to_string(request[0]) + " was asked");
  }
  if ((pdu[0] & ~core::kExceptionBit) != request[1]) {
    return failure(ErrorCode::corrupt, "a reply to function " + std::to_string(pdu[0]) +
                                           ", function " + std::to_string(request[1]) +
                                           " was asked");
  }
  return Reply{std::move(frame)};
}

}  // namespace logger::ingest
