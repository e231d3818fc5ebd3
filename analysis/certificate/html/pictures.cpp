#include "analysis/certificate/html/pictures.hpp"

#include <utility>

#include "analysis/certificate/content/charts.hpp"
#include "analysis/certificate/content/values.hpp"
#include "analysis/certificate/html/markup.hpp"
#include "analysis/drawing/axis.hpp"
#include "analysis/drawing/qr_code.hpp"
#include "analysis/drawing/time_chart.hpp"

namespace analysis::certificate {
namespace {

using drawing::Canvas;
using drawing::Size;

// Drawn narrow, so that its words can be read where the screen is.
constexpr Size kChart{340.0, 190.0};
constexpr double kChartText = 10.0;
constexpr Size kSign{16.0, 8.0};
constexpr Size kSymbol{20.0, 20.0};
constexpr Size kCode{100.0, 100.0};

template <class Draw>
Markup picture(Size size, Draw draw) {
  auto made = Canvas::markup(size);
  if (!made) {
    return base::Failure{made.error()};
  }
  Canvas canvas = std::move(made).value();
  draw(canvas);
  return canvas.finish();
}

std::string description_of(const drawing::TimeChart& chart, const PagesTexts& texts) {
  drawing::ValueExtent extent;
  for (const auto& bucket : chart.lines.front().buckets) {
    if (bucket) {
      extent.take(bucket->low);
      extent.take(bucket->high);
    }
  }
  if (!extent.any) {
    return filled(texts.chart_without_data, {chart.title});
  }
  const base::TimeRange span = drawing::span_of(chart);
  return filled(texts.chart_described,
                {chart.title, chart.unit, moment_text(span.from), moment_text(span.to),
                 drawing::number_text(extent.low, 1), drawing::number_text(extent.high, 1)});
}

Markup signs_markup(const std::vector<drawing::ChartSign>& signs) {
  std::string items;
  for (const drawing::ChartSign& sign : signs) {
    const Markup drawn = picture(kSign, [&](Canvas& canvas) {
      sign.draw(canvas, {0.0, 1.0, kSign.width, kSign.height - 1.0});
    });
    if (!drawn) {
      return drawn;
    }
    items += element("li", {{"dir", "auto"}}, drawn.value() + shown(sign.meaning));
  }
  return element("ul", {{"class", "signs"}}, items);
}

// One chart, and which of its lines is which where there are several.
Markup chart_markup(const drawing::TimeChart& chart, const PagesTexts& texts) {
  const Markup drawn = picture(kChart, [&](Canvas& canvas) {
    drawing::draw_time_chart(canvas, chart, {0.0, 0.0, kChart.width, kChart.height},
                             {.text_size = kChartText, .legend = false}, texts.chart_words);
  });
  if (!drawn) {
    return drawn;
  }
  const std::string figure = element(
      "figure", {{"role", "img"}, {"aria-label", description_of(chart, texts)}}, drawn.value());
  if (chart.lines.size() < 2) {
    return element("div", figure);
  }
  const Markup signs = signs_markup(drawing::line_signs(chart));
  return signs ? element("div", figure + signs.value()) : signs;
}

}  // namespace

Markup symbol_markup(drawing::Symbol symbol) {
  return picture(kSymbol, [symbol](Canvas& canvas) {
    drawing::draw_symbol(canvas, symbol, {kSymbol.width / 2.0, kSymbol.height / 2.0},
                         0.9 * kSymbol.width);
  });
}

Markup charts_markup(const ContentSource& source) {
  std::string charts;
  for (const drawing::TimeChart& chart : charts_from(source.facts, source.units, source.texts)) {
    const Markup drawn = chart_markup(chart, source.texts);
    if (!drawn) {
      return drawn;
    }
    charts += drawn.value();
  }
  const Markup signs = signs_markup(drawing::chart_signs(source.texts.chart_words));
  return signs ? element("div", {{"class", "charts"}}, charts) + signs.value() : signs;
}

Markup code_markup(const ContentSource& source) {
  const auto code = drawing::qr_matrix_from("sha256:" + source.digest_hex);
  if (!code) {
    return base::Failure{code.error()};
  }
  const Markup drawn = picture(kCode, [&](Canvas& canvas) {
    drawing::draw_qr(canvas, code.value(), {0.0, 0.0}, kCode.width);
  });
  return drawn ? element("div",
                         {{"class", "code"},
                          {"role", "img"},
                          {"aria-label", source.texts.code_described}},
                         drawn.value())
               : drawn;
}

}  // namespace analysis::certificate
