#include "logger/web/page/page_html.hpp"

#include <catch2/catch.hpp>
#include <fstream>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>

#include "analysis/drawing/palette.hpp"
#include "logger/web/page/assets.hpp"

using logger::web::address_of;
using logger::web::asset_named;
using logger::web::login_page_html;
using logger::web::page_html;
using logger::web::Principal;
using logger::web::Role;
using nlohmann::ordered_json;

namespace {

constexpr std::string_view kAssets[] = {"page.js", "page.css", "icon.svg", "page.webmanifest",
                                        "worker.js"};

ordered_json example() {
  std::ifstream file("tests/browser/status_example.json");
  return ordered_json::parse(file);
}

std::string html_from(const ordered_json& status, Role role = Role::viewer) {
  const Principal principal{"u1", role == Role::shared ? "" : "A. Sample", role};
  return page_html({status, principal, "token-of-the-session"});
}

bool has(std::string_view text, std::string_view part) {
  return text.find(part) != std::string_view::npos;
}

// What stands between the elements with these opening and closing texts.
std::string between(const std::string& text, std::string_view open, std::string_view close) {
  const std::size_t from = text.find(open) + open.size();
  return text.substr(from, text.find(close, from) - from);
}

std::size_t count_of(std::string_view text, std::string_view part) {
  std::size_t count = 0;
  for (std::size_t at = text.find(part); at != std::string_view::npos;
       at = text.find(part, at + 1)) {
    ++count;
  }
  return count;
}

}  // namespace

TEST_CASE("The first answer says verdict, reasons, hours and forecast of every room") {
  const std::string html = html_from(example());
  for (const char* part :
       {"SIMULATED SITE", "NOT READY", "31.2 of 48.0 h, 16.8 h left",
        "Ready about 2026-03-10 06:00 UTC", "Not met: Cartons warmed through",
        "Not known: Vapour barrier", "Let the slab dry", "its supply is low", "width=\"65.0\""}) {
    CHECK(has(html, part));
  }
  ordered_json two = example();
  two["rooms"].push_back(two["rooms"][0]);
  two["rooms"][1]["verdict"] = "ready";
  CHECK(count_of(html_from(two), "class=\"verdict v-") == 2);
  CHECK(has(html_from(two), "v-ready"));
}

TEST_CASE("Only a site that is simulated says so") {
  ordered_json status = example();
  status["simulated"] = false;
  CHECK_FALSE(has(html_from(status), "SIMULATED SITE"));
}

TEST_CASE("A verdict that is not known is never shown as ready") {
  ordered_json status = example();
  for (const ordered_json& verdict :
       {ordered_json("cannot tell"), ordered_json("Ready"), ordered_json(nullptr), ordered_json(1),
        ordered_json::array()}) {
    status["rooms"][0]["verdict"] = verdict;
    const std::string html = html_from(status);
    CHECK(has(html, "CANNOT TELL"));
    CHECK_FALSE(has(html, "v-ready"));
  }
}

TEST_CASE("Texts of others are text, also inside the embedded state") {
  const std::string evil = "</script><script>alert(1)</script><b x='\"'>{{csrf}}{{t.skip}}";
  ordered_json status = example();
  status["job"] = evil;
  for (const char* key : {"name", "floor_product", "headline", "id"}) {
    status["rooms"][0][key] = evil;
  }
  for (ordered_json& gate : status["rooms"][0]["gates"]) {
    gate["reason"] = gate["action"] = gate["id"] = evil;
    gate["state"] = "not met";
  }
  status["alerts"][0]["text"] = evil;
  const Principal principal{"u1", evil, Role::crew};
  const std::string html = page_html({status, principal, evil});
  CHECK(count_of(html, "<script") == 2);  // the page's own and the state
  CHECK(count_of(html, "</script>") == 2);
  CHECK_FALSE(has(html, "<b x="));
  const auto state = ordered_json::parse(between(html, "id=\"state\">", "</script>"));
  CHECK(state["status"] == status);
  CHECK(state["csrf_token"] == evil);
  CHECK(has(login_page_html({true, {}, evil}), "value=\"&lt;/script&gt;"));
}

