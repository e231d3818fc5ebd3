#include "analysis/drawing/qr_code.hpp"

#include <qrencode.h>

#include <memory>

namespace analysis::drawing {
namespace {

struct CodeRelease {
  void operator()(QRcode* code) const { QRcode_free(code); }
};

constexpr int kQuietModules = 4;          // ISO/IEC 18004, quiet zone of a QR code
constexpr std::size_t kMostBytes = 2331;  // ISO/IEC 18004, version 40, level M, byte mode

}  // namespace

base::Result<QrMatrix, DrawError> qr_matrix_from(std::string_view text) {
  if (text.empty() || text.size() > kMostBytes) {
    return base::Failure{DrawError::not_encodable};
  }
  const std::unique_ptr<QRcode, CodeRelease> code(
      QRcode_encodeData(static_cast<int>(text.size()),
                        reinterpret_cast<const unsigned char*>(text.data()), 0, QR_ECLEVEL_M));
  if (!code) {
    return base::Failure{DrawError::not_encodable};
  }
  QrMatrix matrix{code->width, {}};
  const std::size_t count =
      static_cast<std::size_t>(code->width) * static_cast<std::size_t>(code->width);
  matrix.dark.reserve(count);
  for (std::size_t i = 0; i < count; ++i) {
    matrix.dark.push_back((code->data[i] & 1U) != 0);
  }
  return matrix;
}

void draw_qr(Canvas& canvas, const QrMatrix& matrix, Point top_left, double side) {
  const double module = side / (matrix.side + 2 * kQuietModules);
  canvas.fill_rect({top_left.x, top_left.y, side, side}, kPaper);
  for (int row = 0; row < matrix.side; ++row) {
    for (int column = 0; column < matrix.side;) {
      // Dark runs are drawn whole: viewers leave hairlines between rectangles that only touch.
      int end = column;
      while (end < matrix.side && matrix.dark_at(row, end)) {
        ++end;
      }
      if (end > column) {
        canvas.fill_rect(
            {top_left.x + module * (column + kQuietModules),
             top_left.y + module * (row + kQuietModules), module * (end - column), module},
            kInk);
      }
      column = end + 1;
    }
  }
}

}  // namespace analysis::drawing
