// The documents a browser shows, complete without script: verdicts, reasons, hours and forecast
// stand in the first answer. They hold no inline script, style or event handler, so the policy
// "default-src 'self'; img-src 'self' blob:" fits them. Pure; any thread.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>

#include "analysis/base/time.hpp"
#include "logger/web/access/principal.hpp"

namespace logger::web {

using analysis::base::Micros;

struct PageView {
  // SiteSnapshot::status, or shared_status for a principal of that role. What is absent in it is
  // not shown.
  const nlohmann::ordered_json& status;
  const Principal& principal;
  std::string_view csrf_token;  // of the session
};
// Texts of others are shown as text only. Costs less than a millisecond for a job of eight rooms.
[[nodiscard]] std::string page_html(const PageView& view);

struct LoginView {
  bool refused = false;       // name and password were not accepted
  Micros retry_after{0};      // > 0: too many attempts
  std::string_view name{};    // as entered
  bool link_ended = false;    // a share link did not open; ended and unknown are told alike
  bool users_unread = false;  // nobody gets in until somebody mends the files of the logger
};
[[nodiscard]] std::string login_page_html(const LoginView& view);

}  // namespace logger::web
