#include "logger/web/handler/request/target.hpp"

#include <algorithm>
#include <charconv>

namespace logger::web {

namespace {

int digit_from_hex(char c) {
  if (c >= '0' && c <= '9') {
    return c - '0';
  }
  const char lower = static_cast<char>(c | 0x20);
  return lower >= 'a' && lower <= 'f' ? lower - 'a' + 10 : -1;
}

std::optional<std::string> decoded(std::string_view text, bool plus_is_space) {
  std::string out;
  out.reserve(text.size());
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] != '%') {
      out += text[i] == '+' && plus_is_space ? ' ' : text[i];
      continue;
    }
    const int high = i + 2 < text.size() ? digit_from_hex(text[i + 1]) : -1;
    const int low = i + 2 < text.size() ? digit_from_hex(text[i + 2]) : -1;
    if (high < 0 || low < 0) {
      return std::nullopt;
    }
    out += static_cast<char>(high * 16 + low);
    i += 2;
  }
  return out;
}

bool is_control(char c) {
  return static_cast<unsigned char>(c) < 0x20 || static_cast<unsigned char>(c) == 0x7F;
}

bool is_good_segment(const std::string& segment) {
  return !segment.empty() && segment != "." && segment != ".." &&
         std::none_of(segment.begin(), segment.end(),
                      [](char c) { return is_control(c) || c == '/' || c == '\\'; });
}

// Calls part(piece) for each piece between separators until it gives false.
template <class Part>
bool split(std::string_view text, char separator, Part part) {
  for (;;) {
    const std::size_t end = text.find(separator);
    if (!part(text.substr(0, end))) {
      return false;
    }
    if (end == std::string_view::npos) {
      return true;
    }
    text.remove_prefix(end + 1);
  }
}

}  // namespace

std::optional<Fields> fields_from(std::string_view text) {
  Fields fields;
  const bool good = split(text, '&', [&](std::string_view piece) {
    if (piece.empty()) {
      return true;
    }
    const std::size_t equals = std::min(piece.find('='), piece.size());
    const std::string_view value = piece.substr(std::min(equals + 1, piece.size()));
    auto name = decoded(piece.substr(0, equals), true);
    auto content = decoded(value, true);
    const auto has_nul = [](const std::string& part) {
      return part.find('\0') != std::string::npos;
    };
    if (!name || !content || has_nul(*name) || has_nul(*content)) {
      return false;
    }
    fields.emplace_back(std::move(*name), std::move(*content));
    return true;
  });
  return good ? std::optional(std::move(fields)) : std::nullopt;
}

std::optional<Target> target_from(std::string_view text) {
  if (text.empty() || text.front() != '/' || text.find('#') != std::string_view::npos ||
      std::any_of(text.begin(), text.end(), is_control)) {
    return std::nullopt;
  }
  Target target;
  const std::size_t question = std::min(text.find('?'), text.size());
  if (question < text.size()) {
    auto query = fields_from(text.substr(question + 1));
    if (!query) {
      return std::nullopt;
    }
    target.query = std::move(*query);
  }
  const std::string_view path = text.substr(1, question - 1);
  const bool good = path.empty() || split(path, '/', [&](std::string_view piece) {
                      auto segment = decoded(piece, false);
                      if (!segment || !is_good_segment(*segment)) {
                        return false;
                      }
                      target.segments.push_back(std::move(*segment));
                      return true;
                    });
  return good ? std::optional(std::move(target)) : std::nullopt;
}

const std::string* only_field(const Fields& fields, std::string_view name) {
  const std::string* found = nullptr;
  for (const auto& [key, value] : fields) {
    if (key == name) {
      if (found != nullptr) {
        return nullptr;
      }
      found = &value;
    }
  }
  return found;
}

std::optional<std::int64_t> whole_number_from(std::string_view text, std::int64_t least,
                                              std::int64_t most) {
  std::int64_t number = 0;
  const char* const end = text.data() + text.size();
  const auto [stopped, error] = std::from_chars(text.data(), end, number);
  if (text.empty() || text.front() == '-' || error != std::errc{} || stopped != end ||
      number < least || number > most) {
    return std::nullopt;
  }
  return number;
}

}  // namespace logger::web
