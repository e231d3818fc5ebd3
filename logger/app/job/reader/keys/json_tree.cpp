#include "logger/app/job/reader/keys/json_tree.hpp"

#include <algorithm>
#include <cstddef>
#include <iterator>
#include <nlohmann/json.hpp>

namespace logger::app {
namespace {

// Counts lines while the library reads. A line end counts only when the next byte is read, because
// the library looks one byte past a number.
struct LineCount {
  int line = 1;
  bool line_ended = false;
};

class CountingIterator {
 public:
  using iterator_category = std::input_iterator_tag;
  using value_type = char;
  using difference_type = std::ptrdiff_t;
  using pointer = const char*;
  using reference = const char&;

  CountingIterator(const char* at, LineCount* count) : at_(at), count_(count) {}
  reference operator*() const { return *at_; }
  CountingIterator& operator++() {
    count_->line += count_->line_ended ? 1 : 0;
    count_->line_ended = *at_ == '\n';
    ++at_;
    return *this;
  }
  CountingIterator operator++(int) {
    const CountingIterator before = *this;
    ++*this;
    return before;
  }
  bool operator==(const CountingIterator& other) const { return at_ == other.at_; }
  bool operator!=(const CountingIterator& other) const { return at_ != other.at_; }

 private:
  const char* at_;
  LineCount* count_;
};

bool contains(std::string_view text, std::string_view part) {
  return text.find(part) != std::string_view::npos;
}

// The library's message without its own prefix, with a word on the slips people make most.
std::string syntax_text(std::string_view what) {
  const std::size_t prefix_end = what.find("syntax error ");
  std::string text(prefix_end == std::string_view::npos ? what.substr(what.find("] ") + 2)
                                                        : what.substr(prefix_end));
  // What it quotes may be no UTF-8.
  std::replace_if(
      text.begin(), text.end(), [](unsigned char byte) { return byte >= 0x80; }, '?');
  if (contains(what, "unexpected '}'; expected string literal") ||
      contains(what, "unexpected ']'; expected '['")) {
    text += "; no comma may stand before a closing bracket";
  } else if (contains(what, "unexpected string literal; expected '}'")) {
    text += "; a comma is missing before it";
  }
  return text;
}

// Builds the tree from the library's events. `open_` holds the lists and objects that are not
// closed yet; their addresses are stable, since a parent only grows after its child was closed.
class TreeBuilder {
 public:
  explicit TreeBuilder(const LineCount& count) : count_(count) {}

  bool null() { return add({}) != nullptr; }
  bool boolean(bool value) {
    JsonNode node;
    node.kind = JsonKind::boolean;
    node.boolean = value;
    return add(std::move(node)) != nullptr;
  }
  bool number_integer(std::int64_t value) { return add_number(static_cast<double>(value), {}); }
  bool number_unsigned(std::uint64_t value) {
    return add_number(static_cast<double>(value), value);
  }
  bool number_float(double value, const std::string&) { return add_number(value, {}); }
  bool string(std::string& value) {
    JsonNode node;
    node.kind = JsonKind::text;
    node.text = std::move(value);
    return add(std::move(node)) != nullptr;
  }
  static bool binary(nlohmann::json::binary_t&) { return false; }  // never in text
  bool start_object(std::size_t) { return open(JsonKind::object); }
  bool start_array(std::size_t) { return open(JsonKind::list); }
  bool end_object() { return close(); }
  bool end_array() { return close(); }
  bool key(std::string& name);
  bool parse_error(std::size_t, const std::string&, const nlohmann::json::exception& error) {
    return end_with("", syntax_text(error.what()));
  }

  [[nodiscard]] JsonTree take(bool complete) {
    JsonTree tree;
    tree.faults = std::move(faults_);
    if (complete) {
      tree.root = std::move(root_);
    }
    return tree;
  }

 private:
  bool end_with(std::string path, std::string text) {
    faults_.push_back({count_.line, std::move(path), std::move(text)});
    return false;
  }
  bool add_number(double value, std::optional<std::uint64_t> whole) {
    JsonNode node;
    node.kind = JsonKind::number;
    node.number = value;
    node.whole_number = whole;
    return add(std::move(node)) != nullptr;
  }
  JsonNode* add(JsonNode node);
  bool open(JsonKind kind) {
    if (open_.size() == kDeepestNesting) {
      return end_with(path(), "nested more than " + std::to_string(kDeepestNesting) + " deep");
    }
    JsonNode node;
    node.kind = kind;
    JsonNode* const added = add(std::move(node));
    if (added != nullptr) {
      open_.push_back(added);
    }
    return added != nullptr;
  }
  bool close() {
    open_.pop_back();
    return true;
  }
  [[nodiscard]] std::string path() const;

  const LineCount& count_;
  JsonNode root_;
  std::vector<JsonNode*> open_;
  std::vector<JsonFault> faults_;
};

// Where the next value goes: the root, the end of a list, or the member whose key came last.
JsonNode* TreeBuilder::add(JsonNode node) {
  node.line = count_.line;
  if (open_.empty()) {
    root_ = std::move(node);
    return &root_;
  }
  JsonNode& parent = *open_.back();
  if (parent.kind == JsonKind::list) {
    if (parent.items.size() == kMostMembers) {
      end_with(path(), "more than " + std::to_string(kMostMembers) + " entries");
      return nullptr;
    }
    return &parent.items.emplace_back(std::move(node));
  }
  JsonNode& place = parent.members.back().value;
  place = std::move(node);
  return &place;
}

bool TreeBuilder::key(std::string& name) {
  JsonNode& parent = *open_.back();
  if (parent.members.size() == kMostMembers) {
    return end_with(path(), "more than " + std::to_string(kMostMembers) + " keys");
  }
  const auto first = std::find_if(parent.members.begin(), parent.members.end(),
                                  [&](const JsonMember& member) { return member.key == name; });
  const bool repeated = first != parent.members.end();
  if (repeated) {
    const std::string where = path();
    faults_.push_back({count_.line, where + (where.empty() ? "" : ".") + name,
                       "duplicate key; the first one is on line " + std::to_string(first->line)});
  }
  parent.members.push_back({std::move(name), count_.line, repeated, {}});
  return true;
}

// Of the innermost open list or object.
std::string TreeBuilder::path() const {
  std::string text;
  for (std::size_t i = 0; i + 1 < open_.size(); ++i) {
    if (open_[i]->kind == JsonKind::list) {
      text += "[" + std::to_string(open_[i]->items.size() - 1) + "]";
    } else {
      text += (text.empty() ? "" : ".") + open_[i]->members.back().key;
    }
  }
  return text;
}

}  // namespace

std::string_view name_of(JsonKind kind) {
  switch (kind) {
    case JsonKind::null:
      return "null";
    case JsonKind::boolean:
      return "true or false";
    case JsonKind::number:
      return "a number";
    case JsonKind::text:
      return "text in quotes";
    case JsonKind::list:
      return "a list [ ]";
    case JsonKind::object:
      return "an object { }";
  }
  return "unknown";
}

const JsonNode* JsonNode::find(std::string_view key) const {
  for (const JsonMember& member : members) {
    if (member.key == key) {
      return &member.value;
    }
  }
  return nullptr;
}

JsonTree tree_from_json(std::string_view text) {
  LineCount count;
  TreeBuilder builder(count);
  const bool complete = nlohmann::json::sax_parse(
      CountingIterator(text.data(), &count), CountingIterator(text.data() + text.size(), &count),
      &builder, nlohmann::json::input_format_t::json, /*strict=*/true, /*ignore_comments=*/true);
  return builder.take(complete);
}

}  // namespace logger::app
