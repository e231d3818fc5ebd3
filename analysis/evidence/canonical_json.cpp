#include "analysis/evidence/canonical_json.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <vector>

namespace analysis::evidence {
namespace {

using base::Failure;
using base::Result;
using nlohmann::json;

constexpr std::int64_t kLargestExactInteger = std::int64_t{1} << 53U;
constexpr double kLargestExactDouble = static_cast<double>(kLargestExactInteger);
constexpr double kFirstWithExponent = 1e21;  // larger numbers are written with an exponent

constexpr std::uint8_t byte_of(char c) { return static_cast<std::uint8_t>(c); }

// Length of the UTF-8 sequence at the front, 0 when it is not one. Source: RFC 3629 section 4.
std::size_t utf8_length(std::string_view text) {
  const std::uint8_t lead = byte_of(text[0]);
  if (lead < 0x80) {
    return 1;
  }
  const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
  if (lead < 0xC2 || lead > 0xF4 || text.size() < length) {
    return 0;
  }
  std::uint8_t low = 0x80;
  std::uint8_t high = 0xBF;
  switch (lead) {
    case 0xE0:
      low = 0xA0;
      break;  // overlong
    case 0xED:
      high = 0x9F;
      break;  // surrogates
    case 0xF0:
      low = 0x90;
      break;  // overlong
    case 0xF4:
      high = 0x8F;
      break;  // beyond U+10FFFF
    default:
      break;
  }
  for (std::size_t i = 1; i < length; ++i) {
    const std::uint8_t next = byte_of(text[i]);
    if (next < low || next > high) {
      return 0;
    }
    low = 0x80;
    high = 0xBF;
  }
  return length;
}

// Order of valid UTF-8 by UTF-16 code units. It is the order of the bytes, except that characters
// beyond U+FFFF (surrogates, D800..DFFF) come before U+E000..U+FFFF.
bool utf16_less(const std::string& a, const std::string& b) {
  const auto [at_a, at_b] = std::mismatch(a.begin(), a.end(), b.begin(), b.end());
  if (at_a == a.end() || at_b == b.end()) {
    return at_a == a.end() && at_b != b.end();
  }
  const std::uint8_t byte_a = byte_of(*at_a);
  const std::uint8_t byte_b = byte_of(*at_b);
  const bool both_high = byte_a >= 0xEE && byte_b >= 0xEE;
  if (both_high && (byte_a >= 0xF0) != (byte_b >= 0xF0)) {
    return byte_a >= 0xF0;
  }
  return byte_a < byte_b;
}

class Writer {
 public:
  Result<void, Fault> write(const json& value, int depth) {
    switch (value.type()) {
      case json::value_t::null:
        text += "null";
        return {};
      case json::value_t::boolean:
        text += value.get<bool>() ? "true" : "false";
        return {};
      case json::value_t::number_integer:
        return write_integer(value.get<std::int64_t>());
      case json::value_t::number_unsigned:
        return write_unsigned(value.get<std::uint64_t>());
      case json::value_t::number_float:
        return write_double(value.get<double>());
      case json::value_t::string:
        return write_string(value.get_ref<const std::string&>());
      case json::value_t::array:
        return write_array(value, depth + 1);
      case json::value_t::object:
        return write_object(value, depth + 1);
      case json::value_t::binary:
      case json::value_t::discarded:
        break;
    }
    return Failure{Fault{"a value that JSON has no form for"}};
  }

  std::string text;

 private:
  Result<void, Fault> write_integer(std::int64_t value) {
    if (value > kLargestExactInteger || value < -kLargestExactInteger) {
      return Failure{Fault{"the integer " + std::to_string(value) + " is beyond +-2^53"}};
    }
    text += std::to_string(value);
    return {};
  }

  Result<void, Fault> write_unsigned(std::uint64_t value) {
    if (value > static_cast<std::uint64_t>(kLargestExactInteger)) {
      return Failure{Fault{"the integer " + std::to_string(value) + " is beyond +-2^53"}};
    }
    return write_integer(static_cast<std::int64_t>(value));
  }

  Result<void, Fault> write_double(double value) {
    const auto number = es6_text_from_double(value);
    if (!number) {
      return Failure{Fault{"a number that is not finite has no JSON form"}};
    }
    if (std::abs(value) > kLargestExactDouble && std::abs(value) < kFirstWithExponent) {
      return Failure{Fault{"the integer " + *number + " is beyond +-2^53"}};
    }
    text += *number;
    return {};
  }

  Result<void, Fault> write_string(std::string_view value) {
    static constexpr std::string_view kDigits = "0123456789abcdef";
    text += '"';
    for (std::size_t i = 0; i < value.size();) {
      const std::size_t length = utf8_length(value.substr(i));
      if (length == 0) {
        return Failure{
            Fault{"a text has an invalid UTF-8 sequence at its byte " + std::to_string(i)}};
      }
      const char c = value[i];
      switch (c) {
        case '"':
          text += "\\\"";
          break;
        case '\\':
          text += "\\\\";
          break;
        case '\b':
          text += "\\b";
          break;
        case '\f':
          text += "\\f";
          break;
        case '\n':
          text += "\\n";
          break;
        case '\r':
          text += "\\r";
          break;
        case '\t':
          text += "\\t";
          break;
        default:
          if (byte_of(c) < 0x20) {
            text += "\\u00";
            text += kDigits[byte_of(c) >> 4U];
            text += kDigits[byte_of(c) & 15U];
          } else {
            text += value.substr(i, length);
          }
      }
      i += length;
    }
    text += '"';
    return {};
  }

