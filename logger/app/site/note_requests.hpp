// What somebody asks to be noted over the page or the API, as the command `note` takes it.
#pragma once

#include <optional>

#include "logger/app/commands/job_folder.hpp"
#include "logger/app/commands/notes/record_note.hpp"
#include "logger/web/site/site.hpp"

namespace logger::app {

// invalid_input, one line: a kind or gate that is not known, a photo that was not kept, a choice
// where none is asked for. What else is not in order record_note refuses.
[[nodiscard]] store::Result<NoteOptions> note_options_from(const web::NoteRequest& note,
                                                           const web::Principal& by,
                                                           const JobFolder& folder);

// A phone whose clock was set back or runs wild must not date what was seen. The lower bound is our
// assumption; what lies in the real future is refused with every note.
[[nodiscard]] store::Result<void> check_time_of(const web::NoteRequest& note, UtcMicros now);

// nullopt: the asker calls his request nothing.
[[nodiscard]] std::optional<RequestMark> mark_of(const web::NoteRequest& note,
                                                 const web::Principal& by);
// The note that the same request stored before; nullopt where there is none. invalid_input where it
// was for another body.
[[nodiscard]] store::Result<std::optional<web::AddedNote>> stored_before(
    const OpenedJob& opened, const std::optional<RequestMark>& mark);

}  // namespace logger::app
