#include "logger/app/daemon/page_service.hpp"

#include <optional>

#include "logger/app/access/page_faults.hpp"
#include "logger/app/access/tls_files.hpp"
#include "logger/app/daemon/real_clock.hpp"
#include "logger/app/site/job_site.hpp"
#include "logger/web/access/access.hpp"
#include "logger/web/api/openapi.hpp"
#include "logger/web/handler/page_handler.hpp"
#include "logger/web/http/web_server.hpp"

namespace logger::app {

using store::Failure;
using store::Result;

namespace {

std::string url_of(const JobPage& page, std::uint16_t port) {
  const bool brackets = page.address.find(':') != std::string::npos;
  return (page.tls_certificate.empty() ? "http://" : "https://") +
         (brackets ? "[" + page.address + "]" : page.address) + ":" + std::to_string(port) + "/";
}

struct PageTls {
  web::TlsIdentity identity;
  std::string fingerprint;
  std::string made_because;
};

Result<PageTls> tls_from(const JobFolder& folder, const JobPage& page) {
  const auto files = tls_files_for(folder, page, utc_of_this_machine());
  if (!files) {
    return Failure{files.error()};
  }
  auto certificate = read_file(files.value().certificate);
  auto key = read_file(files.value().key);
  if (!certificate || !key) {
    return Failure{!certificate ? certificate.error() : key.error()};
  }
  return PageTls{{std::move(certificate).value(), std::move(key).value()},
                 files.value().fingerprint,
                 files.value().made_because};
}

}  // namespace

struct PageService::Parts {
  Parts(const OpenedJob& opened, Say how_to_say)
      : folder(opened.folder),
        page(*opened.job.page),
        say(std::move(how_to_say)),
        site(opened, [this](const std::string& line) { say(line, LogLevel::warning); }),
        watch(folder, [this](const std::string& line, bool is_fault) {
          say(line, is_fault ? LogLevel::error : LogLevel::notice);
        }) {}

  JobFolder folder;
  JobPage page;
  Say say;
  JobSite site;
  AccessWatch watch;  // used on the daemon's thread
  std::unique_ptr<web::Access> access;
  std::optional<web::WebServer> server;
  std::optional<web::PageHandler> handler;
};

PageService::PageService(const OpenedJob& opened, Say say)
    : parts_(std::make_unique<Parts>(opened, std::move(say))) {}

PageService::~PageService() { stop(); }

Result<void> PageService::start() {
  Parts& parts = *parts_;
  web::ServerSettings settings;
  settings.address = parts.page.address;
  settings.port = static_cast<std::uint16_t>(parts.page.port);
  std::string fingerprint;
  if (!parts.page.tls_certificate.empty()) {
    auto tls = tls_from(parts.folder, parts.page);
    if (!tls) {
      return Failure{tls.error()};
    }
    settings.tls = std::move(tls.value().identity);
    if (!tls.value().made_because.empty()) {
      parts.say("page: made a new certificate, since " + tls.value().made_because,
                LogLevel::notice);
    }
    fingerprint = ", certificate SHA-256 " + tls.value().fingerprint;
  }
  parts.access = web::Access::open(parts.folder.access());
  parts.server.emplace(std::move(settings), utc_of_this_machine);
  parts.handler.emplace(web::Services{*parts.access, parts.site}, *parts.server,
                        web::HandlerSettings{.openapi_json = web::openapi_json()});
  if (const auto started = parts.server->start(*parts.handler); !started) {
    return started;
  }
  parts.site.start();
  parts.say("page: " + url_of(parts.page, parts.server->port()) + fingerprint, LogLevel::notice);
  parts.watch.look();
  return {};
}

void PageService::stop() {
  if (parts_->server) {
    parts_->server->stop();
  }
  parts_->site.stop();
}

void PageService::committed() {
  parts_->site.committed();
  parts_->watch.look();
}

}  // namespace logger::app
