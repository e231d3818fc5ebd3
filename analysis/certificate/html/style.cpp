#include "analysis/certificate/html/style.hpp"

#include <array>
#include <cmath>
#include <string_view>

#include "analysis/drawing/palette.hpp"

namespace analysis::certificate {
namespace {

using drawing::Colour;
using drawing::NamedColour;

// The same names on a dark ground; text keeps a contrast of at least 4.5 to it, signs of 3 (W3C
// Recommendation WCAG 2.1, 1.4.3 and 1.4.11).
constexpr std::array<NamedColour, drawing::kPalette.size()> kDark{
    {{"ink", {0.91, 0.92, 0.93}},
     {"quiet", {0.68, 0.71, 0.74}},
     {"rule", {0.30, 0.33, 0.36}},
     {"paper", {0.09, 0.10, 0.12}},
     {"wash", {0.14, 0.16, 0.18}},
     {"watermark", {0.15, 0.17, 0.19}},
     {"curve", {0.56, 0.83, 0.94}},
     {"range", {0.18, 0.38, 0.47}},
     {"allowed", {0.12, 0.18, 0.14}},
     {"context", {0.60, 0.63, 0.66}},
     {"alarm", {1.00, 0.60, 0.45}},
     {"met", {0.50, 0.85, 0.68}}}};

std::string hex_from(Colour colour) {
  constexpr std::string_view kDigits = "0123456789abcdef";
  std::string text = "#";
  for (const double part : {colour.red, colour.green, colour.blue}) {
    const auto value = static_cast<std::size_t>(std::lround(part * 255.0));
    text += kDigits[value / 16];
    text += kDigits[value % 16];
  }
  return text;
}

std::string variables_from(const std::array<NamedColour, drawing::kPalette.size()>& palette) {
  std::string text;
  for (const NamedColour& named : palette) {
    text += std::string("--") + named.name + ":" + hex_from(named.colour) + ";";
  }
  return text;
}

// Each colour of the palette as a fill and as a stroke.
std::string picture_rules() {
  std::string text;
  for (const NamedColour& named : drawing::kPalette) {
    const std::string name = named.name;
    text += ".f-" + name + "{fill:var(--" + name + ")}";
    text += ".s-" + name + "{stroke:var(--" + name + ");fill:none}";
  }
  return text;
}

constexpr std::string_view kRules = R"css(
*{box-sizing:border-box}
html{-webkit-text-size-adjust:100%;text-size-adjust:100%}
body{margin:0 auto;padding:0 1rem 2rem;max-width:62rem;background:var(--paper);color:var(--ink);
font:1rem/1.45 "DejaVu Sans",Verdana,Geneva,sans-serif;overflow-wrap:break-word}
h1{font-size:1.25rem;margin:1rem 0 0}
h2{font-size:1.1rem;margin:2rem 0 .5rem;border-bottom:2px solid var(--ink);padding-bottom:.15rem}
h3{font-size:1rem;margin:1rem 0 .35rem}
p{margin:.35rem 0}
code,.m{font-family:"DejaVu Sans Mono",Consolas,Menlo,monospace}
code{overflow-wrap:anywhere;font-size:.9rem}
svg{display:block;width:100%;height:auto}
svg svg{overflow:hidden}
svg text{font-family:"DejaVu Sans",Verdana,Geneva,sans-serif}
svg .b{font-weight:bold}
.quiet{color:var(--quiet);font-size:.9rem}
.banner{position:sticky;top:0;z-index:2;margin:0 -1rem;padding:.5rem 1rem;background:var(--ink);
color:var(--paper);print-color-adjust:exact;-webkit-print-color-adjust:exact}
.banner strong{display:block;font-size:1.15rem;letter-spacing:.05em}
.mark{position:fixed;left:50%;top:50%;transform:translate(-50%,-50%) rotate(-24deg);z-index:-1;
font-size:min(13vw,7rem);font-weight:bold;white-space:nowrap;color:var(--watermark)}
.notice{border:2px solid var(--ink);padding:.5rem .75rem;font-weight:bold;overflow-wrap:anywhere}
.verdict{display:flex;gap:1.25rem;align-items:center;margin:1.25rem 0}
.verdict svg{width:4.5rem;flex:none}
.verdict h2{border:0;margin:0;padding:0;font-size:2rem;line-height:1.1}
.columns{display:grid;grid-template-columns:repeat(3,1fr);gap:0 1.5rem}
dl{display:grid;grid-template-columns:minmax(6rem,max-content) 1fr;gap:.2rem .75rem;margin:0}
dt{color:var(--quiet)}
dd{margin:0;min-width:0}
.done{font-size:1.5rem;font-weight:bold}
.bar{height:.8rem;border:1px solid var(--ink);background:var(--wash)}
.bar div{height:100%;background:var(--curve);print-color-adjust:exact;
-webkit-print-color-adjust:exact}
table{border-collapse:collapse;width:100%;font-size:.92rem}
th{text-align:left;color:var(--quiet);font-weight:normal}
th,td{padding:.3rem .75rem .3rem 0;vertical-align:top;border-bottom:1px solid var(--rule)}
td{overflow-wrap:anywhere}
.right{text-align:right}
.state{white-space:nowrap}
.state svg{display:inline-block;width:.95rem;margin-right:.4rem;vertical-align:-.12rem}
td .note{display:block;color:var(--quiet)}
.strong{font-weight:bold}
.charts .signs{margin:.1rem 0 0;font-size:.85rem}
.charts{display:grid;grid-template-columns:repeat(2,minmax(0,1fr));gap:1rem 1.5rem}
figure{margin:0}
.signs{display:flex;flex-wrap:wrap;gap:.25rem 1.25rem;list-style:none;padding:0;margin:.75rem 0}
.signs svg{display:inline-block;width:1.5rem;margin-right:.4rem;vertical-align:-.1rem}
.proof{display:flex;gap:1.25rem;border:1px solid var(--ink);padding:1rem}
.code{width:10rem;flex:none;background:#fff;--ink:#111;--paper:#fff}
.proof>div:last-child{min-width:0}
footer{margin-top:1.5rem;border-top:1px solid var(--rule)}
@media screen and (max-width:52rem){
.columns,.charts{grid-template-columns:minmax(0,1fr)}
.columns>div+div{margin-top:.75rem}
.proof{flex-direction:column}
.verdict{gap:.9rem}
.verdict svg{width:3.25rem}
.verdict h2{font-size:1.6rem}
table,tbody,tr,td{display:block;width:100%}
thead{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
tr{border-bottom:1px solid var(--rule);padding:.4rem 0}
td{border:0;padding:.05rem 0}
td:empty{display:none}
td[data-label]::before{content:attr(data-label) ": ";color:var(--quiet);font-weight:normal}
td.state::before{content:none}
.right{text-align:left}
}
@media print{
@page{margin:14mm 15mm}
html{font-size:8.5pt}
body{padding:0;max-width:none}
.banner{position:static;margin:0}
h1{margin-top:0}
h2{margin-top:1rem;break-after:avoid}
tr,figure,.proof,.verdict,.notice{break-inside:avoid}
thead{display:table-header-group}
}
)css";

}  // namespace

std::string style_sheet() {
  return ":root{color-scheme:light dark;" + variables_from(drawing::kPalette) + "}\n" +
         "@media screen and (prefers-color-scheme:dark){:root{" + variables_from(kDark) + "}}" +
         std::string(kRules) + picture_rules();
}

}  // namespace analysis::certificate
