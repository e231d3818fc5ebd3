#include "analysis/drawing/canvas.hpp"

#include <catch2/catch.hpp>
#include <string>

#include "analysis/drawing/qr_code.hpp"

using namespace analysis::drawing;
using analysis::base::UtcMicros;

namespace {

constexpr UtcMicros kIssued{1763712180LL * 1000000};  // 2025-11-21T08:03:00Z
const TextStyle kStyle{10.0, Face::regular, Align::left, kInk};

std::string one_page_pdf(std::string_view text) {
  auto canvas = Canvas::pdf(kA4, {"title", "", "", "", kIssued}).value();
  canvas.text({40, 40}, text, kStyle, 300);
  return canvas.finish().value();
}

std::string png_with(std::string_view text) {
  auto canvas = Canvas::png({200, 40}, 2.0).value();
  canvas.text({10, 10}, text, kStyle, kNoWrap);
  return canvas.finish().value();
}

}  // namespace

TEST_CASE("PdfCarriesTheGivenDateAndNoOther") {
  const std::string pdf = one_page_pdf("text");
  CHECK(pdf.substr(0, 5) == "%PDF-");
  std::size_t dates = 0;
  for (std::size_t i = pdf.find("Date ("); i != std::string::npos; i = pdf.find("Date (", i + 1)) {
    CHECK(pdf.substr(i, 22) == "Date (20251121080300Z)");
    ++dates;
  }
  CHECK(dates == 2);
}

TEST_CASE("TheSameCallsGiveTheSameBytes") {
  CHECK(one_page_pdf("21.5 °C, 52 %RH") == one_page_pdf("21.5 °C, 52 %RH"));
  CHECK(png_with("21.5 °C") == png_with("21.5 °C"));
  CHECK(one_page_pdf("21.5") != one_page_pdf("21.6"));
}

TEST_CASE("TextMarksThePng") {
  const std::string blank = png_with("");
  const std::string marked = png_with("READY");
  CHECK(marked.substr(1, 3) == "PNG");
  CHECK(marked.size() > blank.size() + 200);
}

TEST_CASE("TextWrapsAtTheWidthAndInsideLongWordsToo") {
  auto canvas = Canvas::png({400, 400}, 1.0).value();
  const TextExtent line = canvas.measure("one two three", kStyle, kNoWrap);
  CHECK(line.lines == 1);
  const TextExtent wrapped = canvas.measure("one two three", kStyle, line.width * 0.6);
  CHECK(wrapped.lines == 2);
  CHECK(wrapped.height == Approx(2.0 * line.height));
  const TextExtent word = canvas.measure(std::string(80, 'w'), kStyle, 100.0);
  CHECK(word.lines > 5);
  CHECK(word.width <= 100.0);
}

TEST_CASE("BytesThatAreNotUtf8AreShownNotDropped") {
  auto canvas = Canvas::png({200, 40}, 1.0).value();
  const double sound = canvas.measure("ab", kStyle, kNoWrap).width;
  CHECK(canvas
            .measure("a\xff\xfe"
                     "b",
                     kStyle, kNoWrap)
            .width > sound);
  CHECK(canvas.measure(std::string_view("a\0b", 3), kStyle, kNoWrap).width > sound);
  CHECK(canvas.finish());
}

TEST_CASE("AnImpossibleSizeIsAnError") {
  const auto canvas = Canvas::png({1e9, 1e9}, 1.0);
  REQUIRE_FALSE(canvas);
  CHECK(canvas.error() == DrawError::surface_failed);
}

TEST_CASE("VersionsNameEveryLibraryAndTheFont") {
  const std::string versions = drawing_versions().value();
  for (const char* name : {"cairo 1.", "pango 1.", "harfbuzz ", "qrencode ", "DejaVu Sans 2."}) {
    INFO(versions);
    CHECK(versions.find(name) != std::string::npos);
  }
}

// Source: ISO/IEC 18004, finder patterns (7 x 7, dark ring, light ring, dark 3 x 3) in three
// corners, and timing patterns alternating in row and column 6; from memory.
TEST_CASE("QrCodeHasFinderAndTimingPatterns") {
  const QrMatrix matrix = qr_matrix_from("sha256:" + std::string(64, 'a')).value();
  CHECK((matrix.side - 17) % 4 == 0);
  const auto finder_at = [&](int top, int left) {
    for (int row = 0; row < 7; ++row) {
      for (int column = 0; column < 7; ++column) {
        const int ring = std::max(std::abs(row - 3), std::abs(column - 3));
        if (matrix.dark_at(top + row, left + column) != (ring != 2)) {
          return false;
        }
      }
    }
    return true;
  };
  CHECK(finder_at(0, 0));
  CHECK(finder_at(0, matrix.side - 7));
  CHECK(finder_at(matrix.side - 7, 0));
  for (int i = 8; i < matrix.side - 8; ++i) {
    CHECK(matrix.dark_at(6, i) == (i % 2 == 0));
    CHECK(matrix.dark_at(i, 6) == (i % 2 == 0));
  }
}

TEST_CASE("TooMuchTextForAQrCodeIsRefused") {
  CHECK(qr_matrix_from("").error() == DrawError::not_encodable);
  CHECK(qr_matrix_from(std::string(2332, 'x')).error() == DrawError::not_encodable);
  CHECK(qr_matrix_from(std::string(2331, 'x')));
}
