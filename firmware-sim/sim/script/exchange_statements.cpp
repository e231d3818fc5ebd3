// Faults of single exchanges between a master and a device.
#include <array>
#include <charconv>
#include <utility>

#include "firmware-sim/sim/script/statements.hpp"

namespace firmware::sim::script {
namespace {

using analysis::base::Micros;
using line::ExchangeFault;
using line::ExchangeFaultKind;

constexpr std::array<std::string_view, 2> kWhichWords{"request", "reply"};
constexpr std::array<std::string_view, 8> kAboutWords{
    "anything", "identity", "live", "lost", "window", "select", "release", "interval"};
constexpr std::array<std::string_view, 2> kDeviceWords{"box", "transmitter"};

// "[to WHAT] of DEVICE"
void read_which(WordCursor& words, ExchangeFault& fault) {
  if (words.take_if("to")) {
    fault.about = static_cast<line::RequestAbout>(words.one_of(kAboutWords));
  }
  words.expect("of");
  if (words.peek() == "all") {
    fault.index = read_box_number(words);
    return;
  }
  const bool is_box = words.one_of(kDeviceWords) == 0;
  fault.device = is_box ? line::DeviceKind::box : line::DeviceKind::transmitter;
  fault.index = words.whole(1, 247) - 1;
}

// "after N bytes" or "after each byte"
void read_bytes(WordCursor& words, ExchangeFault& fault) {
  words.expect("after");
  if (words.take_if("each")) {
    fault.each_amount = true;
    words.expect("byte");
  } else {
    fault.amount = words.whole(0, 256);
    words.expect("bytes");
  }
}

void read_lose(WordCursor& words, ExchangeFault& fault) {
  const bool request = words.one_of(kWhichWords) == 0;
  fault.kind = request ? ExchangeFaultKind::lose_request : ExchangeFaultKind::lose_reply;
  read_which(words, fault);
}

void read_corrupt(WordCursor& words, ExchangeFault& fault) {
  const bool request = words.one_of(kWhichWords) == 0;
  fault.kind = request ? ExchangeFaultKind::corrupt_request : ExchangeFaultKind::corrupt_reply;
  fault.amount = 1;
  read_which(words, fault);
  if (words.take_if("by")) {
    fault.amount = words.whole(1, 2048);
    words.expect("bits");
  }
}

void read_cut(WordCursor& words, ExchangeFault& fault) {
  fault.kind = ExchangeFaultKind::cut_reply;
  words.expect("reply");
  read_which(words, fault);
  read_bytes(words, fault);
}

void read_delay(WordCursor& words, ExchangeFault& fault) {
  fault.kind = ExchangeFaultKind::delay_reply;
  words.expect("reply");
  read_which(words, fault);
  words.expect("by");
  fault.span = words.duration();
}

void read_repeat(WordCursor& words, ExchangeFault& fault) {
  fault.kind = ExchangeFaultKind::repeat_reply;
  words.expect("reply");
  read_which(words, fault);
}

void read_noise(WordCursor& words, ExchangeFault& fault) {
  fault.kind = ExchangeFaultKind::noise_before_reply;
  words.expect("of");
  fault.amount = words.whole(1, 4096);
  words.expect("bytes");
  words.expect("before");
  words.expect("reply");
  read_which(words, fault);
}

// The exception codes of the MODBUS Application Protocol Specification V1.1b3, section 7 (from
// memory); in decimal.
void read_refuse(WordCursor& words, ExchangeFault& fault) {
  fault.kind = ExchangeFaultKind::refuse_request;
  words.expect("request");
  read_which(words, fault);
  words.expect("with");
  constexpr std::array<std::string_view, 9> kExceptions{"1", "2", "3",  "4", "5",
                                                        "6", "8", "10", "11"};
  const std::string_view code = kExceptions[words.one_of(kExceptions)];
  (void)std::from_chars(code.data(), code.data() + code.size(), fault.amount);
}

void read_break(WordCursor& words, ExchangeFault& fault) {
  fault.kind = ExchangeFaultKind::unplug_in_reply;
  words.expect("line");
  words.expect("in");
  words.expect("reply");
  read_which(words, fault);
  read_bytes(words, fault);
  words.expect("for");
  fault.span = words.duration();
}

void read_restart(WordCursor& words, ExchangeFault& fault) {
  fault.kind = ExchangeFaultKind::restart_daemon;
  words.expect("daemon");
  words.expect("at");
  words.expect("request");
  read_which(words, fault);
}

using ReadExchange = void(WordCursor& words, ExchangeFault& fault);
constexpr std::array<Verb<ReadExchange>, 9> kVerbs{
    Verb<ReadExchange>{"lose", read_lose},      Verb<ReadExchange>{"corrupt", read_corrupt},
    Verb<ReadExchange>{"cut", read_cut},        Verb<ReadExchange>{"delay", read_delay},
    Verb<ReadExchange>{"repeat", read_repeat},  Verb<ReadExchange>{"noise", read_noise},
    Verb<ReadExchange>{"refuse", read_refuse},  Verb<ReadExchange>{"break", read_break},
    Verb<ReadExchange>{"restart", read_restart}};

}  // namespace

bool read_exchange_fault(WordCursor& words, const When& when, Target target) {
  const auto* const verb = take_verb(kVerbs, words);
  if (verb == nullptr) {
    return false;
  }
  ExchangeFault fault;
  fault.script_line = target.script_line;
  fault.from = when.from;
  fault.to = when.to;
  fault.every = when.every;
  fault.most = when.to ? when.first : std::optional<std::uint64_t>(1);
  verb->read(words, fault);
  if (words.ok() && when.period) {
    words.refuse("'every' with a count of exchanges, not with a duration");
  }
  if (words.ok()) {
    target.scenario.exchange_faults.push_back(fault);
  }
  return true;
}

std::vector<std::string_view> exchange_fault_words() { return words_of(kVerbs); }

}  // namespace firmware::sim::script
