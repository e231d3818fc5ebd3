// What a request asks for, taken apart: path, query, form fields. Percent-decoded once. Pure.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace logger::web {

// In the order given; names may repeat.
using Fields = std::vector<std::pair<std::string, std::string>>;

struct Target {
  std::vector<std::string> segments;  // of the path, decoded; "/" has none
  Fields query;
};

// Origin form alone (RFC 9112, 3.2.1). nullopt: not beginning with '/', a bad escape, a control
// character or '/' once decoded, a dot segment, an empty segment, a fragment.
[[nodiscard]] std::optional<Target> target_from(std::string_view text);

// application/x-www-form-urlencoded. nullopt: a bad escape or a NUL once decoded.
[[nodiscard]] std::optional<Fields> fields_from(std::string_view text);

// The only field of that name; nullptr when there is none or more than one.
[[nodiscard]] const std::string* only_field(const Fields& fields, std::string_view name);

// Decimal digits alone, within the limits; nullopt otherwise.
[[nodiscard]] std::optional<std::int64_t> whole_number_from(std::string_view text,
                                                            std::int64_t least, std::int64_t most);

}  // namespace logger::web
