#include "analysis/drawing/table.hpp"

#include <algorithm>
#include <cassert>

namespace analysis::drawing {
namespace {

constexpr double kNoteScale = 0.88;
constexpr double kTitleScale = 0.86;
constexpr double kSymbolRoom = 1.55;  // of the text size, symbol and the space after it
constexpr double kHeadingSpace = 3.0;

struct Span {
  double x = 0.0;
  double width = 0.0;
};

std::vector<Span> spans_from(const std::vector<Column>& columns, double width,
                             const TableStyle& style) {
  double shares = 0.0;
  for (const Column& column : columns) {
    shares += column.share;
  }
  const double room = width - style.column_space * static_cast<double>(columns.size() - 1);
  std::vector<Span> spans;
  double x = 0.0;
  for (const Column& column : columns) {
    const double own = room * column.share / shares;
    spans.push_back({x, own});
    x += own + style.column_space;
  }
  return spans;
}

// A cell with its place and the styles it is set in.
struct SetCell {
  Cell cell;
  Span span;
  TextStyle text;
  TextStyle note;
  double text_height = 0.0;
  double height = 0.0;

  [[nodiscard]] double indent() const { return cell.symbol ? text.size * kSymbolRoom : 0.0; }
};

SetCell set_cell(const Canvas& canvas, const Cell& cell, const Span& span, const Column& column,
                 const TableStyle& style) {
  SetCell set{
      cell, span,
      TextStyle{style.text_size, cell.bold ? Face::bold : Face::regular, column.align, kInk},
      TextStyle{style.text_size * kNoteScale, Face::regular, column.align, kQuiet}};
  const double width = span.width - set.indent();
  set.text_height = canvas.measure(cell.text, set.text, width).height;
  set.height = set.text_height;
  if (!cell.note.empty()) {
    set.height += canvas.measure(cell.note, set.note, width).height;
  }
  return set;
}

void draw_cell(Canvas& canvas, const SetCell& set, Point at) {
  const double x = at.x + set.span.x;
  if (set.cell.symbol) {
    const double first_line = canvas.measure("x", set.text, kNoWrap).height;
    draw_symbol(canvas, *set.cell.symbol, {x + set.text.size * 0.55, at.y + first_line / 2.0},
                set.text.size * 1.05);
  }
  const double width = set.span.width - set.indent();
  canvas.text({x + set.indent(), at.y}, set.cell.text, set.text, width);
  if (!set.cell.note.empty()) {
    canvas.text({x + set.indent(), at.y + set.text_height}, set.cell.note, set.note, width);
  }
}

Block row_block(const Canvas& canvas, const std::vector<Cell>& row,
                const std::vector<Column>& columns, const std::vector<Span>& spans, double width,
                const TableStyle& style) {
  assert(row.size() == columns.size());
  std::vector<SetCell> cells;
  double tallest = 0.0;
  const bool last_empty = row.size() > 1 && row.back().text.empty() && row.back().note.empty();
  for (std::size_t i = 0; i < row.size() - (last_empty ? 1 : 0); ++i) {
    Span span = spans[i];
    if (last_empty && i + 2 == row.size()) {
      span.width = width - span.x;
    }
    cells.push_back(set_cell(canvas, row[i], span, columns[i], style));
    tallest = std::max(tallest, cells.back().height);
  }
  const double height = tallest + 2.0 * style.row_space;
  return Block{
      height,
      [cells = std::move(cells), width, height, space = style.row_space](Canvas& on, Point at) {
        for (const SetCell& cell : cells) {
          draw_cell(on, cell, {at.x, at.y + space});
        }
        on.line({at.x, at.y + height}, {at.x + width, at.y + height}, Pen{kRule, 0.5, Dash::solid});
      }};
}

Block title_row(const Canvas& canvas, const std::vector<Column>& columns,
                const std::vector<Span>& spans, double width, const TableStyle& style) {
  const bool untitled = std::all_of(columns.begin(), columns.end(),
                                    [](const Column& column) { return column.title.empty(); });
  const auto line = [width](Canvas& on, Point at, double y) {
    on.line({at.x, at.y + y}, {at.x + width, at.y + y}, Pen{kInk, 0.8, Dash::solid});
  };
  if (untitled) {
    return Block{1.0, [line](Canvas& on, Point at) { line(on, at, 0.5); }};
  }
  double tallest = 0.0;
  std::vector<TextStyle> styles;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    styles.push_back({style.text_size * kTitleScale, Face::regular, columns[i].align, kQuiet});
    tallest = std::max(tallest, canvas.measure(columns[i].title, styles[i], spans[i].width).height);
  }
  const double height = tallest + 3.0;
  return Block{height, [columns, spans, styles, line, height](Canvas& on, Point at) {
                 for (std::size_t i = 0; i < columns.size(); ++i) {
                   on.text({at.x + spans[i].x, at.y}, columns[i].title, styles[i], spans[i].width);
                 }
                 line(on, at, height - 0.5);
               }};
}

}  // namespace

