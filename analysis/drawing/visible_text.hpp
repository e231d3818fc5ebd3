// Text of others made harmless to show: nothing in it is invisible, re-orders its neighbours or
// ends what stands around it. Pure; any thread.
#pragma once

#include <string>
#include <string_view>

namespace analysis::drawing {

// UTF-8 in which bytes that are none, control characters but the line end and the tab, and the
// characters that turn the order of others round (embeddings, overrides and isolates of Unicode
// Standard Annex 9) are the replacement character.
[[nodiscard]] std::string visible_text(std::string_view text);

// The same with & < > " ' as character references, for element content and quoted attributes of
// HTML and XML.
[[nodiscard]] std::string markup_from_text(std::string_view text);

}  // namespace analysis::drawing
