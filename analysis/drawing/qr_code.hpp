// QR codes (ISO/IEC 18004) through libqrencode. Thread contract: free functions, no shared state.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "analysis/drawing/canvas.hpp"

namespace analysis::drawing {

// Square, `side` modules in each direction, row by row; true = dark. Without the quiet zone.
struct QrMatrix {
  int side = 0;
  std::vector<bool> dark;
  [[nodiscard]] bool dark_at(int row, int column) const {
    return dark[static_cast<std::size_t>(row * side + column)];
  }
};

// Byte mode, error correction level M (restores about 15 %; ISO/IEC 18004).
// not_encodable for an empty text or more than a symbol holds (2331 bytes at level M).
[[nodiscard]] base::Result<QrMatrix, DrawError> qr_matrix_from(std::string_view text);

// Fills the square with the code and the quiet zone of four modules that readers need.
void draw_qr(Canvas& canvas, const QrMatrix& matrix, Point top_left, double side);

}  // namespace analysis::drawing
