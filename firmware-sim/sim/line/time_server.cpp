#include "firmware-sim/sim/line/time_server.hpp"

#include <fcntl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <charconv>
#include <cstring>
#include <limits>

namespace firmware::sim::line {
namespace {

using analysis::base::Failure;
using analysis::base::Result;
using analysis::base::UtcMicros;

// Far above any line of the protocol: a client beyond it does not speak it.
constexpr std::size_t kLongestLine = 64 * 1024;
// How much a client may leave unread before it counts as dead.
constexpr std::size_t kMostUnsent = 1024 * 1024;

std::string socket_failed(const std::string& what) {
  return "time socket: " + what + ": " + std::strerror(errno);
}

// Text of a foreign line for a message: printable, short.
std::string in_quotes(std::string_view text) {
  std::string result = "'";
  for (const char c : text.substr(0, 60)) {
    result += c >= ' ' && c <= '~' ? c : '?';
  }
  return result + (text.size() > 60 ? "...'" : "'");
}

template <class Integer>
std::optional<Integer> integer_from(std::string_view text) {
  Integer value{};
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size()) {
    return std::nullopt;
  }
  return value;
}

// Words between single spaces; an empty word anywhere makes the whole empty.
std::vector<std::string_view> words_of(std::string_view text) {
  std::vector<std::string_view> words;
  while (true) {
    const std::size_t space = text.find(' ');
    words.push_back(text.substr(0, space));
    if (words.back().empty()) {
      return {};
    }
    if (space == std::string_view::npos) {
      return words;
    }
    text.remove_prefix(space + 1);
  }
}

}  // namespace

TimeServer::TimeServer(std::string socket_path, UtcMicros now, FindLine find_line,
                       Complaint complaint)
    : socket_path_(std::move(socket_path)),
      find_line_(std::move(find_line)),
      complaint_(std::move(complaint)),
      now_(now) {}

TimeServer::~TimeServer() {
  for (const auto& client : clients_) {
    if (client->descriptor >= 0) {
      ::close(client->descriptor);
    }
  }
  if (listener_ >= 0) {
    ::close(listener_);
    ::unlink(socket_path_.c_str());
  }
}

