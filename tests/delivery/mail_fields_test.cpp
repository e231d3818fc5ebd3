#include <catch2/catch.hpp>

#include "logger/notify/channels/message_fields.hpp"

using namespace logger::notify;

TEST_CASE("A short ASCII subject stays as it is") {
  CHECK(header_text("kitchen: ready") == "kitchen: ready");
}

// Computed with Python's email.header, an independent implementation.
TEST_CASE("A subject beyond ASCII becomes encoded words") {
  CHECK(header_text("Küche: bereit") == "=?UTF-8?B?S8O8Y2hlOiBiZXJlaXQ=?=");
  CHECK(header_text("=?UTF-8?B?AA?=") == "=?UTF-8?B?PT9VVEYtOD9CP0FBPz0=?=");
}

TEST_CASE("No line end of a text gets into a field but a fold") {
  const std::string text = header_text("ready\r\nBcc: all@example.org\n\n<p>");
  CHECK(text == "ready  Bcc: all@example.org  <p>");
}

TEST_CASE("Bytes that are no UTF-8 become the replacement character") {
  CHECK(header_text("a\xff") == "=?UTF-8?B?Ye+/vQ==?=");
  CHECK(header_text("\xed\xa0\x80") == header_text("\xff\xff\xff"));  // a surrogate
  CHECK(header_text("a\xc3") == header_text("a\xff"));
}

TEST_CASE("Long subjects fold into words of at most 75 characters that part no character") {
  std::string text;
  for (int i = 0; i < 100; ++i) {
    text += "ä€😀";
  }
  const std::string folded = header_text(text);
  std::size_t from = 0;
  for (std::size_t end = 0; end != std::string::npos; from = end + 3) {
    end = folded.find("\r\n ", from);
    const std::string word = folded.substr(from, end == std::string::npos ? end : end - from);
    CHECK(word.size() <= 75);
    CHECK(word.starts_with("=?UTF-8?B?"));
    CHECK(word.ends_with("?="));
    CHECK(word.find_first_of("\r\n ") == std::string::npos);
  }
}

// Python: email.utils.format_datetime of the same moments.
TEST_CASE("Dates are those of RFC 5322") {
  CHECK(date_text({1'795'676'700'000'000}) == "Thu, 26 Nov 2026 07:05:00 +0000");
  CHECK(date_text({951'782'399'999'999}) == "Mon, 28 Feb 2000 23:59:59 +0000");
}

TEST_CASE("Ids that differ stay different in a Message-ID") {
  CHECK(message_id("17", "a@example.org") == "<17@example.org>");
  CHECK(message_id("a.b/c>", "a@example.org") == "<a%2Eb%2Fc%3E@example.org>");
  CHECK(message_id("a%2Eb", "a@b.c") != message_id("a.b", "a@b.c"));
}

TEST_CASE("Addresses that could carry something else are refused") {
  CHECK(address_fault("anna@example.org").empty());
  for (const char* wrong : {"", "anna", "@example.org", "anna@", "a b@example.org", "a@b@c",
                            "a@example.org>\r\nRCPT TO:<b@c", "<a@example.org>", "a@exämple.org",
                            "a,b@example.org", "\"a\"@example.org"}) {
    CAPTURE(wrong);
    CHECK_FALSE(address_fault(wrong).empty());
  }
  CHECK_FALSE(address_fault(std::string(251, 'a') + "@b.c").empty());
}

TEST_CASE("Line ends become CR LF once") { CHECK(with_crlf("a\nb\r\nc\n") == "a\r\nb\r\nc\r\n"); }
