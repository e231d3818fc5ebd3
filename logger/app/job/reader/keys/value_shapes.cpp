#include "logger/app/job/reader/keys/value_shapes.hpp"

#include <arpa/inet.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <filesystem>

namespace logger::app {
namespace {

bool is_printable_ascii(char c) { return c > ' ' && c < '\x7f'; }
bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }

std::optional<int> two_digits(std::string_view text) {
  if (!is_digit(text[0]) || !is_digit(text[1])) {
    return std::nullopt;
  }
  return (text[0] - '0') * 10 + (text[1] - '0');
}

}  // namespace

bool stays_in_folder(std::string_view name) {
  const std::filesystem::path file = std::filesystem::path(name).lexically_normal();
  return file.is_relative() && file.has_filename() && *file.begin() != "..";
}

std::optional<UrlParts> parts_of_url(std::string_view url) {
  const auto mark = url.find("://");
  if (mark == std::string_view::npos || mark == 0 ||
      !std::all_of(url.begin(), url.end(), is_printable_ascii)) {
    return std::nullopt;
  }
  const std::string_view rest = url.substr(mark + 3);
  const std::string_view authority = rest.substr(0, rest.find_first_of("/?#"));
  if (authority.empty() || authority.find('@') != std::string_view::npos) {
    return std::nullopt;
  }
  std::string_view host = authority.substr(0, authority.find(':'));
  if (authority.front() == '[') {
    const auto end = authority.find(']');
    if (end == std::string_view::npos) {
      return std::nullopt;
    }
    host = authority.substr(1, end - 1);
  }
  if (host.empty()) {
    return std::nullopt;
  }
  return UrlParts{std::string(url.substr(0, mark)), std::string(host)};
}

bool is_ip_address(std::string_view text) {
  std::array<unsigned char, sizeof(in6_addr)> bytes{};
  const std::string ended(text);
  return text.find('\0') == std::string_view::npos &&
         (::inet_pton(AF_INET, ended.c_str(), bytes.data()) == 1 ||
          ::inet_pton(AF_INET6, ended.c_str(), bytes.data()) == 1);
}

bool is_host_name(std::string_view text) {
  constexpr std::size_t kLongestName = 253;
  constexpr std::size_t kLongestLabel = 63;
  if (text.size() > kLongestName) {
    return false;
  }
  while (true) {
    const auto dot = text.find('.');
    const std::string_view label = text.substr(0, dot);
    if (label.empty() || label.size() > kLongestLabel || label.front() == '-' ||
        label.back() == '-' || !std::all_of(label.begin(), label.end(), [](char c) {
          return is_letter(c) || is_digit(c) || c == '-';
        })) {
      return false;
    }
    if (dot == std::string_view::npos) {
      return !std::all_of(label.begin(), label.end(), is_digit);
    }
    text.remove_prefix(dot + 1);
  }
}

bool is_mail_address(std::string_view text) {
  const auto at = text.find('@');
  return at != std::string_view::npos && at > 0 && at + 1 < text.size() &&
         text.find('@', at + 1) == std::string_view::npos &&
         std::all_of(text.begin(), text.end(), is_printable_ascii) &&
         text.find_first_of("<>,;:\"()[]\\") == std::string_view::npos;
}

std::optional<std::chrono::minutes> time_of_day_from(std::string_view text) {
  if (text.size() != 5 || text[2] != ':') {
    return std::nullopt;
  }
  const auto hours = two_digits(text.substr(0, 2));
  const auto minutes = two_digits(text.substr(3));
  if (!hours || !minutes || *hours > 23 || *minutes > 59) {
    return std::nullopt;
  }
  return std::chrono::minutes{*hours * 60 + *minutes};
}

bool is_time_zone_name(std::string_view text) {
  return !text.empty() && text.front() != '/' && text.find("..") == std::string_view::npos &&
         std::all_of(text.begin(), text.end(), [](char c) {
           return is_letter(c) || is_digit(c) || c == '/' || c == '_' || c == '+' || c == '-';
         });
}

bool is_topic(std::string_view text) {
  return !text.empty() && text.find_first_of("+#") == std::string_view::npos &&
         std::none_of(text.begin(), text.end(),
                      [](char c) { return static_cast<unsigned char>(c) < ' ' || c == '\x7f'; });
}

}  // namespace logger::app
