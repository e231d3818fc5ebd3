#include "analysis/certificate/html/html_page.hpp"

#include <map>
#include <utility>

#include "analysis/certificate/content/charts.hpp"
#include "analysis/certificate/content/content.hpp"
#include "analysis/certificate/html/markup.hpp"
#include "analysis/certificate/html/pictures.hpp"
#include "analysis/certificate/html/style.hpp"
#include "analysis/drawing/axis.hpp"

namespace analysis::certificate {
namespace {

using drawing::Symbol;

// What is drawn once and stands in several places, or can fail.
struct Pictures {
  std::map<Symbol, std::string> symbols;
  std::string charts;
  std::string code;
};

base::Result<Pictures, drawing::DrawError> pictures_from(const ContentSource& source) {
  Pictures pictures;
  for (const Symbol symbol : {Symbol::disc_tick, Symbol::square_cross, Symbol::diamond_query}) {
    auto drawn = symbol_markup(symbol);
    if (!drawn) {
      return base::Failure{drawn.error()};
    }
    pictures.symbols[symbol] = std::move(drawn).value();
  }
  auto charts = charts_markup(source);
  auto code = code_markup(source);
  if (!charts || !code) {
    return base::Failure{!charts ? charts.error() : code.error()};
  }
  pictures.charts = std::move(charts).value();
  pictures.code = std::move(code).value();
  return pictures;
}

// A paragraph whose direction follows its own first letter.
std::string paragraph(std::string_view text) {
  return element("p", {{"dir", "auto"}}, shown(text));
}
std::string quiet_paragraph(std::string_view text) {
  return element("p", {{"class", "quiet"}, {"dir", "auto"}}, shown(text));
}

// Sections are named by their headings for whoever can't see them.
class Sections {
 public:
  void add(const std::string& heading, const std::string& inner) {
    const std::string id = "part-" + std::to_string(++count_);
    markup_ += element("section", {{"aria-labelledby", id}},
                       element("h2", {{"id", id}}, shown(heading)) + inner) +
               "\n";
  }
  void add_unnamed(const std::string& inner) { markup_ += inner + "\n"; }
  [[nodiscard]] const std::string& markup() const { return markup_; }

