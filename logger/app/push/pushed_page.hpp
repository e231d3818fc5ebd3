// The state of a job as one HTML file that asks nothing of anyone: for a web space, or for mail.
// Pure; any thread; the same input gives the same bytes.
#pragma once

#include <map>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "analysis/base/time.hpp"
#include "logger/app/push/pushed_document.hpp"

namespace logger::app {

// By room id: markup, an <svg> or an <img> element each.
using RoomCharts = std::map<std::string, std::vector<std::string>>;

struct PushedPage {
  PushedState state;
  RoomCharts charts;
  std::string signed_line;       // pushed_document; empty = none goes with it
  std::string key_fingerprint;   // empty = unsigned
  std::string unsigned_because;  // in one clause
};

// With a few lines of script that keep telling how old it is, loudly from twice `every` on; without
// script it says in words when it was made and when it is too old.
[[nodiscard]] std::string pushed_page_html(const PushedPage& page);

// The same for mail: no script, no signed line, colours that mail programs keep.
[[nodiscard]] std::string mail_page_html(const PushedPage& page);

}  // namespace logger::app
