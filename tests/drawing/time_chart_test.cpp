#include "analysis/drawing/time_chart.hpp"

#include <catch2/catch.hpp>
#include <cmath>

using namespace analysis::drawing;
using analysis::base::micros_from_hours;
using analysis::base::UtcMicros;

namespace {

TimeChart sample_chart() {
  TimeChart chart;
  chart.title = "Room air temperature";
  chart.unit = "°C";
  chart.from = UtcMicros{1763193600LL * 1000000};
  chart.bucket = micros_from_hours(1);
  ChartLine line;
  for (int i = 0; i < 72; ++i) {
    const double mean = 20.0 + 2.0 * std::sin(i * 0.26);
    if (i / 3 == 10) {
      line.buckets.emplace_back(std::nullopt);
    } else {
      line.buckets.emplace_back(RangeBucket{mean - 0.4, mean, mean + 0.3});
    }
  }
  chart.lines.push_back(line);
  chart.limit_low = 17.0;
  chart.limit_high = 21.5;
  chart.excursions = {
      {{chart.from + micros_from_hours(5), chart.from + micros_from_hours(8)}, "1"}};
  return chart;
}

constexpr Size kSize{480, 220};

}  // namespace

TEST_CASE("ChartBytesAreTheSameEachTime") {
  CHECK(draw_time_chart_svg(sample_chart(), kSize).value() ==
        draw_time_chart_svg(sample_chart(), kSize).value());
  CHECK(draw_time_chart_png(sample_chart(), kSize, 1.5).value() ==
        draw_time_chart_png(sample_chart(), kSize, 1.5).value());
}

TEST_CASE("SvgIsOneCompleteDocument") {
  const std::string svg = draw_time_chart_svg(sample_chart(), kSize).value();
  CHECK(svg.find("<svg ") != std::string::npos);
  CHECK(svg.rfind("</svg>") != std::string::npos);
  CHECK(svg.find("width=\"480pt\"") != std::string::npos);
  CHECK(svg.find("nan") == std::string::npos);
}

TEST_CASE("EachPartOfTheChartChangesThePicture") {
  const std::string whole = draw_time_chart_png(sample_chart(), kSize, 1.0).value();
  const auto differs = [&](auto change) {
    TimeChart chart = sample_chart();
    change(chart);
    return draw_time_chart_png(chart, kSize, 1.0).value() != whole;
  };
  CHECK(differs([](TimeChart& c) { c.limit_high.reset(); }));
  CHECK(differs([](TimeChart& c) { c.excursions.clear(); }));
  CHECK(differs([](TimeChart& c) { c.lines[0].buckets[40].reset(); }));
  CHECK(differs([](TimeChart& c) { c.lines[0].buckets[40]->high += 1.0; }));
  CHECK(differs([](TimeChart& c) {
    c.gaps = {{c.from + micros_from_hours(50.2), c.from + micros_from_hours(50.4)}};
  }));
}

TEST_CASE("TheKeyTakesAnotherRowRatherThanBeCutOff") {
  const ChartStyle style{8.0, true};
  const ChartWords words;
  const auto key_in = [&](double width) {
    Canvas canvas = Canvas::markup({1000.0, 60.0}).value();
    const double height = draw_chart_key(canvas, {0.0, 0.0}, width, style, words);
    CHECK(height == chart_key_height(canvas, width, style, words));
    return std::pair(height, canvas.finish().value());
  };
  const auto [one_row, unwrapped] = key_in(kNoWrap);
  const auto [wide, in_wide] = key_in(900.0);
  const auto [narrow, in_narrow] = key_in(356.0);
  CHECK(wide == one_row);
  CHECK(in_wide == unwrapped);
  CHECK(narrow == Approx(2.0 * one_row));
  std::size_t texts = 0;
  for (std::size_t at = in_narrow.find("textLength=\""); at != std::string::npos;
       at = in_narrow.find("textLength=\"", at + 1)) {
    const std::size_t x = in_narrow.rfind(" x=\"", at);
    CHECK(std::stod(in_narrow.substr(x + 4)) + std::stod(in_narrow.substr(at + 12)) <= 356.0);
    ++texts;
  }
  CHECK(texts == chart_signs(words).size());
}

TEST_CASE("AChartWithoutDataSaysSo") {
  TimeChart chart = sample_chart();
  for (auto& bucket : chart.lines[0].buckets) {
    bucket.reset();
  }
  const std::string empty = draw_time_chart_png(chart, kSize, 1.0).value();
  ChartWords words;
  words.nothing_recorded = "";
  CHECK(empty != draw_time_chart_png(chart, kSize, 1.0, words).value());
  chart.lines.clear();
  CHECK(draw_time_chart_png(chart, kSize, 1.0));
}

TEST_CASE("FlatSingleAndLopsidedSeriesAreDrawn") {
  TimeChart chart = sample_chart();
  chart.limit_low.reset();
  chart.limit_high.reset();
  chart.lines[0].buckets.assign(1, RangeBucket{20.0, 20.0, 20.0});
  CHECK(draw_time_chart_png(chart, kSize, 1.0));
  chart.lines.push_back(chart.lines[0]);
  chart.lines[1].buckets.assign(50, RangeBucket{-40.0, 0.0, 85.0});
  CHECK(draw_time_chart_svg(chart, kSize));
}