 private:
  int count_ = 0;
  std::string markup_;
};

std::string values_markup(const std::vector<drawing::LabelledValue>& values) {
  std::string inner;
  for (const drawing::LabelledValue& value : values) {
    inner +=
        element("dt", shown(value.label)) + element("dd", {{"dir", "auto"}}, shown(value.value));
  }
  return element("dl", inner);
}

std::string cell_markup(const drawing::Cell& cell, const drawing::Column& column,
                        const Pictures& pictures) {
  if (cell.text.empty() && cell.note.empty()) {
    return element("td", {{"role", "cell"}}, "");
  }
  std::string classes = cell.symbol ? "state" : "";
  const auto add_class = [&classes](const char* name) {
    classes += (classes.empty() ? "" : " ") + std::string(name);
  };
  if (cell.bold) {
    add_class("strong");
  }
  if (column.align == drawing::Align::right) {
    add_class("right");
  }
  std::string inner = (cell.symbol ? pictures.symbols.at(*cell.symbol) : "") + shown(cell.text);
  if (!cell.note.empty()) {
    inner += " " + element("span", {{"class", "note"}, {"dir", "auto"}}, shown(cell.note));
  }
  return element(
      "td", {{"role", "cell"}, {"class", classes}, {"data-label", column.title}, {"dir", "auto"}},
      inner);
}

std::string widths_markup(const std::vector<drawing::Column>& columns) {
  double shares = 0.0;
  for (const drawing::Column& column : columns) {
    shares += column.share;
  }
  std::string widths;
  for (const drawing::Column& column : columns) {
    const std::string width =
        "width:" + drawing::number_text(100.0 * column.share / shares, 1) + "%";
    widths += empty_element("col", {{"style", width}});
  }
  return element("colgroup", widths);
}

std::string titles_markup(const std::vector<drawing::Column>& columns) {
  std::string titles;
  for (const drawing::Column& column : columns) {
    const bool right = column.align == drawing::Align::right;
    titles +=
        element("th", {{"role", "columnheader"}, {"scope", "col"}, {"class", right ? "right" : ""}},
                shown(column.title));
  }
  return element("thead", {{"role", "rowgroup"}}, element("tr", {{"role", "row"}}, titles));
}

std::string notes_markup(const TableContent& table) {
  std::string notes;
  for (const std::string& note : table.notes) {
    notes += quiet_paragraph(note);
  }
  return notes;
}

// The roles are repeated, since a table that is set as a list on a narrow screen loses them.
std::string table_markup(const TableContent& table, const Pictures& pictures) {
  if (table.rows.empty()) {
    return paragraph(table.none) + notes_markup(table);
  }
  std::string rows;
  for (const auto& row : table.rows) {
    std::string cells;
    for (std::size_t i = 0; i < row.size(); ++i) {
      cells += cell_markup(row[i], table.columns[i], pictures);
    }
    rows += element("tr", {{"role", "row"}}, cells) + "\n";
  }
  return element("table", {{"role", "table"}},
                 widths_markup(table.columns) + titles_markup(table.columns) +
                     element("tbody", {{"role", "rowgroup"}}, rows)) +
         notes_markup(table);
}

std::string verdict_markup(const ContentSource& source, const Pictures& pictures) {
  const VerdictContent verdict = verdict_content(source);
  std::string words =
      element("h2", {{"id", "verdict"}}, shown(verdict.word)) + paragraph(verdict.meaning);
  for (const std::string& detail : verdict.details) {
    words += quiet_paragraph(detail);
  }
  return element("section", {{"class", "verdict"}, {"aria-labelledby", "verdict"}},
                 pictures.symbols.at(verdict.symbol) + element("div", words));
}

std::string subject_markup(const ContentSource& source) {
  std::string columns;
  for (const LabelledList& list : subject_content(source)) {
    columns += element("div", element("h3", shown(list.title)) + values_markup(list.values));
  }
  return element("section", {{"class", "columns"}}, columns);
}

std::string hours_markup(const HoursContent& hours) {
  const std::string width = "width:" + drawing::number_text(100.0 * hours.share_done, 1) + "%";
  const std::string bar = element("div", {{"class", "bar"}, {"aria-hidden", "true"}},
                                  element("div", {{"style", width}}, ""));
  return element("div", {{"class", "columns"}},
                 element("div", element("p", {{"class", "done"}}, shown(hours.done)) + bar) +
                     element("div", values_markup(hours.left)) +
                     element("div", values_markup(hours.run)));
}

std::string cautions_markup(const CertificateFacts& facts) {
  std::string items;
  for (const std::string& caution : facts.cautions) {
    items += element("li", {{"dir", "auto"}}, shown(caution));
  }
  return element("ul", items);
}

std::string code_line(std::string_view text) { return element("p", element("code", shown(text))); }

std::string proof_markup(const ContentSource& source, const Pictures& pictures) {
  const ProofContent proof = proof_content(source);
  const PagesTexts& texts = source.texts;
  const std::string words =
      quiet_paragraph(proof.digest_label) + code_line(source.digest_hex) +
      quiet_paragraph(proof.readings_label) + code_line(proof.readings_root) +
      element("p", {{"class", "quiet log"}, {"dir", "auto"}}, shown(proof.log_text)) +
      element("h3", shown(texts.how_to_check)) + paragraph(texts.check_digest) +
      code_line(texts.check_verify) + paragraph(texts.check_key) +
      element("p", element("strong", shown(texts.disclaimer))) + quiet_paragraph(proof.software);
  return element("div", {{"class", "proof"}}, pictures.code + element("div", words));
}

std::string sections_markup(const ContentSource& source, const Pictures& pictures) {
  Sections sections;
  const auto add_table = [&](const TableContent& table) {
    sections.add(table.heading, table_markup(table, pictures));
  };
  for (const std::string& notice : notices_content(source)) {
    sections.add_unnamed(element("p", {{"class", "notice"}, {"dir", "auto"}}, shown(notice)));
  }
  sections.add_unnamed(verdict_markup(source, pictures));
  sections.add_unnamed(subject_markup(source));
  const HoursContent hours = hours_content(source);
  sections.add(hours.heading, hours_markup(hours));
  add_table(gates_content(source));
  add_table(limits_content(source));
  add_table(instruments_content(source));
  if (const TableContent notes = site_notes_content(source);
      !notes.rows.empty() || !notes.notes.empty()) {
    add_table(notes);
  }
  sections.add(source.texts.charts_title, pictures.charts + quiet_paragraph(charts_note(source)));
  add_table(excursions_content(source));
  add_table(unknown_time_content(source));
  add_table(lost_records_content(source));
  sections.add(source.texts.cautions_title, cautions_markup(source.facts));
  sections.add(source.texts.proof_title, proof_markup(source, pictures));
  return sections.markup();
}

std::string head_markup(const ContentSource& source) {
  const std::string title =
      std::string(source.texts.document_title) + " " + source.needed(source.facts.number) +
      (source.facts.simulated ? std::string(", ") + source.texts.simulated : "");
  return element("head",
                 empty_element("meta", {{"charset", "utf-8"}}) +
                     empty_element("meta", {{"name", "viewport"},
                                            {"content", "width=device-width, initial-scale=1"}}) +
                     element("title", shown(title)) + element("style", style_sheet()));
}

std::string body_markup(const ContentSource& source, const Pictures& pictures) {
  const PagesTexts& texts = source.texts;
  std::string banner;
  if (source.facts.simulated) {
    banner = element("p", {{"class", "banner"}, {"role", "note"}},
                     element("strong", shown(texts.simulated)) + shown(texts.simulated_banner)) +
             element("div", {{"class", "mark"}, {"aria-hidden", "true"}}, shown(texts.simulated));
  }
  const std::string header =
      element("header", element("h1", shown(texts.document_title)) +
                            element("p", {{"dir", "auto"}}, shown(source.number_text())) +
                            quiet_paragraph(texts.times_are_utc));
  const std::string footer = element(
      "footer",
      quiet_paragraph(source.number_text() + "   " +
                      (source.facts.simulated ? std::string(texts.simulated) : std::string())) +
          quiet_paragraph(filled(texts.digest_footer, {source.digest_hex})));
  return element("body", banner + header + "\n" +
                             element("main", sections_markup(source, pictures)) + "\n" + footer);
}

}  // namespace

base::Result<std::string, PagesError> draw_certificate_html(
    const CertificateFacts& facts, const std::string& certificate_json_sha256_hex,
    const PageOptions& options, const PagesTexts& texts) {
  if (const auto checked = check_drawable(facts, certificate_json_sha256_hex); !checked) {
    return base::Failure{checked.error()};
  }
  const ContentSource source{facts, texts, certificate_json_sha256_hex, options.units,
                             options.redacted_fields};
  const auto pictures = pictures_from(source);
  if (!pictures) {
    return base::Failure{pages_error_from(pictures.error())};
  }
  return "<!DOCTYPE html>\n" +
         element("html", {{"lang", texts.language}},
                 head_markup(source) + "\n" + body_markup(source, pictures.value())) +
         "\n";
}

}  // namespace analysis::certificate
