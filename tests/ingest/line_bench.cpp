#include "tests/ingest/line_bench.hpp"

#include <fcntl.h>
#include <stdlib.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <boost/asio/buffer.hpp>
#include <boost/asio/post.hpp>
#include <chrono>
#include <cstdio>

#include "firmware-sim/core/crc.hpp"

namespace ingest_test {

namespace asio = boost::asio;

FakeClock::TimerId FakeClock::call_after(Micros delay, std::function<void()> handler) {
  timers_[next_id_] = {monotonic_ + delay, std::move(handler)};
  return next_id_++;
}

bool FakeClock::fire_next() {
  const auto earliest =
      std::min_element(timers_.begin(), timers_.end(),
                       [](const auto& a, const auto& b) { return a.second.due < b.second.due; });
  if (earliest == timers_.end()) {
    return false;
  }
  monotonic_ = std::max(monotonic_, earliest->second.due);
  const auto handler = std::move(earliest->second.handler);
  timers_.erase(earliest);
  handler();
  return true;
}

Device::Device(asio::io_context& loop, FakeClock& clock, std::string link)
    : clock_(clock), link_(std::move(link)), port_(loop) {}

Device::~Device() { unplug(); }

void Device::plug() {
  const int fd = ::posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
  if (fd < 0 || ::grantpt(fd) != 0 || ::unlockpt(fd) != 0) {
    throw std::runtime_error("no pseudo-terminal");
  }
  termios mode{};
  ::tcgetattr(fd, &mode);
  ::cfmakeraw(&mode);
  ::tcsetattr(fd, TCSANOW, &mode);
  std::array<char, 64> name{};
  ::ptsname_r(fd, name.data(), name.size());
  ::unlink(link_.c_str());
  if (::symlink(name.data(), link_.c_str()) != 0) {
    throw std::runtime_error("no link to the pseudo-terminal");
  }
  port_.assign(fd);
  assembler_ = {};
}

void Device::unplug() {
  boost::system::error_code ignored;
  port_.close(ignored);
  ::unlink(link_.c_str());
}

void Device::begin() {
  bytes_read = 0;
  bytes_written = 0;
  boost::system::error_code ignored;
  port_.cancel(ignored);
  if (!deaf) {
    read_more();
  }
}

// While nobody has the other end open this fails with EIO; begin() starts it again.
void Device::read_more() {
  port_.async_read_some(asio::buffer(buffer_),
                        [this](boost::system::error_code ec, std::size_t count) {
                          if (!ec) {
                            take(count);
                          }
                          if (!ec && port_.is_open()) {
                            read_more();
                          }
                        });
}

void Device::take(std::size_t count) {
  bytes_read += count;
  const Bytes bytes(buffer_.begin(), buffer_.begin() + static_cast<std::ptrdiff_t>(count));
  if (echoes) {
    send(bytes);
  }
  for (const std::uint8_t byte : bytes) {
    const auto frame = assembler_.push(byte);
    if (!frame) {
      continue;
    }
    const Bytes request(frame->begin(), frame->end());
    requests.push_back(request);
    request_times.push_back(clock_.monotonic_now());
    const Bytes reply = honest ? honest(request) : Bytes{};
    if (script.empty()) {
      send(reply);
    } else {
      const Step step = std::move(script.front());
      script.pop_front();
      step(*this, request, reply);
    }
  }
}

void Device::send(const Bytes& bytes) {
  const std::size_t count =
      unplug_after_bytes ? std::min(*unplug_after_bytes, bytes.size()) : bytes.size();
  if (count > 0 && port_.is_open()) {
    const ssize_t written = ::write(port_.native_handle(), bytes.data(), count);
    bytes_written += written > 0 ? static_cast<std::size_t>(written) : 0U;
  }
  if (unplug_after_bytes) {
    *unplug_after_bytes -= count;
    if (count < bytes.size()) {
      unplug_after_bytes.reset();
      unplug();
    }
  }
}

void Device::send_after(Micros delay, Bytes bytes) {
  clock_.call_after(delay, [this, bytes = std::move(bytes)] { send(bytes); });
}

namespace {
std::string made_folder() {
  std::string path = "/tmp/dwellog_ingest_XXXXXX";
  if (::mkdtemp(path.data()) == nullptr) {
    throw std::runtime_error("no temporary folder");
  }
  return path;
}
}  // namespace

LineBench::LineBench(int baud)
    : guard(asio::make_work_guard(loop)),
      folder(made_folder()),
      link(folder + "/adapter"),
      device(loop, clock, link),
      line(loop, clock, this, {link, baud}) {
  device.plug();
}

LineBench::~LineBench() {
  line.close();
  device.unplug();
  ::rmdir(folder.c_str());
}

void LineBench::opened(const std::string&, std::function<void()> when_ready) {
  ++openings;
  line_open = true;
  sent_ = 0;
  received_ = 0;
  device.begin();
  if (ready_at_once) {
    asio::post(loop, std::move(when_ready));
  } else {
    ready = std::move(when_ready);
  }
}

void LineBench::closed(const std::string&) { line_open = false; }

void LineBench::sent(const std::string&, std::size_t bytes) { sent_ += bytes; }

void LineBench::received(const std::string&, std::size_t bytes) { received_ += bytes; }

bool LineBench::on_its_way() const {
  if (!line_open || line.state() != logger::ingest::LineState::connected) {
    return false;
  }
  if (device.plugged() && device.deaf) {
    return false;
  }
  // Of a pulled adapter only the hang-up is on its way.
  return !device.plugged() || sent_ != device.bytes_read || received_ != device.bytes_written;
}

void LineBench::run_blocking() {
  // The limit only turns a hang into a failure.
  if (loop.run_one_for(std::chrono::seconds(20)) == 0) {
    throw std::runtime_error("bytes on the wire never arrived");
  }
}

void LineBench::settle() {
  do {
    while (loop.poll() > 0) {
    }
    if (on_its_way()) {
      run_blocking();
    }
  } while (on_its_way() || loop.poll() > 0);
}

void LineBench::run_until(const std::function<bool()>& done) {
  while (!done()) {
    if (loop.poll_one() > 0) {
      continue;
    }
    if (on_its_way()) {
      run_blocking();
    } else if (!clock.fire_next()) {
      throw std::runtime_error("nothing left that could end the wait");
    }
  }
}

Bytes sealed(Bytes frame) {
  const std::size_t end = frame.size() - 2;
  const std::uint16_t crc =
      firmware::core::crc16_modbus(std::span<const std::uint8_t>(frame).first(end));
  frame[end] = static_cast<std::uint8_t>(crc & 0xff);
  frame[end + 1] = static_cast<std::uint8_t>(crc >> 8);
  return frame;
}

Bytes bytes_from_hex(const std::string& hex) {
  Bytes bytes;
  std::size_t at = 0;
  while (at < hex.size()) {
    if (hex[at] == ' ') {
      ++at;
      continue;
    }
    bytes.push_back(static_cast<std::uint8_t>(std::stoul(hex.substr(at, 2), nullptr, 16)));
    at += 2;
  }
  return bytes;
}

}  // namespace ingest_test
