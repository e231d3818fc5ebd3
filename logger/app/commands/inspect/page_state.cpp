#include "logger/app/commands/inspect/page_state.hpp"

#include <netdb.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "logger/app/access/page_faults.hpp"

namespace logger::app {

namespace {

// 0, or why the port can't be taken.
int tried(const JobPage& page) {
  addrinfo hints{};
  hints.ai_socktype = SOCK_STREAM;
  hints.ai_flags = AI_NUMERICHOST | AI_NUMERICSERV | AI_PASSIVE;
  addrinfo* found = nullptr;
  if (::getaddrinfo(page.address.c_str(), std::to_string(page.port).c_str(), &hints, &found) != 0) {
    return EADDRNOTAVAIL;
  }
  const int descriptor = ::socket(found->ai_family, SOCK_STREAM | SOCK_CLOEXEC, 0);
  // As the server does: a connection that ended a moment ago holds no port.
  const int reuse = 1;
  int fault = descriptor < 0 ? errno : 0;
  if (fault == 0 &&
      (::setsockopt(descriptor, SOL_SOCKET, SO_REUSEADDR, &reuse, sizeof reuse) != 0 ||
       ::bind(descriptor, found->ai_addr, found->ai_addrlen) != 0 ||
       ::listen(descriptor, 1) != 0)) {
    fault = errno;
  }
  if (descriptor >= 0) {
    ::close(descriptor);
  }
  ::freeaddrinfo(found);
  return fault;
}

}  // namespace

std::optional<PageState> read_page(const OpenedJob& opened) {
  if (!opened.job.page) {
    return std::nullopt;
  }
  PageState state;
  state.address = opened.job.page->address;
  state.port = opened.job.page->port;
  state.held_by_logger = FolderLock::is_taken(opened.folder.run_lock());
  state.bind_errno = state.held_by_logger ? 0 : tried(*opened.job.page);
  std::error_code error;
  state.has_users = std::filesystem::exists(opened.folder.access() / "users.json", error);
  state.faults = page_faults(opened);
  return state;
}

InspectLine judge_page(const PageState& page, const std::string& job_dir) {
  const std::string text = "page: port " + std::to_string(page.port) + " of " + page.address + ": ";
  if (page.bind_errno != 0) {
    const std::string what_to_do = page.bind_errno == EADDRINUSE
                                       ? "; end the program that holds it, or choose another port"
                                       : "; correct page in job.json";
    return {Judgement::wrong, text + std::strerror(page.bind_errno) + what_to_do};
  }
  if (!page.faults.empty()) {
    std::string all = "page: ";
    for (const std::string& fault : page.faults) {
      all += (&fault == &page.faults.front() ? "" : "; ") + fault;
    }
    return {Judgement::wrong, all};
  }
  const std::string state = page.held_by_logger ? "the running logger has it" : "free";
  return page.has_users ? InspectLine{Judgement::good, text + state}
                        : InspectLine{Judgement::worth_a_look,
                                      text + state + ", but nobody may sign in; `dwellog users " +
                                          job_dir + " add NAME --role owner`"};
}

}  // namespace logger::app
