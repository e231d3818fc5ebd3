// Exit status 77 where the servers are not to be had.
#include <unistd.h>

#include <catch2/catch.hpp>
#include <cstdlib>
#include <iostream>

#include "tests/catch_session.hpp"

int main(int argc, char** argv) {
  if (::access("/usr/sbin/mosquitto", X_OK) != 0 ||
      std::system("/usr/bin/python3 -c 'import aiosmtpd' 2>/dev/null") != 0) {
    std::cout << "no servers: install mosquitto and python3-aiosmtpd\n";
    return 77;
  }
  ::setenv("no_proxy", "127.0.0.1", 1);
  return run_tests(argc, argv);
}
