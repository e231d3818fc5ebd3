// How long a transfer may take, and how much of an answer is read.
#pragma once

#include <chrono>
#include <cstddef>

namespace logger::transfer {

struct TransferLimits {
  std::chrono::milliseconds whole{20'000};    // from the first packet to the last byte
  std::chrono::milliseconds connect{10'000};  // of that, until there is a connection
  std::size_t most_bytes = std::size_t{64} * 1024;
};

}  // namespace logger::transfer
