// Where a line is and how it is set, as job.json says it.
#pragma once

#include <cstdint>
#include <string>

namespace logger::ingest {

enum class Parity : std::uint8_t { none, even, odd };

struct SerialSettings {
  std::string port;  // path of the device; a stable name (by-id) survives swapped adapters
  int baud = 19200;
  Parity parity = Parity::none;
  int stop_bits = 1;  // 1 or 2
};

// A networked adapter that speaks Modbus TCP.
struct TcpSettings {
  std::string address;  // IPv4 or IPv6 in figures; names are not looked up
  std::uint16_t port = 502;
};

// IPv4 or IPv6 in figures.
[[nodiscard]] bool is_ip_address(const std::string& text);

}  // namespace logger::ingest
