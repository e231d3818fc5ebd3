// Elements of an HTML document as text. Everything that is no markup is escaped here and nowhere
// else. Well-formed as XML too. Internal to the HTML form.
#pragma once

#include <initializer_list>
#include <string>
#include <string_view>
#include <utility>

namespace analysis::certificate {

using Attributes = std::initializer_list<std::pair<std::string_view, std::string_view>>;

// Text that is shown; line ends become <br/>.
[[nodiscard]] std::string shown(std::string_view text);
// `inner` is markup, attribute values are text.
[[nodiscard]] std::string element(std::string_view name, const Attributes& attributes,
                                  std::string_view inner);
[[nodiscard]] std::string element(std::string_view name, std::string_view inner);
// An element without content.
[[nodiscard]] std::string empty_element(std::string_view name, const Attributes& attributes);

}  // namespace analysis::certificate
