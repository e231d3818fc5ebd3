#include "firmware-sim/sim/line/exchange_faults.hpp"

#include <algorithm>
#include <set>

#include "firmware-sim/core/modbus_frame.hpp"
#include "firmware-sim/core/wire_format.hpp"

namespace firmware::sim::line {
namespace {

using analysis::base::Micros;

constexpr unsigned kBitsPerByte = 8;
constexpr std::size_t kFunction = 1;
constexpr std::size_t kAddress = 2;

bool in_force(const ExchangeFault& fault, Micros after_start) {
  return after_start >= fault.from && (!fault.to || after_start < *fault.to);
}

}  // namespace

bool is_about(std::span<const std::uint8_t> frame, RequestAbout about) {
  if (about == RequestAbout::anything) {
    return true;
  }
  if (frame.size() < core::kMinRtuFrame + 2) {
    return false;
  }
  const bool writes = frame[kFunction] == core::kWriteMultipleRegisters ||
                      frame[kFunction] == core::kWriteSingleRegister;
  const unsigned address = unsigned{frame[kAddress]} << kBitsPerByte | frame[kAddress + 1];
  switch (about) {
    case RequestAbout::identity:
      return !writes && address == core::kRegIdentity;
    case RequestAbout::live:
      return !writes && address == core::kRegLive;
    case RequestAbout::lost:
      return !writes && address == core::kRegLost;
    case RequestAbout::window:
      return !writes && address >= core::kRegWindow &&
             address < core::kRegWindow + core::kWindows * core::kWindowStride;
    case RequestAbout::select:
      return writes && address == core::kRegSelect;
    case RequestAbout::release:
      return writes && address == core::kRegRelease;
    case RequestAbout::interval:
      return writes && address == core::kRegSampleInterval;
    case RequestAbout::anything:
      break;
  }
  return true;
}

ExchangeFaults::ExchangeFaults(std::vector<ExchangeFault> faults, std::uint64_t seed)
    : random_(seed) {
  for (ExchangeFault& fault : faults) {
    faults_.push_back({fault, 0, 0});
  }
}

std::vector<StruckFault> ExchangeFaults::strike(DeviceKind device, std::size_t index,
                                                std::span<const std::uint8_t> frame,
                                                Micros after_start) {
  std::vector<StruckFault> struck;
  for (Counted& counted : faults_) {
    const ExchangeFault& fault = counted.fault;
    const bool fits = fault.device == device && (!fault.index || *fault.index == index) &&
                      in_force(fault, after_start) && is_about(frame, fault.about) &&
                      (!fault.most || counted.struck < *fault.most);
    if (!fits || ++counted.fitting % fault.every != 0) {
      continue;
    }
    struck.push_back(
        {fault.kind, fault.amount + (fault.each_amount ? counted.struck : 0), fault.span});
    ++counted.struck;
  }
  return struck;
}

void ExchangeFaults::corrupt(std::vector<std::uint8_t>& bytes, std::uint64_t bits) {
  const std::uint64_t all = bytes.size() * kBitsPerByte;
  std::set<std::uint64_t> flipped;
  while (flipped.size() < std::min(bits, all)) {
    const std::uint64_t bit = random_() % all;
    if (flipped.insert(bit).second) {
      std::uint8_t& byte = bytes[bit / kBitsPerByte];
      byte = static_cast<std::uint8_t>(byte ^ (1U << (bit % kBitsPerByte)));
    }
  }
}

std::vector<std::uint8_t> ExchangeFaults::noise(std::uint64_t bytes) {
  std::vector<std::uint8_t> result(bytes);
  for (std::uint8_t& byte : result) {
    byte = static_cast<std::uint8_t>(random_());
  }
  return result;
}

std::vector<std::uint64_t> ExchangeFaults::struck() const {
  std::vector<std::uint64_t> counts;
  for (const Counted& counted : faults_) {
    counts.push_back(counted.struck);
  }
  return counts;
}

}  // namespace firmware::sim::line
