#include "analysis/drawing/flow.hpp"

#include <catch2/catch.hpp>

#include "analysis/drawing/table.hpp"

using namespace analysis::drawing;

namespace {

Section section_of(double lead, std::vector<double> rows) {
  Section section;
  section.lead.height = lead;
  section.lead_again.height = lead;
  for (const double row : rows) {
    section.body.push_back({row, {}});
  }
  return section;
}

std::vector<double> tops_of(const PageContent& page) {
  std::vector<double> tops;
  for (const PlacedBlock& placed : page) {
    tops.push_back(placed.y);
  }
  return tops;
}

}  // namespace

TEST_CASE("RowsThatDoNotFitGoOnUnderARepeatedLead") {
  const auto pages = paginate({section_of(10, {30, 30, 30, 30})}, 80, 80).value();
  REQUIRE(pages.size() == 2);
  CHECK(tops_of(pages[0]) == std::vector<double>{0, 10, 40});
  CHECK(tops_of(pages[1]) == std::vector<double>{0, 10, 40});
}

TEST_CASE("ALeadNeverStandsAloneAtTheFootOfAPage") {
  const auto pages = paginate({section_of(10, {50}), section_of(10, {20, 20})}, 80, 80).value();
  REQUIRE(pages.size() == 2);
  CHECK(pages[0].size() == 2);
  CHECK(pages[1].size() == 3);
}

TEST_CASE("AWholeSectionMovesToTheNextPageAsOne") {
  Section whole = section_of(10, {20, 20, 20});
  whole.whole = true;
  const auto pages = paginate({section_of(10, {30}), whole}, 100, 100).value();
  REQUIRE(pages.size() == 2);
  CHECK(pages[1].size() == 4);
}

TEST_CASE("AWholeSectionTallerThanAPageIsBrokenAfterAll") {
  Section whole = section_of(10, {40, 40, 40});
  whole.whole = true;
  CHECK(paginate({whole}, 100, 100).value().size() == 2);
}

TEST_CASE("SpaceBeforeIsDroppedAtTheTopOfAPage") {
  Section first = section_of(10, {30});
  first.space_before = 7;
  Section second = section_of(10, {30});
  second.space_before = 7;
  const auto pages = paginate({first, second}, 100, 100).value();
  REQUIRE(pages.size() == 1);
  CHECK(tops_of(pages[0]) == std::vector<double>{0, 10, 47, 57});
}

TEST_CASE("ABlockTallerThanAPageIsAnErrorNotACut") {
  const auto pages = paginate({section_of(10, {95})}, 100, 100);
  REQUIRE_FALSE(pages);
  CHECK(pages.error() == DrawError::too_tall);
  CHECK(paginate({section_of(101, {})}, 100, 100).error() == DrawError::too_tall);
}

TEST_CASE("NoSectionsStillMakeAPage") { CHECK(paginate({}, 100, 100).value().size() == 1); }

TEST_CASE("ColumnsShareTheHeightOfTheTallerRow") {
  const Section both = beside(section_of(10, {20, 30, 5}), section_of(12, {25}), 100);
  CHECK(both.lead.height == 12);
  REQUIRE(both.body.size() == 3);
  CHECK(both.body[0].height == 25);
  CHECK(both.body[1].height == 30);
  CHECK(height_of(both) == 12 + 25 + 30 + 5);
}

TEST_CASE("ATableRowIsAsTallAsItsLongestCell") {
  auto canvas = Canvas::png({400, 400}, 1.0).value();
  const std::string text(300, 'x');
  const TableStyle style;
  const std::vector<Column> columns{{"a", 1.0}, {"b", 1.0}};
  const Section one = table_section(canvas, {"h", "h", 10}, columns,
                                    {{{.text = "short"}, {.text = "short"}}}, 300, style);
  const Section two = table_section(canvas, {"h", "h", 10}, columns,
                                    {{{.text = "short"}, {.text = text}}}, 300, style);
  CHECK(two.body[0].height > 5 * one.body[0].height);
}

TEST_CASE("AnEmptyLastCellLeavesItsRoomToTheOneBefore") {
  auto canvas = Canvas::png({400, 400}, 1.0).value();
  const std::string text(60, 'x');
  const std::vector<Column> columns{{"a", 1.0}, {"b", 1.0}};
  const auto height_with = [&](const std::string& last) {
    return table_section(canvas, {"h", "h", 10}, columns, {{{.text = text}, {.text = last}}}, 300,
                         {})
        .body[0]
        .height;
  };
  CHECK(height_with("") < height_with("x"));
}
