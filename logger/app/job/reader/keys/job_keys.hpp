// What job.json may say: every object with its keys, their kinds and ranges. The unit of a number
// is the end of its key's name. docs/job-file.md says the same for people; a test holds them
// together.
#pragma once

#include <span>
#include <string_view>

namespace logger::app {

enum class KeyKind {
  text,          // low..high characters
  identifier,    // lower-case letters, digits, - and _, at most 32
  choice,        // one of `choices`
  whole_number,  // low..high
  number,        // low..high
  boolean,
  moment,  // RFC 3339 with offset, or a date alone
  object,  // of `child`
  object_or_null,
  object_list,  // low..high entries of `child`
  text_list,    // low..high entries, out of `choices` where there are some
};

struct ObjectKeys;

struct KeyRule {
  std::string_view name;
  KeyKind kind = KeyKind::text;
  bool required = false;
  double low = 0.0;
  double high = 0.0;
  std::span<const std::string_view> choices;
  const ObjectKeys* child = nullptr;
};

struct ObjectKeys {
  std::span<const KeyRule> keys;
  // A key that its neighbours have and this one can't, and what is said of it.
  std::string_view refused_key{};
  std::string_view refused_text{};
};

inline constexpr std::string_view kJobFormat = "dwellog-job/1";

// The object that is the whole file.
[[nodiscard]] const ObjectKeys& job_file_keys();

// "°C" for "low_celsius"; empty when the name ends in no unit.
[[nodiscard]] std::string_view unit_from_key(std::string_view key);
// The name without its unit, ours or a foreign one: "low" for "low_fahrenheit".
[[nodiscard]] std::string_view stem_from_key(std::string_view key);

}  // namespace logger::app
