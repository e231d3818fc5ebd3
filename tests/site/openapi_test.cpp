#include "logger/web/api/openapi.hpp"

#include <map>
#include <nlohmann/json.hpp>
#include <regex>

#include "logger/web/handler/routes.hpp"
#include "tests/site/site_bench.hpp"

using nlohmann::json;

namespace {

// "GET /api/v1/rooms/*/charts/*" and the least right, "" for what is public.
std::map<std::string, std::string> described() {
  std::map<std::string, std::string> routes;
  const json document = json::parse(logger::web::openapi_json());
  for (const auto& [path, methods] : document["paths"].items()) {
    const std::string pattern =
        std::regex_replace(path, std::regex("\\{[a-z0-9]+\\}(\\.svg)?"), "*");
    for (const auto& [method, operation] : methods.items()) {
      std::string upper = method;
      std::transform(upper.begin(), upper.end(), upper.begin(),
                     [](char c) { return static_cast<char>(c - 32); });
      const bool is_public = operation.contains("security") && operation["security"].empty();
      CHECK(is_public != operation.contains("x-least-role"));
      routes[upper + " " + pattern] = operation.value("x-least-role", "");
    }
  }
  return routes;
}

}  // namespace

TEST_CASE("Every route is described with the right it needs, and nothing else is") {
  std::map<std::string, std::string> served;
  for (const auto& rule : logger::web::all_routes()) {
    served[std::string(rule.method) + " " + std::string(rule.pattern)] =
        rule.least ? std::string(name_of(*rule.least)) : "";
  }
  CHECK(described() == served);
}

TEST_CASE("Every reference of the description leads somewhere") {
  const std::string text(logger::web::openapi_json());
  const json document = json::parse(text);
  const std::regex reference("\"\\$ref\": \"#(/[A-Za-z/]+)\"");
  std::size_t found = 0;
  for (std::sregex_iterator it(text.begin(), text.end(), reference), end; it != end; ++it) {
    INFO(it->str());
    CHECK(document.contains(json::json_pointer((*it)[1].str())));
    ++found;
  }
  CHECK(found > 100);
}
