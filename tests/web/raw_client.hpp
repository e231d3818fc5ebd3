// A client that sends the bytes it is told, over a plain socket of this machine, and reads what
// comes: good requests and bad ones. Blocks, with a limit that only a failure reaches.
#pragma once

#include <arpa/inet.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cstdint>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>

namespace web_tests {

struct RawAnswer {
  int status = 0;
  std::string head;
  std::string body;
};

class RawClient {
 public:
  static constexpr int kPatienceMs = 20'000;

  // `from` is the client's own address, all of 127.0.0.0/8 are this machine's.
  explicit RawClient(std::uint16_t port, const char* from = "127.0.0.1")
      : socket_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_in address = of(from, 0);
    const bool bound =
        ::bind(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0;
    address = of("127.0.0.1", port);
    if (!bound ||
        ::connect(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) {
      throw std::runtime_error("no connection");
    }
  }
  RawClient(const RawClient&) = delete;
  RawClient& operator=(const RawClient&) = delete;
  ~RawClient() { ::close(socket_); }

  [[nodiscard]] int socket() const { return socket_; }

  // False when the other side closed.
  bool send(std::string_view bytes) {
    while (!bytes.empty()) {
      const ssize_t sent = ::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
      if (sent <= 0) {
        return false;
      }
      bytes.remove_prefix(static_cast<std::size_t>(sent));
    }
    return true;
  }

  // Up to and with `end`; nullopt when the other side closed before.
  std::optional<std::string> read_until(std::string_view end) {
    while (received_.find(end) == std::string::npos) {
      if (!receive()) {
        return std::nullopt;
      }
    }
    return take(received_.find(end) + end.size());
  }
  // By its content-length; nullopt when the other side closed before.
  std::optional<RawAnswer> read_answer(bool with_body = true) {
    auto head = read_until("\r\n\r\n");
    if (!head) {
      return std::nullopt;
    }
    RawAnswer answer{std::stoi(head->substr(9, 3)), *head, {}};
    const std::size_t at = head->find("content-length: ");
    const std::size_t length = at == std::string::npos ? 0 : std::stoul(head->substr(at + 16));
    while (with_body && received_.size() < length) {
      if (!receive()) {
        return std::nullopt;
      }
    }
    if (with_body) {
      answer.body = take(length);
    }
    return answer;
  }
  // Whether the other side closes without a further byte.
  bool is_closed() { return received_.empty() && !receive(); }

  static std::string get(const std::string& target, const std::string& headers = {}) {
    return "GET " + target + " HTTP/1.1\r\nHost: localhost\r\n" + headers + "\r\n";
  }

 private:
  static sockaddr_in of(const char* ip, std::uint16_t port) {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(port);
    ::inet_pton(AF_INET, ip, &address.sin_addr);
    return address;
  }
  bool receive() {
    pollfd waiting{socket_, POLLIN, 0};
    if (::poll(&waiting, 1, kPatienceMs) != 1) {
      throw std::runtime_error("nothing came");
    }
    std::array<char, 65536> bytes;
    const ssize_t count = ::recv(socket_, bytes.data(), bytes.size(), 0);
    if (count > 0) {
      received_.append(bytes.data(), static_cast<std::size_t>(count));
    }
    return count > 0;
  }
  std::string take(std::size_t count) {
    std::string taken = received_.substr(0, count);
    received_.erase(0, count);
    return taken;
  }

  int socket_;
  std::string received_;
};

}  // namespace web_tests
