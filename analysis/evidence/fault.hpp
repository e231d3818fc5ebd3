// Why something about evidence could not be read or made. Bad bytes are results, never asserts.
#pragma once

#include <string>

namespace analysis::evidence {

// One line for people: what, where, the value seen and what was expected.
struct Fault {
  std::string text;
};

}  // namespace analysis::evidence
