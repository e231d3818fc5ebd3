// One question and its answer, as lines. A class is used by one thread.
#pragma once

#include <iosfwd>
#include <optional>
#include <string>
#include <vector>

#include "analysis/readiness/site/site_answers.hpp"

namespace logger::app {

class Dialogue {
 public:
  // `echoes`: answers that nobody typed on a terminal are shown, for whoever reads it later.
  Dialogue(std::istream& answers, std::ostream& shown, bool echoes)
      : answers_(answers), shown_(shown), echoes_(echoes) {}

  // A line of text, blanks round it taken off; empty = skipped. nullopt at the end of the answers
  // and for "q", after which ended() holds.
  std::optional<std::string> ask(const std::string& prompt);

  // Numbered; a number or the word chooses. `explained` is shown for "?". nullopt = skipped, or
  // ended.
  std::optional<std::string> choose(const std::vector<analysis::readiness::SiteChoice>& choices,
                                    const std::vector<std::string>& explained);

  void say(const std::string& line, std::size_t indent = 0);  // wrapped for a terminal
  void show(const std::string& line);                         // as it is
  [[nodiscard]] bool ended() const { return ended_; }

 private:
  std::istream& answers_;
  std::ostream& shown_;
  bool echoes_;
  bool ended_ = false;
};

}  // namespace logger::app
