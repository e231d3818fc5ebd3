// Text in measured blocks: headings, paragraphs, label-value lists and tables with wrapping cells.
// Nothing is drawn here; the blocks go through flow.hpp and draw themselves on their page.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/drawing/canvas.hpp"
#include "analysis/drawing/flow.hpp"
#include "analysis/drawing/symbols.hpp"

namespace analysis::drawing {

struct Cell {
  std::string text;
  std::string note = {};                        // below the text, small and quiet; empty = none
  std::optional<Symbol> symbol = std::nullopt;  // before the text
  bool bold = false;
};

struct Column {
  std::string title;
  double share = 1.0;  // of the width, relative to the other columns
  Align align = Align::left;
};

struct TableStyle {
  double text_size = 8.0;
  double row_space = 2.6;  // above and below each row's text
  double column_space = 8.0;
};

// A heading: `again` is what it says where the section goes on over a page end.
struct Heading {
  std::string text;
  std::string again;
  double size = 10.0;
};

// A section of the full `width`: heading, column titles (none when all are empty), one block a row.
// An empty last cell leaves its room to the one before. REQUIRES: every row has as many cells as
// there are columns.
[[nodiscard]] Section table_section(const Canvas& canvas, const Heading& heading,
                                    const std::vector<Column>& columns,
                                    const std::vector<std::vector<Cell>>& rows, double width,
                                    const TableStyle& style);

// The same in two halves side by side, `gap` apart, for short rows.
[[nodiscard]] Section table_in_halves(const Canvas& canvas, const Heading& heading,
                                      const std::vector<Column>& columns,
                                      const std::vector<std::vector<Cell>>& rows, double width,
                                      double gap, const TableStyle& style);

// A section with a heading and a body of the caller's.
[[nodiscard]] Section titled_section(const Canvas& canvas, const Heading& heading, double width,
                                     std::vector<Block> body);

// A paragraph wrapped to `width`, with `space_after` below it.
[[nodiscard]] Block paragraph(const Canvas& canvas, std::string text, const TextStyle& style,
                              double width, double space_after);

struct LabelledValue {
  std::string label;
  std::string value;
};
// Labels in a column of their own at the left, values wrapped beside them.
[[nodiscard]] Block labelled_values(const Canvas& canvas, std::vector<LabelledValue> values,
                                    double label_width, double width, double text_size);

// One block from several, one below the other.
[[nodiscard]] Block stacked(std::vector<Block> blocks);

}  // namespace analysis::drawing