Result<void, std::string> TimeServer::listen() {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  if (socket_path_.empty() || socket_path_.size() >= sizeof address.sun_path) {
    return Failure{"time socket: the path '" + socket_path_ + "' has " +
                   std::to_string(socket_path_.size()) + " bytes; expected 1 to " +
                   std::to_string(sizeof address.sun_path - 1)};
  }
  std::memcpy(address.sun_path, socket_path_.c_str(), socket_path_.size() + 1);
  struct stat info {};
  if (::lstat(socket_path_.c_str(), &info) == 0) {
    if (!S_ISSOCK(info.st_mode)) {
      return Failure{"time socket: " + socket_path_ +
                     " exists and is no socket; expected a free path"};
    }
    ::unlink(socket_path_.c_str());
  }
  const int descriptor = ::socket(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
  if (descriptor < 0) {
    return Failure{socket_failed("can't make a socket")};
  }
  if (::bind(descriptor, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0 ||
      ::listen(descriptor, 16) != 0) {
    const std::string reason = socket_failed("can't listen on " + socket_path_);
    ::close(descriptor);
    return Failure{reason};
  }
  listener_ = descriptor;
  return {};
}

void TimeServer::append_descriptors(std::vector<pollfd>& into) const {
  into.push_back({listener_, POLLIN, 0});
  for (const auto& client : clients_) {
    const short writing = client->unsent.empty() ? short{0} : short{POLLOUT};
    into.push_back({client->descriptor, static_cast<short>(POLLIN | writing), 0});
  }
}

bool TimeServer::serve() {
  bool any = false;
  for (std::size_t i = 0; i < clients_.size(); ++i) {
    Client& client = *clients_[i];
    if (!client.gone && !client.unsent.empty()) {
      send(client, "");
    }
    any = read_from(client) || any;
  }
  std::erase_if(clients_, [](const auto& client) { return client->gone; });
  // Those who left are known to have left before newcomers are heard, so that a client that was
  // started again finds its line free.
  return accept_clients() || any;
}

bool TimeServer::accept_clients() {
  bool any = false;
  while (true) {
    const int descriptor = ::accept4(listener_, nullptr, nullptr, SOCK_NONBLOCK | SOCK_CLOEXEC);
    if (descriptor < 0) {
      return any;
    }
    any = true;
    auto client = std::make_unique<Client>();
    client->descriptor = descriptor;
    clients_.push_back(std::move(client));
  }
}

bool TimeServer::read_from(Client& client) {
  std::array<char, 4096> bytes{};
  bool any = false;
  while (!client.gone) {
    const ssize_t count = ::recv(client.descriptor, bytes.data(), bytes.size(), 0);
    if (count < 0 && (errno == EAGAIN || errno == EINTR)) {
      break;
    }
    any = true;
    if (count <= 0) {
      drop(client, "");
      break;
    }
    client.unread.append(bytes.data(), static_cast<std::size_t>(count));
    handle_unread(client);
  }
  return any;
}

void TimeServer::handle_unread(Client& client) {
  std::size_t begin = 0;
  while (!client.gone) {
    const std::size_t end = client.unread.find('\n', begin);
    if (end == std::string::npos) {
      break;
    }
    handle_line(client, std::string_view(client.unread).substr(begin, end - begin));
    begin = end + 1;
  }
  client.unread.erase(0, begin);
  if (!client.gone && client.unread.size() > kLongestLine) {
    drop(client, "sent a line of more than " + std::to_string(kLongestLine) + " bytes");
  }
}

void TimeServer::handle_line(Client& client, std::string_view text) {
  const std::size_t space = text.find(' ');
  const std::string_view verb = text.substr(0, space);
  const std::string_view rest =
      space == std::string_view::npos ? std::string_view{} : text.substr(space + 1);
  if (client.name.empty() != (verb == "hello") || rest.empty()) {
    drop(client, "sent " + in_quotes(text) +
                     (client.name.empty() ? "; expected 'hello NAME' first"
                                          : "; expected open PORT, idle STEP WAKE ..., or closed "
                                            "PORT"));
  } else if (verb == "hello") {
    handle_hello(client, rest);
  } else if (verb == "open") {
    handle_open(client, rest);
  } else if (verb == "closed") {
    client.open_ports.erase(std::string(rest));
    client.idle_step.reset();  // it has just found work: the hang-up
  } else if (verb == "idle") {
    handle_idle(client, rest);
  } else {
    drop(client,
         "sent " + in_quotes(text) + "; expected open PORT, idle STEP WAKE ..., or closed PORT");
  }
}

void TimeServer::handle_hello(Client& client, std::string_view name) {
  client.name = std::string(name);
  ++hellos_;
  send(client, now_line());
  if (ended_) {
    send(client, "end\n");
  }
}

void TimeServer::handle_open(Client& client, std::string_view port) {
  PtyLine* line = find_line_(port);
  if (line == nullptr) {
    drop(client, "opened " + in_quotes(port) + ", which is no line of this site");
    return;
  }
  for (const auto& other : clients_) {
    if (other.get() != &client && other->open_ports.contains(std::string(port))) {
      drop(client,
           "opened " + in_quotes(port) + ", which client " + in_quotes(other->name) + " holds");
      return;
    }
  }
  line->begin_counting();
  client.open_ports[std::string(port)] = line->plug_count();
  client.idle_step.reset();
  send(client, "opened " + std::string(port) + "\n");
}

void TimeServer::handle_idle(Client& client, std::string_view rest) {
  const std::vector<std::string_view> words = words_of(rest);
  const auto complain = [&] {
    drop(client, "sent " + in_quotes("idle " + std::string(rest)) +
                     "; expected idle STEP WAKE_UTC_US [PORT SENT RECEIVED]...");
  };
  if (words.size() < 2 || words.size() % 3 != 2) {
    return complain();
  }
  const auto at_step = integer_from<std::uint64_t>(words[0]);
  const auto wake = integer_from<std::int64_t>(words[1]);
  if (!at_step || *at_step > step_ || (!wake && words[1] != "-")) {
    return complain();
  }
  std::vector<PortCounts> counts;
  for (std::size_t i = 2; i < words.size(); i += 3) {
    const auto sent = integer_from<std::uint64_t>(words[i + 1]);
    const auto received = integer_from<std::uint64_t>(words[i + 2]);
    if (!sent || !received || !client.open_ports.contains(std::string(words[i]))) {
      return complain();
    }
    counts.push_back({std::string(words[i]), *sent, *received});
  }
  client.idle_step = at_step;
  client.wake = wake ? std::optional(UtcMicros{*wake}) : std::nullopt;
  client.counts = std::move(counts);
}

std::string TimeServer::now_line() const {
  std::string line = "now " + std::to_string(step_) + " " + std::to_string(now_.value);
  if (host_offset_.count() != 0) {
    line += " " + std::to_string((now_ + host_offset_).value);
  }
  return line + "\n";
}

void TimeServer::send(Client& client, const std::string& text) {
  client.unsent += text;
  while (!client.gone && !client.unsent.empty()) {
    const ssize_t count =
        ::send(client.descriptor, client.unsent.data(), client.unsent.size(), MSG_NOSIGNAL);
    if (count < 0 && errno == EINTR) {
      continue;
    }
    if (count < 0 && errno == EAGAIN && client.unsent.size() < kMostUnsent) {
      return;
    }
    if (count < 0) {
      drop(client, errno == EAGAIN ? "reads nothing any more" : "");
      return;
    }
    client.unsent.erase(0, static_cast<std::size_t>(count));
  }
}

void TimeServer::drop(Client& client, const std::string& reason) {
  if (!reason.empty()) {
    complaint_("time socket: client " + (client.name.empty() ? "(no name)" : client.name) + " " +
               reason + "; it is dropped");
  }
  ::close(client.descriptor);
  client.descriptor = -1;
  client.gone = true;
  for (const auto& [port, plug_count] : client.open_ports) {
    if (PtyLine* line = find_line_(port); line != nullptr) {
      line->drain();
    }
  }
  client.open_ports.clear();
}

std::size_t TimeServer::clients() const {
  return static_cast<std::size_t>(
      std::count_if(clients_.begin(), clients_.end(),
                    [](const auto& client) { return !client->gone && !client->name.empty(); }));
}

bool TimeServer::is_quiet(const Client& client, const PortCounts& counts) const {
  const PtyLine* line = find_line_(counts.port);
  const auto open = client.open_ports.find(counts.port);
  if (line == nullptr || open == client.open_ports.end()) {
    return true;  // closed since
  }
  if (!line->plugged() || line->plug_count() != open->second) {
    return false;  // it has not noticed the hang-up yet
  }
  return line->received() >= counts.sent && counts.received >= line->sent();
}

bool TimeServer::is_idle(const Client& client) const {
  return client.name.empty() ||
         (client.idle_step == step_ &&
          std::all_of(client.counts.begin(), client.counts.end(),
                      [&](const PortCounts& counts) { return is_quiet(client, counts); }));
}

bool TimeServer::all_idle() const {
  return hellos_ >= awaited_hellos_ &&
         std::all_of(clients_.begin(), clients_.end(),
                     [&](const auto& client) { return client->gone || is_idle(*client); });
}

std::string TimeServer::holder() const {
  if (hellos_ < awaited_hellos_) {
    return std::to_string(awaited_hellos_ - hellos_) + " more client(s) expected";
  }
  for (const auto& client : clients_) {
    if (!client->gone && !is_idle(*client)) {
      return "client " + client->name +
             (client->idle_step == step_ ? " is idle, but a byte is on its way or a hang-up unseen"
                                         : " is not idle");
    }
  }
  return "";
}

std::optional<UtcMicros> TimeServer::earliest_wake() const {
  std::optional<UtcMicros> earliest;
  for (const auto& client : clients_) {
    if (!client->gone && client->wake && (!earliest || *client->wake < *earliest)) {
      earliest = client->wake;
    }
  }
  return earliest;
}

void TimeServer::tell(UtcMicros now) {
  now_ = now;
  ++step_;
  for (const auto& client : clients_) {
    if (!client->gone && !client->name.empty()) {
      send(*client, now_line());
    }
  }
}

void TimeServer::tell_end() {
  ended_ = true;
  for (const auto& client : clients_) {
    if (!client->gone && !client->name.empty()) {
      send(*client, "end\n");
    }
  }
}

}  // namespace firmware::sim::line
