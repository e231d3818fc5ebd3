// note: what a person observed or did.
#include <unistd.h>

#include <iostream>

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/notes/gates/guide.hpp"
#include "logger/app/commands/notes/record_note.hpp"

namespace logger::app {

int note(const NoteOptions& options, const Console& console) {
  auto opened = open_job(options.job_dir, true);
  if (!opened) {
    return report(console, opened.error());
  }
  if (options.kind == "guide") {
    return guide_through_gates(opened.value(), options, std::cin, ::isatty(STDIN_FILENO) == 0,
                               console);
  }
  const auto noted = record_note(opened.value(), options);
  if (!noted) {
    return report(console, noted.error());
  }
  console.out << "noted: " << options.kind << (options.subject.empty() ? "" : " " + options.subject)
              << (options.answer.empty() ? "" : " " + options.answer) << noted.value().more << ", "
              << analysis::base::rfc3339_from_utc(noted.value().at) << ", by " << options.by
              << '\n';
  for (const std::string& line : noted.value().told) {
    console.out << text_from_told(line) << '\n';
  }
  return kExitDone;
}

}  // namespace logger::app
