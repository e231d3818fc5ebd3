#include <nlohmann/json.hpp>

#include "logger/app/site/room_series.hpp"
#include "tests/site/site_bench.hpp"

using namespace site_tests;
using logger::web::SeriesQuery;
using nlohmann::json;

namespace {

json page_of(const SiteBench& bench, const SeriesQuery& query) {
  auto opened = bench.open();
  const auto text = series_json_from(opened, query);
  REQUIRE(text);
  return json::parse(text.value());
}

UtcMicros minute(std::int64_t n) { return kBegin + Micros{n * kMinuteMs * 1000}; }

SeriesQuery of_hall(int limit) {
  SeriesQuery query;
  query.room = "hall";
  query.limit = limit;
  return query;
}

}  // namespace

TEST_CASE("Pages joined are the whole, whatever their length") {
  SiteBench bench;
  bench.add_minutes(0, 59);
  const json whole = page_of(bench, of_hall(kMostPoints));
  CHECK(whole["next_from_utc"].is_null());
  REQUIRE(whole["points"].size() == 60 * 4);  // two boxes carry channels of the room
  for (const int limit : {1, 3, 4, 5, 7, 100, 239, 240}) {
    INFO("limit " << limit);
    json joined = json::array();
    SeriesQuery query = of_hall(limit);
    std::size_t pages = 0;
    while (true) {
      const json page = page_of(bench, query);
      REQUIRE(++pages <= 60);
      for (const json& point : page["points"]) {
        joined.push_back(point);
      }
      CHECK(page["points"].size() <= static_cast<std::size_t>(std::max(limit, 4)));
      if (page["next_from_utc"].is_null()) {
        break;
      }
      query.from = analysis::base::utc_from_rfc3339(page["next_from_utc"].get<std::string>());
      REQUIRE(query.from);
    }
    CHECK(joined == whole["points"]);
  }
}

TEST_CASE("A point has its unit in its key, its raw count and its quality") {
  SiteBench bench;
  bench.add_minutes(0, 20);
  SeriesQuery query = of_hall(100);
  query.from = minute(7);
  query.to = minute(9);
  const json points = page_of(bench, query)["points"];
  REQUIRE(points.size() == 8);
  CHECK(points[0]["channel"] == "t");
  CHECK(points[0]["temperature_celsius"].is_null());
  CHECK(points[0]["raw_counts"].is_null());
  CHECK(points[0]["quality"] == "no_answer");
  CHECK(points[1]["relative_humidity_percent_rh"] == 50.02);
  CHECK(points[1]["raw_counts"] == 5002);
  CHECK(points[1]["quality"] == "good");
  CHECK(points[4]["temperature_celsius"] == 20.01);
  CHECK(points[4]["at_utc"] == "2026-03-02T09:08:00Z");
  CHECK(points[4]["time_error_seconds"] >= 0.002);
  CHECK(points[4]["time_error_seconds"] < 1.0);
  query.channel = "rh";
  CHECK(page_of(bench, query)["points"].size() == 2);
}

TEST_CASE("A sensor that stands still is told so on every page") {
  SiteBench bench;
  bench.add_minutes(0, 600);
  SeriesQuery query = of_hall(kMostPoints);
  query.channel = "core-2";
  const json whole = page_of(bench, query)["points"];
  CHECK(whole.front()["quality"] == "good");
  CHECK(whole.back()["quality"] == "frozen");
  CHECK(whole.back()["temperature_celsius"].is_null());
  query.from = minute(590);
  CHECK(page_of(bench, query)["points"].front()["quality"] == "frozen");
}

TEST_CASE("What there is not, and what makes no sense, is refused") {
  SiteBench bench;
  bench.add_minutes(0, 2);
  auto opened = bench.open();
  const auto code = [&](const SeriesQuery& query) {
    const auto text = series_json_from(opened, query);
    REQUIRE_FALSE(text);
    return text.error().code;
  };
  using logger::store::ErrorCode;
  SeriesQuery query = of_hall(1);
  query.room = "cellar";
  CHECK(code(query) == ErrorCode::not_found);
  query = of_hall(1);
  query.channel = "attic-t";  // of another room
  CHECK(code(query) == ErrorCode::not_found);
  CHECK(code(of_hall(0)) == ErrorCode::invalid_input);
  CHECK(code(of_hall(kMostPoints + 1)) == ErrorCode::invalid_input);
  query = of_hall(1);
  query.from = query.to = minute(1);
  CHECK(code(query) == ErrorCode::invalid_input);
}
