// A calibration of a channel, typed or from two fixed points, put into the store.
#pragma once

#include "logger/app/commands/notes/record_note.hpp"

namespace logger::app {

struct ChannelPlace {
  const JobBox* box = nullptr;
  const JobChannel* channel = nullptr;
};

// invalid_input, one line, for a channel that job.json does not have.
[[nodiscard]] store::Result<ChannelPlace> find_channel(const Job& job, const std::string& id);

// As record_note; `at` = from when on it holds.
[[nodiscard]] store::Result<NotedRow> record_calibration(OpenedJob& opened,
                                                         const NoteOptions& options, UtcMicros at);

}  // namespace logger::app
