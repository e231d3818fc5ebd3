// fontconfig reads its configuration once in a process, so each case is a child of its own.
#include <sys/wait.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "analysis/drawing/canvas.hpp"

namespace {

namespace fs = std::filesystem;
using analysis::drawing::Canvas;
using analysis::drawing::DrawError;

class FontFolder {
 public:
  FontFolder() {
    std::string pattern = (fs::temp_directory_path() / "dewfontsXXXXXX").string();
    REQUIRE(mkdtemp(pattern.data()) != nullptr);
    folder_ = pattern;
    fs::create_directory(folder_ / "fonts");
    std::ofstream(folder_ / "fonts.conf")
        << "<?xml version=\"1.0\"?><fontconfig><dir>" << (folder_ / "fonts").string()
        << "</dir><cachedir>" << (folder_ / "cache").string() << "</cachedir></fontconfig>";
  }
  FontFolder(const FontFolder&) = delete;
  FontFolder& operator=(const FontFolder&) = delete;
  ~FontFolder() { fs::remove_all(folder_); }

  void add(const std::string& file) const {
    const fs::path font = fs::path("/usr/share/fonts/truetype/dejavu") / file;
    INFO("the package fonts-dejavu-core brings " << font);
    REQUIRE(fs::exists(font));
    fs::copy_file(font, folder_ / "fonts" / file);
  }

  // 0 = a canvas was made, otherwise 10 plus the error.
  [[nodiscard]] int outcome() const {
    const pid_t child = fork();
    if (child == 0) {
      setenv("FONTCONFIG_FILE", (folder_ / "fonts.conf").c_str(), 1);
      const auto canvas = Canvas::pdf(analysis::drawing::kA4, {});
      _exit(canvas ? 0 : 10 + static_cast<int>(canvas.error()));
    }
    int status = 0;
    waitpid(child, &status, 0);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  }

 private:
  fs::path folder_;
};

constexpr int kFontMissing = 10 + static_cast<int>(DrawError::font_missing);

}  // namespace

TEST_CASE("NoFontAtAllIsAnErrorNotAnEmptyPage") {
  const FontFolder folder;
  CHECK(folder.outcome() == kFontMissing);
}

TEST_CASE("AnotherFamilyDoesNotPassForDejaVuSans") {
  const FontFolder folder;
  folder.add("DejaVuSansMono.ttf");
  folder.add("DejaVuSansMono-Bold.ttf");
  folder.add("DejaVuSerif.ttf");
  CHECK(folder.outcome() == kFontMissing);
}

TEST_CASE("AMissingBoldIsAnErrorToo") {
  const FontFolder folder;
  folder.add("DejaVuSans.ttf");
  folder.add("DejaVuSansMono.ttf");
  CHECK(folder.outcome() == kFontMissing);
}

TEST_CASE("TheThreeFacesAreEnough") {
  const FontFolder folder;
  folder.add("DejaVuSans.ttf");
  folder.add("DejaVuSans-Bold.ttf");
  folder.add("DejaVuSansMono.ttf");
  CHECK(folder.outcome() == 0);
}

TEST_CASE("TheErrorNamesThePackage") {
  const std::string text(analysis::drawing::text_of(DrawError::font_missing));
  CHECK(text.find("fonts-dejavu-core") != std::string::npos);
}
