// Fields of a message as RFC 5322 and RFC 2047 want them, made from texts that nobody checked.
// Pure.
#pragma once

#include <string>
#include <string_view>

#include "analysis/base/time.hpp"

namespace logger::notify {

// Why this is no address for us; empty when it is one: ASCII, one @, no blanks, no quotes.
[[nodiscard]] std::string address_fault(std::string_view address);

// For the value of "Subject: ": as it is where that is short printable ASCII, else encoded words of
// at most 75 characters, folded. Control characters become blanks, bytes that are no UTF-8 the
// replacement character. Source: RFC 2047 section 2 and 5.
[[nodiscard]] std::string header_text(std::string_view text);

// "Thu, 26 Nov 2026 07:05:00 +0000". Source: RFC 5322 section 3.3.
[[nodiscard]] std::string date_text(analysis::base::UtcMicros at);

// An id with everything but letters, digits and `also` as %XX: different ids stay different.
[[nodiscard]] std::string encoded_id(std::string_view id, std::string_view also);

// "<id@domain>", the domain that of the address. Source: RFC 5322 section 3.6.4.
[[nodiscard]] std::string message_id(std::string_view id, std::string_view from);

// Every line end as CR LF.
[[nodiscard]] std::string with_crlf(std::string_view text);

}  // namespace logger::notify