TEST_CASE("Bytes that are not UTF-8 and texts that are absent do no harm") {
  ordered_json status = example();
  status["job"] = "\xff\xfe";
  status["rooms"][0] = {{"id", "a"}};
  const std::string html = html_from(status);
  CHECK(has(html, "CANNOT TELL"));
  CHECK(has(html_from(ordered_json::object()), "</html>"));
  CHECK(has(html_from(ordered_json(nullptr)), "</html>"));
}

TEST_CASE("A shared view names nobody") {
  ordered_json status = example();
  for (const char* key : {"job", "installer", "client", "site_address", "notes"}) {
    status.erase(key);
  }
  const std::string html = html_from(status, Role::shared);
  CHECK(has(html, "<h1>Shared view of a site</h1>"));
  CHECK(has(html, "<p>Shared view</p>"));
}

TEST_CASE("The login page says what went wrong and no more") {
  CHECK_FALSE(has(login_page_html({}), "role=\"alert\""));
  CHECK(has(login_page_html({true, {}, "ann"}), "do not fit"));
  CHECK(has(login_page_html({true, std::chrono::seconds(90), "ann"}), "Try again in 1 min"));
  CHECK(has(login_page_html({true, {}, "ann"}), "value=\"ann\""));
  CHECK(has(login_page_html({.link_ended = true}),
            "This link has ended or is not valid; ask whoever sent it."));
}

TEST_CASE("No document holds what a strict content policy forbids") {
  for (const std::string& html : {html_from(example()), login_page_html({})}) {
    const std::string markup = html.substr(0, html.find("id=\"state\">"));
    CHECK_FALSE(std::regex_search(markup, std::regex(R"(<style|\sstyle=|\son\w+=|javascript:)")));
    CHECK_FALSE(std::regex_search(markup, std::regex(R"((src|href)="(https?:)?//)")));
    CHECK_FALSE(has(markup, "{{"));
  }
}

TEST_CASE("Assets are named by their bytes, and the page asks for no others") {
  std::set<std::string_view> addresses;
  for (const std::string_view name : kAssets) {
    const auto* asset = asset_named(name);
    REQUIRE(asset != nullptr);
    CHECK(asset->sha256_hex.size() == 64);
    CHECK(address_of(name) ==
          "/assets/" + std::string(name) + "?v=" + std::string(asset->sha256_hex.substr(0, 16)));
    addresses.insert(address_of(name));
  }
  CHECK(asset_named("../page.css") == nullptr);
  CHECK(asset_named("") == nullptr);
  CHECK(asset_named("worker.js")->worker_scope == "/");
  const std::string html = html_from(example());
  const std::regex named(R"(/assets/[^"]*)");
  std::size_t seen = 0;
  for (std::sregex_iterator at(html.begin(), html.end(), named), end; at != end; ++at, ++seen) {
    CHECK(addresses.contains(at->str()));
  }
  CHECK(seen == std::size(kAssets));
}

TEST_CASE("Every colour that charts are drawn with has its rule") {
  const std::string_view css = asset_named("page.css")->bytes;
  for (const auto& named : analysis::drawing::kPalette) {
    const std::string name = named.name;
    CHECK(has(css, ".f-" + name + " { fill: var(--" + name + "); }"));
    CHECK(has(css, ".s-" + name + " { stroke: var(--" + name + "); }"));
    CHECK(count_of(css, "--" + name + ": #") >= 2);  // light and dark
  }
}

TEST_CASE("Nothing that is shown promises too much") {
  const std::regex promise(R"(\b(safe|guaranteed?)\b)", std::regex::icase);
  for (const std::string& text :
       {html_from(example()), login_page_html({}), std::string(asset_named("page.js")->bytes)}) {
    CHECK_FALSE(std::regex_search(text, promise));
  }
}
