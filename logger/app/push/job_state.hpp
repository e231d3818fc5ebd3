// The present state of a job, drawn and worded for a pushed page or a digest by mail. Reads the
// store and draws: for a worker thread; some tenths of a second a room.
#pragma once

#include <string>
#include <vector>

#include "logger/app/commands/job_folder.hpp"
#include "logger/notify/channel.hpp"

namespace logger::app {

struct StateForm {
  Micros every{0};        // when the next one is expected
  bool personal = false;  // with names and address
};

struct MadePage {
  std::string html;
  bool is_signed = false;
  std::string unsigned_because;  // empty when signed
};
// Signed with the job's key where that has no passphrase. Errors: of the store and the folder, of
// drawing.
[[nodiscard]] store::Result<MadePage> status_page_from(OpenedJob& opened, const StateForm& form);

struct DigestContent {
  std::string html;
  std::vector<notify::Attachment> attachments;  // the charts that the HTML shows
};
// For Outgoing::html and ::attachments. With names, since it goes to those whom the job names.
[[nodiscard]] store::Result<DigestContent> digest_content(OpenedJob& opened);

}  // namespace logger::app
