// Stacks measured blocks onto pages: what does not fit goes to the next page, never cut. Pure apart
// from the drawing that the blocks do themselves.
#pragma once

#include <cstddef>
#include <functional>
#include <vector>

#include "analysis/drawing/canvas.hpp"

namespace analysis::drawing {

// Something of a known height that draws itself at a top left corner.
struct Block {
  double height = 0.0;
  std::function<void(Canvas&, Point)> draw;  // may be empty: white space
};

// A lead (heading, column titles) that never stands alone at the foot of a page, and its body.
// Where the body goes on over a page end, `lead_again` is put on top of it there.
struct Section {
  Block lead;
  Block lead_again;
  std::vector<Block> body;
  double space_before = 0.0;  // dropped at the top of a page
  bool whole = false;         // keep on one page where it fits on one
};
[[nodiscard]] double height_of(const Section& section);  // without the space before

// Two sections in columns: blocks of equal rank side by side, `offset` = x of the right one. Leads
// of different heights end on one line, so that both bodies begin there.
[[nodiscard]] Section beside(Section left, Section right, double offset);

struct PlacedBlock {
  Block block;
  double y = 0.0;  // of its top, from the top of the page's content
};
using PageContent = std::vector<PlacedBlock>;

// Content heights of the first page and of each other one. too_tall where a single block, with the
// lead it needs, does not fit on a page of its own. At least one page.
[[nodiscard]] base::Result<std::vector<PageContent>, DrawError> paginate(
    const std::vector<Section>& sections, double first_height, double other_height);

// Draws the pages onto a PDF, each with what `frame` (number from 1, count) draws first; their
// contents begin at `content`.
void draw_pages(Canvas& canvas, Point content, const std::vector<PageContent>& pages,
                const std::function<void(std::size_t number, std::size_t count)>& frame);

}  // namespace analysis::drawing
