#include "logger/app/job/reader/job_parts.hpp"

namespace logger::app {

const JsonNode* ObjectView::find(std::string_view key, JsonKind kind) const {
  const JsonNode* const found = node_ == nullptr ? nullptr : node_->find(key);
  return found != nullptr && found->kind == kind && !found->refused ? found : nullptr;
}
bool ObjectView::has(std::string_view key) const {
  return node_ != nullptr && node_->find(key) != nullptr;
}
int ObjectView::line_of(std::string_view key) const {
  return has(key) ? node_->find(key)->line : node_ == nullptr ? 0 : node_->line;
}
std::optional<double> ObjectView::number(std::string_view key) const {
  const JsonNode* const found = find(key, JsonKind::number);
  return found == nullptr ? std::nullopt : std::optional(found->number);
}
std::optional<std::uint64_t> ObjectView::whole_number(std::string_view key) const {
  const JsonNode* const found = find(key, JsonKind::number);
  return found == nullptr ? std::nullopt : found->whole_number;
}
std::optional<std::string> ObjectView::text(std::string_view key) const {
  const JsonNode* const found = find(key, JsonKind::text);
  return found == nullptr ? std::nullopt : std::optional(found->text);
}
std::optional<bool> ObjectView::boolean(std::string_view key) const {
  const JsonNode* const found = find(key, JsonKind::boolean);
  return found == nullptr ? std::nullopt : std::optional(found->boolean);
}
std::optional<UtcMicros> ObjectView::moment(std::string_view key, DayReading day) const {
  const auto written = text(key);
  return written ? moment_from_text(*written, day) : std::nullopt;
}
ObjectView ObjectView::object(std::string_view key) const {
  return ObjectView(find(key, JsonKind::object));
}
bool ObjectView::is_null(std::string_view key) const {
  return find(key, JsonKind::null) != nullptr;
}
const std::vector<JsonNode>& ObjectView::items(std::string_view key) const {
  static const std::vector<JsonNode> none;
  const JsonNode* const found = find(key, JsonKind::list);
  return found == nullptr ? none : found->items;
}

}  // namespace logger::app
