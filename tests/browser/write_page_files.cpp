// write_page_files STATUS.json ROLE NAME FOLDER: the page of a status document and all it consists
// of, as files, for tests of what a browser makes of it.
#include <fstream>
#include <iostream>
#include <nlohmann/json.hpp>

#include "logger/web/page/assets.hpp"
#include "logger/web/page/page_html.hpp"

namespace {

void write(const std::string& path, std::string_view bytes) {
  std::ofstream(path, std::ios::binary) << bytes;
}

}  // namespace

int main(int argc, char** argv) {
  using namespace logger::web;
  if (argc != 5) {
    std::cerr << "usage: write_page_files STATUS.json ROLE NAME FOLDER\n";
    return 1;
  }
  std::ifstream file(argv[1]);
  const auto status = nlohmann::ordered_json::parse(file, nullptr, false);
  const auto role = role_from_name(argv[2]);
  if (status.is_discarded() || !role) {
    std::cerr << argv[1] << ", " << argv[2] << ": expected a JSON file and a role\n";
    return 1;
  }
  const std::string folder = argv[4];
  const Principal principal{"u1", *role == Role::shared ? "" : argv[3], *role};
  write(folder + "/page.html", page_html({status, principal, "invented-token"}));
  write(folder + "/login.html", login_page_html({}));
  for (const char* name : {"page.js", "page.css", "icon.svg", "page.webmanifest", "worker.js"}) {
    write(folder + "/" + name, asset_named(name)->bytes);
  }
  return 0;
}
