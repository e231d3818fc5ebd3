#include <algorithm>
#include <utility>

#include "analysis/certificate/pages/sections.hpp"

namespace analysis::certificate {
namespace {

using drawing::Align;
using drawing::Block;
using drawing::Canvas;
using drawing::Face;
using drawing::Point;
using drawing::Section;
using drawing::TextStyle;

Block bullet(const Setting& setting, const std::string& text, double width) {
  const double size = setting.body_size() * 0.92;
  const TextStyle style{size, Face::regular, Align::left, drawing::kInk};
  const double indent = size * 1.1;
  Block words = drawing::paragraph(setting.canvas, text, style, width - indent, 2.0);
  const double height = words.height;
  return Block{
      height, [=, draw = std::move(words.draw)](Canvas& canvas, Point at) {
        canvas.fill_rect({at.x, at.y + size * 0.52, size * 0.5, size * 0.14}, drawing::kInk);
        draw(canvas, {at.x + indent, at.y});
      }};
}

Block proof_words(const Setting& setting, double width) {
  const PagesTexts& texts = setting.texts;
  const double size = setting.body_size();
  const TextStyle mono{size * 0.94, Face::mono, Align::left, drawing::kInk};
  const TextStyle label{size * 0.88, Face::regular, Align::left, drawing::kQuiet};
  const TextStyle plain{size * 0.92, Face::regular, Align::left, drawing::kInk};
  const TextStyle bold{size, Face::bold, Align::left, drawing::kInk};
  const auto say = [&](const std::string& text, const TextStyle& style, double after) {
    return drawing::paragraph(setting.canvas, text, style, width, after);
  };
  const ProofContent proof = proof_content(setting);
  return drawing::stacked({say(proof.digest_label, label, 0.0), say(setting.digest_hex, mono, 2.0),
                           say(proof.readings_label, label, 0.0),
                           say(proof.readings_root, mono, 2.0), say(proof.log_text, label, 4.0),
                           say(texts.how_to_check, bold, 1.0), say(texts.check_digest, plain, 0.0),
                           say(texts.check_verify, mono, 0.5), say(texts.check_key, plain, 4.0),
                           say(texts.disclaimer, bold, 2.0), say(proof.software, label, 0.0)});
}

}  // namespace

Section limits_section(const Setting& setting) {
  const TableContent table = limits_content(setting);
  Section section =
      drawing::table_in_halves(setting.canvas, setting.heading(table.heading), table.columns,
                               table.rows, setting.width, kColumnGap, setting.table_style());
  const TextStyle style{setting.body_size() * 0.88, Face::regular, Align::left, drawing::kQuiet};
  section.body.push_back(Block{2.0, {}});
  for (const std::string& note : table.notes) {
    section.body.push_back(drawing::paragraph(setting.canvas, note, style, setting.width, 0.0));
  }
  section.space_before = setting.section_space();
  section.whole = true;
  return section;
}

Section cautions_section(const Setting& setting) {
  const double width = (setting.width - kColumnGap) / 2.0;
  std::vector<Block> left;
  std::vector<Block> right;
  const std::size_t half = (setting.facts.cautions.size() + 1) / 2;
  for (const std::string& caution : setting.facts.cautions) {
    (left.size() < half ? left : right).push_back(bullet(setting, caution, width));
  }
  Section section = drawing::beside(
      drawing::titled_section(setting.canvas, setting.heading(setting.texts.cautions_title), width,
                              std::move(left)),
      drawing::titled_section(setting.canvas, {" ", " ", setting.heading(" ").size}, width,
                              std::move(right)),
      width + kColumnGap);
  section.space_before = setting.section_space();
  return section;
}

Section proof_section(const Setting& setting) {
  const double side = 92.0 * setting.scale;
  const double inset = 8.0;
  const double indent = side + 14.0;
  Block words = proof_words(setting, setting.width - indent - 2.0 * inset);
  const double height = std::max(words.height, side) + 2.0 * inset;
  Section section = drawing::titled_section(
      setting.canvas, setting.heading(setting.texts.proof_title), setting.width,
      {Block{height, [=, width = setting.width, code = setting.code](Canvas& canvas, Point at) {
               canvas.stroke_rect({at.x, at.y, width, height},
                                  drawing::Pen{drawing::kInk, 0.8, drawing::Dash::solid});
               drawing::draw_qr(canvas, code, {at.x + inset, at.y + inset}, side);
               words.draw(canvas, {at.x + inset + indent, at.y + inset});
             }}});
  section.space_before = setting.section_space();
  section.whole = true;
  return section;
}

}  // namespace analysis::certificate
