// What a text of job.json must look like where more than its length matters. Pure.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

namespace logger::app {

// The name of a file of the job folder, so that a copy of the folder is whole.
[[nodiscard]] bool stays_in_folder(std::string_view name);

struct UrlParts {
  std::string scheme;  // "https"
  std::string host;    // without brackets
};
// SCHEME://HOST..., without blanks, control characters, user or password; nullopt else.
[[nodiscard]] std::optional<UrlParts> parts_of_url(std::string_view url);
// IPv4 with four numbers, or IPv6 without zone.
[[nodiscard]] bool is_ip_address(std::string_view text);
// Of the Domain Name System (RFC 1123): labels of ASCII letters, digits and inner hyphens, the last
// one no number; other letters in their xn-- form.
[[nodiscard]] bool is_host_name(std::string_view text);
// NAME@HOST of printable ASCII without blanks, commas and angle brackets.
[[nodiscard]] bool is_mail_address(std::string_view text);
// "07:30", 00:00..23:59, after midnight.
[[nodiscard]] std::optional<std::chrono::minutes> time_of_day_from(std::string_view text);
// The form of a name of the IANA time zone database; whether it is in there is seen when it is
// used.
[[nodiscard]] bool is_time_zone_name(std::string_view text);
// What MQTT allows to publish to: no + or #, no control characters, no empty text.
[[nodiscard]] bool is_topic(std::string_view text);

}  // namespace logger::app