Block stacked(std::vector<Block> blocks) {
  double height = 0.0;
  for (const Block& block : blocks) {
    height += block.height;
  }
  return Block{height, [blocks = std::move(blocks)](Canvas& canvas, Point at) {
                 for (const Block& block : blocks) {
                   if (block.draw) {
                     block.draw(canvas, at);
                   }
                   at.y += block.height;
                 }
               }};
}

Block paragraph(const Canvas& canvas, std::string text, const TextStyle& style, double width,
                double space_after) {
  const double height = canvas.measure(text, style, width).height + space_after;
  return Block{height, [text = std::move(text), style, width](Canvas& on, Point at) {
                 on.text(at, text, style, width);
               }};
}

Section titled_section(const Canvas& canvas, const Heading& heading, double width,
                       std::vector<Block> body) {
  const TextStyle style{heading.size, Face::bold, Align::left, kInk};
  Section section;
  section.lead = paragraph(canvas, heading.text, style, width, kHeadingSpace);
  section.lead_again = paragraph(canvas, heading.again, style, width, kHeadingSpace);
  section.body = std::move(body);
  return section;
}

Section table_section(const Canvas& canvas, const Heading& heading,
                      const std::vector<Column>& columns,
                      const std::vector<std::vector<Cell>>& rows, double width,
                      const TableStyle& style) {
  const std::vector<Span> spans = spans_from(columns, width, style);
  std::vector<Block> body;
  body.reserve(rows.size());
  for (const std::vector<Cell>& row : rows) {
    body.push_back(row_block(canvas, row, columns, spans, width, style));
  }
  Section section = titled_section(canvas, heading, width, std::move(body));
  const Block titles = title_row(canvas, columns, spans, width, style);
  section.lead = stacked({std::move(section.lead), titles});
  section.lead_again = stacked({std::move(section.lead_again), titles});
  return section;
}

Section table_in_halves(const Canvas& canvas, const Heading& heading,
                        const std::vector<Column>& columns,
                        const std::vector<std::vector<Cell>>& rows, double width, double gap,
                        const TableStyle& style) {
  const double half_width = (width - gap) / 2.0;
  const auto half = static_cast<std::ptrdiff_t>((rows.size() + 1) / 2);
  const std::vector<std::vector<Cell>> first(rows.begin(), rows.begin() + half);
  const std::vector<std::vector<Cell>> second(rows.begin() + half, rows.end());
  const Heading none{" ", " ", heading.size};
  return beside(table_section(canvas, heading, columns, first, half_width, style),
                table_section(canvas, none, columns, second, half_width, style), half_width + gap);
}

Block labelled_values(const Canvas& canvas, std::vector<LabelledValue> values, double label_width,
                      double width, double text_size) {
  const TextStyle label{text_size * kNoteScale, Face::regular, Align::left, kQuiet};
  const TextStyle value{text_size, Face::regular, Align::left, kInk};
  const double baseline_shift = text_size * (1.0 - kNoteScale);
  std::vector<Block> lines;
  for (LabelledValue& pair : values) {
    const double height =
        std::max(canvas.measure(pair.label, label, label_width).height + baseline_shift,
                 canvas.measure(pair.value, value, width - label_width).height) +
        1.8;
    lines.push_back(
        Block{height, [pair = std::move(pair), label, value, label_width, width, baseline_shift](
                          Canvas& on, Point at) {
                on.text({at.x, at.y + baseline_shift}, pair.label, label, label_width);
                on.text({at.x + label_width, at.y}, pair.value, value, width - label_width);
              }});
  }
  return stacked(std::move(lines));
}

}  // namespace analysis::drawing
