#include "logger/app/access/page_faults.hpp"

#include "logger/app/access/tls_files.hpp"

namespace logger::app {

std::vector<std::string> page_faults(const OpenedJob& opened) {
  std::vector<std::string> faults;
  if (!opened.job.page) {
    return faults;
  }
  web::AccessFiles files(opened.folder.access());
  if (files.current() == nullptr) {
    faults.push_back(files.fault());
  }
  if (!opened.job.page->tls_certificate.empty()) {
    const auto sound = check_tls_files(opened.folder, *opened.job.page);
    // A folder that is open to others is a fault of both.
    if (!sound && (faults.empty() || faults.front() != sound.error().context)) {
      faults.push_back(sound.error().context);
    }
  }
  return faults;
}

void AccessWatch::look() {
  const bool readable = files_.current() != nullptr;
  if (files_.fault() == said_) {
    return;
  }
  said_ = files_.fault();
  say_(readable ? "page: the logger can read its users again"
                : "page: nobody gets in until this is mended: " + said_,
       !readable);
}

}  // namespace logger::app
