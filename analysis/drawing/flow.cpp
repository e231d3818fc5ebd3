#include "analysis/drawing/flow.hpp"

#include <algorithm>

namespace analysis::drawing {
namespace {

// Rows of a body that must follow the lead on the same page.
constexpr std::size_t kRowsWithLead = 2;
constexpr double kRounding = 1e-6;

enum class Edge { top, bottom };

Block side_by_side(Block left, Block right, double offset, Edge edge) {
  const double height = std::max(left.height, right.height);
  const double left_down = edge == Edge::bottom ? height - left.height : 0.0;
  const double right_down = edge == Edge::bottom ? height - right.height : 0.0;
  return Block{height,
               [=, left = std::move(left), right = std::move(right)](Canvas& canvas, Point at) {
                 if (left.draw) {
                   left.draw(canvas, {at.x, at.y + left_down});
                 }
                 if (right.draw) {
                   right.draw(canvas, {at.x + offset, at.y + right_down});
                 }
               }};
}

class Stack {
 public:
  Stack(double first_height, double other_height) : heights_{first_height, other_height} {
    pages_.emplace_back();
  }

  [[nodiscard]] bool fits(double height) const { return y_ + height <= page_height() + kRounding; }
  [[nodiscard]] bool at_top() const { return pages_.back().empty(); }
  void new_page() {
    pages_.emplace_back();
    y_ = 0.0;
  }
  void skip(double height) { y_ += height; }
  void put(const Block& block) {
    pages_.back().push_back({block, y_});
    y_ += block.height;
  }
  [[nodiscard]] std::vector<PageContent> pages() && { return std::move(pages_); }
  // Of a page after this one.
  [[nodiscard]] double other_height() const { return heights_[1]; }

 private:
  [[nodiscard]] double page_height() const {
    return pages_.size() == 1 ? heights_[0] : heights_[1];
  }
  double heights_[2];
  double y_ = 0.0;
  std::vector<PageContent> pages_;
};

// What must stand together at the section's start.
double start_height(const Section& section, double page_height) {
  const double all = height_of(section);
  if (section.whole && all <= page_height + kRounding) {
    return all;
  }
  double height = section.lead.height;
  for (std::size_t i = 0; i < std::min(kRowsWithLead, section.body.size()); ++i) {
    if (height + section.body[i].height > page_height) {
      break;
    }
    height += section.body[i].height;
  }
  return height;
}

bool put_body_row(Stack& stack, const Section& section, const Block& row) {
  if (!stack.fits(row.height)) {
    stack.new_page();
    stack.put(section.lead_again);
    if (!stack.fits(row.height)) {
      return false;
    }
  }
  stack.put(row);
  return true;
}

bool put_section(Stack& stack, const Section& section) {
  const double start = start_height(section, stack.other_height());
  if (!stack.at_top()) {
    if (stack.fits(section.space_before + start)) {
      stack.skip(section.space_before);
    } else {
      stack.new_page();
    }
  }
  if (!stack.fits(section.lead.height)) {
    return false;
  }
  stack.put(section.lead);
  return std::all_of(section.body.begin(), section.body.end(),
                     [&](const Block& row) { return put_body_row(stack, section, row); });
}

}  // namespace

double height_of(const Section& section) {
  double height = section.lead.height;
  for (const Block& block : section.body) {
    height += block.height;
  }
  return height;
}

Section beside(Section left, Section right, double offset) {
  Section both;
  both.space_before = std::max(left.space_before, right.space_before);
  both.whole = left.whole || right.whole;
  both.lead = side_by_side(std::move(left.lead), std::move(right.lead), offset, Edge::bottom);
  both.lead_again =
      side_by_side(std::move(left.lead_again), std::move(right.lead_again), offset, Edge::bottom);
  const std::size_t rows = std::max(left.body.size(), right.body.size());
  left.body.resize(rows);
  right.body.resize(rows);
  for (std::size_t i = 0; i < rows; ++i) {
    both.body.push_back(
        side_by_side(std::move(left.body[i]), std::move(right.body[i]), offset, Edge::top));
  }
  return both;
}

base::Result<std::vector<PageContent>, DrawError> paginate(const std::vector<Section>& sections,
                                                           double first_height,
                                                           double other_height) {
  Stack stack(first_height, other_height);
  for (const Section& section : sections) {
    if (!put_section(stack, section)) {
      return base::Failure{DrawError::too_tall};
    }
  }
  return std::move(stack).pages();
}

void draw_pages(Canvas& canvas, Point content, const std::vector<PageContent>& pages,
                const std::function<void(std::size_t number, std::size_t count)>& frame) {
  for (std::size_t i = 0; i < pages.size(); ++i) {
    if (i > 0) {
      canvas.next_page();
    }
    frame(i + 1, pages.size());
    for (const PlacedBlock& placed : pages[i]) {
      if (placed.block.draw) {
        placed.block.draw(canvas, {content.x, content.y + placed.y});
      }
    }
  }
}

}  // namespace analysis::drawing
