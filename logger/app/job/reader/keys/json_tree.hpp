// JSON text as a tree that knows its lines, which the JSON library's own tree does not. Comments
// allowed; duplicate keys, trailing bytes, deep nesting and endless lists refused. Pure.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace logger::app {

inline constexpr std::size_t kDeepestNesting = 16;
inline constexpr std::size_t kMostMembers = 1000;  // of one object or list

enum class JsonKind { null, boolean, number, text, list, object };
[[nodiscard]] std::string_view name_of(JsonKind kind);  // for people: "a number"

struct JsonMember;

struct JsonNode {
  JsonKind kind = JsonKind::null;
  int line = 0;  // where it begins, from 1
  bool boolean = false;
  double number = 0.0;
  std::optional<std::uint64_t> whole_number;  // exact, where it is written as one and not negative
  std::string text;
  std::vector<JsonNode> items;
  std::vector<JsonMember> members;  // in the order of the text

  bool refused = false;  // a check found it wrong: no value is taken from it

  // The first of that key; nullptr when there is none. O(members).
  [[nodiscard]] const JsonNode* find(std::string_view key) const;
};

struct JsonMember {
  std::string key;
  int line = 0;
  bool repeated = false;  // the key stood there before
  JsonNode value;
};

struct JsonFault {
  int line = 0;
  std::string path;  // "boxes[0].port"
  std::string text;
};

struct JsonTree {
  std::optional<JsonNode> root;   // nullopt after a fault that ended the reading
  std::vector<JsonFault> faults;  // duplicate keys, and what ended the reading
};

[[nodiscard]] JsonTree tree_from_json(std::string_view text);

}  // namespace logger::app