  Result<void, Fault> write_array(const json& value, int depth) {
    if (depth > kMaxJsonDepth) {
      return too_deep();
    }
    text += '[';
    bool first = true;
    for (const json& element : value) {
      if (!first) {
        text += ',';
      }
      first = false;
      if (auto written = write(element, depth); !written) {
        return written;
      }
    }
    text += ']';
    return {};
  }

  Result<void, Fault> write_object(const json& value, int depth) {
    if (depth > kMaxJsonDepth) {
      return too_deep();
    }
    const auto& members = value.get_ref<const json::object_t&>();
    std::vector<const json::object_t::value_type*> ordered;
    ordered.reserve(members.size());
    for (const auto& member : members) {
      ordered.push_back(&member);
    }
    std::sort(ordered.begin(), ordered.end(),
              [](const auto* a, const auto* b) { return utf16_less(a->first, b->first); });
    text += '{';
    for (const auto* member : ordered) {
      if (member != ordered.front()) {
        text += ',';
      }
      if (auto written = write_string(member->first); !written) {
        return written;
      }
      text += ':';
      if (auto written = write(member->second, depth); !written) {
        return written;
      }
    }
    text += '}';
    return {};
  }

  static Failure<Fault> too_deep() {
    return Failure{Fault{"arrays and objects nest deeper than " + std::to_string(kMaxJsonDepth)}};
  }
};

// Offset of the bracket that nests too deep; the size when there is none.
std::size_t first_too_deep(std::string_view bytes) {
  int depth = 0;
  bool in_string = false;
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    const char c = bytes[i];
    if (in_string) {
      if (c == '\\') {
        ++i;
      } else if (c == '"') {
        in_string = false;
      }
    } else if (c == '"') {
      in_string = true;
    } else if (c == '[' || c == '{') {
      if (++depth > kMaxJsonDepth) {
        return i;
      }
    } else if (c == ']' || c == '}') {
      --depth;
    }
  }
  return bytes.size();
}

Failure<Fault> fault_at(std::size_t offset, const std::string& what) {
  return Failure{Fault{"byte " + std::to_string(offset) + ": " + what}};
}

Result<json, Fault> json_from_text(std::string_view bytes) {
  try {
    return json::parse(bytes);
  } catch (const json::parse_error& error) {
    return fault_at(error.byte == 0 ? 0 : error.byte - 1, "not JSON");
  } catch (const json::exception&) {
    return Failure{Fault{"a number is beyond what JSON readers hold"}};
  }
}

}  // namespace

std::optional<std::string> es6_text_from_double(double value) {
  if (!std::isfinite(value)) {
    return std::nullopt;
  }
  if (value == 0.0) {
    return "0";
  }
  std::array<char, 32> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), std::abs(value),
                                 std::chars_format::scientific);
  const std::string_view shortest(buffer.data(), static_cast<std::size_t>(end.ptr - buffer.data()));
  const std::size_t e_at = shortest.find('e');
  std::string digits(1, shortest[0]);
  if (e_at > 2) {
    digits += shortest.substr(2, e_at - 2);
  }
  int exponent = 0;
  const char* exponent_at = shortest.data() + e_at + (shortest[e_at + 1] == '+' ? 2 : 1);
  std::from_chars(exponent_at, shortest.data() + shortest.size(), exponent);

  const int count = static_cast<int>(digits.size());
  const int point = exponent + 1;  // digits before the decimal point
  std::string text;
  if (point >= count && point <= 21) {
    text = digits + std::string(static_cast<std::size_t>(point - count), '0');
  } else if (point > 0 && point <= 21) {
    text = digits.insert(static_cast<std::size_t>(point), 1, '.');
  } else if (point > -6 && point <= 0) {
    text = "0." + std::string(static_cast<std::size_t>(-point), '0') + digits;
  } else {
    text = count == 1 ? digits : digits.insert(1, 1, '.');
    text += exponent < 0 ? "e-" : "e+";
    text += std::to_string(std::abs(exponent));
  }
  return value < 0 ? "-" + text : text;
}

Result<std::string, Fault> canonical_from_json(const json& value) {
  Writer writer;
  if (auto written = writer.write(value, 0); !written) {
    return Failure{written.error()};
  }
  return std::move(writer.text);
}

Result<json, Fault> json_from_canonical(std::string_view bytes) {
  if (const std::size_t at = first_too_deep(bytes); at < bytes.size()) {
    return fault_at(at, "arrays and objects nest deeper than " + std::to_string(kMaxJsonDepth));
  }
  auto parsed = json_from_text(bytes);
  if (!parsed) {
    return parsed;
  }
  const auto canonical = canonical_from_json(parsed.value());
  if (!canonical) {
    return Failure{canonical.error()};
  }
  const std::string& expected = canonical.value();
  if (expected != bytes) {
    const auto differs =
        std::mismatch(bytes.begin(), bytes.end(), expected.begin(), expected.end()).first;
    return fault_at(static_cast<std::size_t>(differs - bytes.begin()),
                    "not the canonical spelling (RFC 8785)");
  }
  return parsed;
}

}  // namespace analysis::evidence
