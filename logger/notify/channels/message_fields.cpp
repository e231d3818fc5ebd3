#include "logger/notify/channels/message_fields.hpp"

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>

namespace logger::notify {

namespace {

constexpr std::size_t kLongestAddress = 254;  // RFC 5321 section 4.5.3.1.3, less the brackets
constexpr std::size_t kLongestPlain = 60;
constexpr std::size_t kBytesAWord = 42;  // base64 of them and the frame stay below 75 characters

bool is_letter_or_digit(char c) {
  return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}
bool is_printable(char c) { return c >= 0x20 && c < 0x7f; }

// Length of the UTF-8 sequence at the front; 0 where there is none. Source: RFC 3629 section 4.
std::size_t sequence_at(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char first = byte(0);
  const std::size_t length = first < 0x80                     ? 1
                             : first >= 0xc2 && first <= 0xdf ? 2
                             : first >= 0xe0 && first <= 0xef ? 3
                             : first >= 0xf0 && first <= 0xf4 ? 4
                                                              : 0;
  if (length == 0 || length > text.size()) {
    return 0;
  }
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xc0) != 0x80) {
      return 0;
    }
  }
  const bool wrong_second =
      length > 2 && ((first == 0xe0 && byte(1) < 0xa0) || (first == 0xed && byte(1) > 0x9f) ||
                     (first == 0xf0 && byte(1) < 0x90) || (first == 0xf4 && byte(1) > 0x8f));
  return wrong_second ? 0 : length;
}

std::string base64(std::string_view bytes) {
  constexpr std::string_view kDigits =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string text;
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const std::string_view three = bytes.substr(i, 3);
    unsigned value = 0;
    for (std::size_t k = 0; k < 3; ++k) {
      value = value * 256U + (k < three.size() ? static_cast<unsigned char>(three[k]) : 0U);
    }
    for (std::size_t k = 0; k < 4; ++k) {
      text += k <= three.size() ? kDigits[(value >> (18U - 6U * k)) & 63U] : '=';
    }
  }
  return text;
}

}  // namespace

std::string address_fault(std::string_view address) {
  const bool plain = std::ranges::all_of(address, [](char c) {
    return c > 0x20 && c < 0x7f && std::string_view("<>()[],;:\\\"").find(c) == std::string::npos;
  });
  const auto at = address.find('@');
  if (!plain || at == std::string_view::npos || at == 0 || at + 1 == address.size() ||
      address.find('@', at + 1) != std::string_view::npos || address.size() > kLongestAddress) {
    return "expected one address as name@example.org, ASCII without blanks";
  }
  return "";
}

std::string header_text(std::string_view text) {
  std::string clean;
  bool plain = text.size() <= kLongestPlain && text.find("=?") == std::string_view::npos;
  std::string words;
  std::string word;
  const auto end_word = [&] {
    words += (words.empty() ? "" : "\r\n ") + ("=?UTF-8?B?" + base64(word) + "?=");
    word.clear();
  };
  while (!text.empty()) {
    const std::size_t length = sequence_at(text);
    std::string piece = length == 0 ? "\xef\xbf\xbd" : std::string(text.substr(0, length));
    if (piece.size() == 1 && !is_printable(piece[0])) {
      piece = " ";
    }
    plain = plain && piece.size() == 1;
    if (word.size() + piece.size() > kBytesAWord) {
      end_word();
    }
    word += piece;
    clean += piece;
    text.remove_prefix(std::max<std::size_t>(length, 1));
  }
  if (plain) {
    return clean;
  }
  end_word();
  return words;
}

std::string date_text(analysis::base::UtcMicros at) {
  using namespace std::chrono;
  constexpr std::array<const char*, 7> kDays{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
  constexpr std::array<const char*, 12> kMonths{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const sys_time<microseconds> time{microseconds{at.value}};
  const auto day = floor<days>(time);
  const year_month_day date{day};
  const hh_mm_ss clock{floor<seconds>(time - day)};
  std::array<char, 64> text{};
  std::snprintf(text.data(), text.size(), "%s, %02u %s %d %02d:%02d:%02d +0000",
                kDays[weekday{day}.c_encoding()], static_cast<unsigned>(date.day()),
                kMonths[static_cast<unsigned>(date.month()) - 1], static_cast<int>(date.year()),
                static_cast<int>(clock.hours().count()), static_cast<int>(clock.minutes().count()),
                static_cast<int>(clock.seconds().count()));
  return text.data();
}

std::string encoded_id(std::string_view id, std::string_view also) {
  constexpr std::string_view kHex = "0123456789ABCDEF";
  std::string text;
  for (const char c : id) {
    if (is_letter_or_digit(c) || also.find(c) != std::string_view::npos) {
      text += c;
    } else {
      const auto byte = static_cast<unsigned char>(c);
      text += '%';
      text += kHex[byte / 16U];
      text += kHex[byte % 16U];
    }
  }
  return text;
}

std::string message_id(std::string_view id, std::string_view from) {
  return "<" + encoded_id(id, "-_") + std::string(from.substr(from.find('@'))) + ">";
}

std::string with_crlf(std::string_view text) {
  std::string lines;
  char before = 0;
  for (const char c : text) {
    if (c == '\n' && before != '\r') {
      lines += '\r';
    }
    lines += c;
    before = c;
  }
  return lines;
}

}  // namespace logger::notify
