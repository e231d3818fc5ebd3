#include "analysis/plan/layout/cut_list.hpp"

#include <array>
#include <map>

#include "analysis/plan/room/length_text.hpp"

namespace analysis::plan {
namespace {

constexpr double kWorthNaming = 0.001;  // metres of rest

PiecePlace place_of(std::size_t piece, std::size_t pieces) {
  if (pieces == 1) {
    return PiecePlace::between_walls;
  }
  return piece == 0            ? PiecePlace::begins
         : piece + 1 == pieces ? PiecePlace::ends
                               : PiecePlace::inside;
}

// Pieces in the order of laying; what of each panel is left as they are cut.
class CutLister {
 public:
  explicit CutLister(const CutSource& source) : source_(source) {}

  std::vector<CutRow> list(const RowLayout& layout) {
    for (std::size_t i = 0; i < layout.rows.size(); ++i) {
      add_row(layout.rows[i], static_cast<int>(i) + 1);
    }
    return std::move(rows_);
  }

 private:
  struct Left {
    std::array<std::size_t, 3> piece{};  // row, run, place in it: the last one cut from the panel
    double length = 0.0;
  };

  void add_row(const Row& row, int number) {
    const double width = row.high_y_m - row.low_y_m;
    rows_.push_back({number, Metres{width}, width < source_.panel.width.value() - kSameLength, {}});
    for (const auto& run : row.runs) {
      rows_.back().runs.emplace_back();
      for (std::size_t i = 0; i < run.size(); ++i) {
        add_piece(run[i], place_of(i, run.size()));
        rows_.back().runs.back().back().shape = shape_of(source_.floor, row, run[i]);
      }
    }
  }

  void add_piece(const Piece& piece, PiecePlace place) {
    CutRow& row = rows_.back();
    CutPiece cut{Metres{piece.length_m()}, piece.panel, PieceOrigin::whole_panel, place, {}, {}};
    if (!piece.whole) {
      const auto found = left_.find(piece.panel);
      const bool is_rest = found != left_.end();
      cut.origin = is_rest ? PieceOrigin::rest : PieceOrigin::new_panel;
      const double before = is_rest ? found->second.length : source_.panel.length.value();
      const double after = before - piece.length_m() - source_.rules.saw_cut.value();
      cut.rest.length = Metres{after < kWorthNaming ? 0.0 : after};
      if (is_rest) {
        const auto& [earlier_row, earlier_run, earlier] = found->second.piece;
        RestUse& use = rows_[earlier_row].runs[earlier_run][earlier].rest;
        use.row = row.row;
        use.place = place;
      }
      left_[piece.panel] = {{rows_.size() - 1, row.runs.size() - 1, row.runs.back().size()}, after};
    }
    row.runs.back().push_back(cut);
  }

  const CutSource& source_;
  std::vector<CutRow> rows_;
  std::map<int, Left> left_;
};

std::string rest_text(const RestUse& rest, bool imperial) {
  if (rest.length.value() <= 0.0) {
    return "";
  }
  const std::string length = " (rest " + sawn_text_from(rest.length, imperial);
  if (rest.is_waste()) {
    return length + " is waste)";
  }
  const char* use = rest.place == PiecePlace::begins ? " begins row "
                    : rest.place == PiecePlace::ends ? " ends row "
                                                     : " fills a run of row ";
  return length + use + std::to_string(rest.row) + ")";
}

std::string piece_text(const CutPiece& piece, bool imperial) {
  return sawn_text_from(piece.length, imperial) +
         (piece.origin == PieceOrigin::rest ? ", rest of panel " : " of panel ") +
         std::to_string(piece.panel) + rest_text(piece.rest, imperial);
}

}  // namespace

std::vector<CutRow> cut_list_from(const RowLayout& layout, const CutSource& source) {
  return CutLister(source).list(layout);
}

std::string pieces_text_from(const CutRow& row, bool imperial) {
  std::string text;
  for (const auto& run : row.runs) {
    text += text.empty() ? "" : " | ";
    int whole = 0;
    std::string separator;
    const auto say = [&](const std::string& said) {
      text += separator + said;
      separator = ", ";
    };
    const auto say_whole = [&] {
      if (whole > 0) {
        say(std::to_string(whole) + " whole");
      }
      whole = 0;
    };
    for (const CutPiece& piece : run) {
      if (piece.origin == PieceOrigin::whole_panel) {
        ++whole;
        continue;
      }
      say_whole();
      say(piece_text(piece, imperial));
    }
    say_whole();
  }
  return text;
}

std::string rip_text_from(const CutRow& row, bool imperial) {
  std::string text = row.ripped ? sawn_text_from(row.width, imperial) : kFullWidth;
  std::vector<std::string> pieces;
  for (const auto& run : row.runs) {
    for (const CutPiece& piece : run) {
      pieces.push_back(text_from(piece.shape, imperial));
    }
  }
  for (std::size_t i = 0; i < pieces.size();) {
    std::size_t end = i + 1;
    while (end < pieces.size() && pieces[end] == pieces[i]) {
      ++end;
    }
    if (!pieces[i].empty()) {
      text += "; piece" +
              (end - i > 1 ? "s " + std::to_string(i + 1) + " to " + std::to_string(end)
                           : " " + std::to_string(end)) +
              ": " + pieces[i];
    }
    i = end;
  }
  return text;
}

}  // namespace analysis::plan
