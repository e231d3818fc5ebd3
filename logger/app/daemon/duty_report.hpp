// What a duty of the daemon wants said and stored once a piece of its work is done.
#pragma once

#include <string>
#include <vector>

#include "logger/store/reading_store.hpp"

namespace logger::app {

struct DutyReport {
  std::vector<std::string> lines;     // for the log
  std::vector<std::string> warnings;  // for the log too
  std::vector<store::Event> events;   // for the store
};

}  // namespace logger::app
