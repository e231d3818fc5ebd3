// Transmitters on a library that no one here wrote: `modbus_device rtu PATH UNIT` is one on a
// serial line (9600 baud, even parity), `modbus_device tcp PORT` is an adapter on the loopback with
// units 1 to 4; unit 9 is dead. Prints "unit U" for each request. Ends when its standard input
// closes.
#include <modbus.h>
#include <poll.h>
#include <unistd.h>

#include <array>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <string>

namespace {

constexpr int kInputs = 10;
constexpr int kHoldings = 200;
constexpr int kNumberAt = 100;
constexpr int kNumber = 4711;
constexpr int kDeadUnit = 9;
constexpr int kRefusingUnit = 4;

// Humidity 48.7 %RH and temperature -20.0 degC in tenths, and 21.5 degC as a float, low word first.
modbus_mapping_t* registers() {
  modbus_mapping_t* map = modbus_mapping_new(0, 0, kHoldings, kInputs);
  map->tab_input_registers[0] = 487;
  map->tab_input_registers[1] = static_cast<std::uint16_t>(-200);
  map->tab_registers[10] = 0x0000;
  map->tab_registers[11] = 0x41AC;  // 21.5 = 0x41AC0000, IEEE 754
  map->tab_registers[kNumberAt] = kNumber;
  return map;
}

void answer(modbus_t* device, modbus_mapping_t* map, const std::uint8_t* request, int length,
            int header) {
  const int unit = request[header - 1];
  std::printf("unit %d\n", unit);
  std::fflush(stdout);
  if (unit == kDeadUnit) {
    return;
  }
  if (unit == kRefusingUnit && request[header] == MODBUS_FC_READ_INPUT_REGISTERS) {
    modbus_reply_exception(device, request, MODBUS_EXCEPTION_ILLEGAL_DATA_ADDRESS);
    return;
  }
  modbus_reply(device, request, length, map);
}

// False when the standard input has closed.
bool wait_for(int descriptor) {
  std::array<pollfd, 2> watched{pollfd{descriptor, POLLIN, 0}, pollfd{STDIN_FILENO, POLLIN, 0}};
  ::poll(watched.data(), watched.size(), -1);
  return watched[1].revents == 0;
}

int serve(modbus_t* device, int listener) {
  modbus_mapping_t* map = registers();
  const int header = modbus_get_header_length(device);
  std::array<std::uint8_t, MODBUS_MAX_ADU_LENGTH> request{};
  std::puts("ready");
  std::fflush(stdout);
  while (true) {
    if (listener >= 0) {
      if (!wait_for(listener)) {
        return 0;
      }
      modbus_tcp_accept(device, &listener);
    }
    while (true) {
      if (!wait_for(modbus_get_socket(device))) {
        return 0;
      }
      const int length = modbus_receive(device, request.data());
      if (length < 0 && listener >= 0) {
        break;  // the master hung up
      }
      if (length > 0) {
        answer(device, map, request.data(), length, header);
      }
    }
  }
}

}  // namespace

int main(int argc, char** argv) {
  const std::string kind = argc > 2 ? argv[1] : "";
  if (kind == "rtu" && argc == 4) {
    modbus_t* device = modbus_new_rtu(argv[2], 9600, 'E', 8, 1);
    if (device == nullptr || modbus_set_slave(device, std::atoi(argv[3])) != 0 ||
        modbus_connect(device) != 0) {
      std::fprintf(stderr, "modbus_device: %s: %s\n", argv[2], modbus_strerror(errno));
      return 4;
    }
    return serve(device, -1);
  }
  if (kind == "tcp" && argc == 3) {
    modbus_t* device = modbus_new_tcp("127.0.0.1", std::atoi(argv[2]));
    const int listener = device == nullptr ? -1 : modbus_tcp_listen(device, 1);
    if (listener < 0) {
      std::fprintf(stderr, "modbus_device: port %s: %s\n", argv[2], modbus_strerror(errno));
      return 4;
    }
    return serve(device, listener);
  }
  std::fprintf(stderr, "usage: modbus_device rtu PATH UNIT | tcp PORT\n");
  return 1;
}
