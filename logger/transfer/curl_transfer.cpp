#include "logger/transfer/curl_transfer.hpp"

#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <chrono>
#include <mutex>
#include <vector>

#include "analysis/base/loopback.hpp"
#include "analysis/base/one_line.hpp"
#include "logger/transfer/pipe_signal_block.hpp"

namespace logger::transfer {

using store::ErrorCode;
using store::failure;
using store::Result;

// What libcurl writes to and asks while it works.
struct CurlTransfer::Exchange {
  std::string body;
  std::size_t most_bytes = 0;
  bool too_long = false;
  std::stop_token stop;
  std::array<char, CURL_ERROR_SIZE> detail{};
  std::chrono::steady_clock::time_point deadline{};
  std::vector<curl_socket_t> sockets{};
  bool timed_out = false;

  static std::size_t take_piece(const char* piece, std::size_t size, std::size_t count,
                                void* user) {
    auto& self = *static_cast<Exchange*>(user);
    const std::size_t bytes = size * count;
    if (self.body.size() + bytes > self.most_bytes) {
      self.too_long = true;
      return 0;  // ends the transfer
    }
    self.body.append(piece, bytes);
    return bytes;
  }
  // Called about once a second at least. Some protocols say good-bye and wait for an answer even
  // when told to end; a connection that is shut down spares them that.
  static int look_for_end(void* user, curl_off_t /*total*/, curl_off_t /*now*/,
                          curl_off_t /*up_total*/, curl_off_t /*up_now*/) {
    auto& self = *static_cast<Exchange*>(user);
    self.timed_out = std::chrono::steady_clock::now() >= self.deadline;
    if (!self.timed_out && !self.stop.stop_requested()) {
      return 0;
    }
    for (const curl_socket_t socket : self.sockets) {
      ::shutdown(socket, SHUT_RDWR);
    }
    return 1;
  }
  static int note_socket(void* user, curl_socket_t socket, curlsocktype /*purpose*/) {
    static_cast<Exchange*>(user)->sockets.push_back(socket);
    return CURL_SOCKOPT_OK;
  }
  static int close_socket(void* user, curl_socket_t socket) {
    std::erase(static_cast<Exchange*>(user)->sockets, socket);
    return ::close(socket);
  }
};

void CurlTransfer::FreeExchange::operator()(Exchange* exchange) const { delete exchange; }

namespace {

// It looks at the clock itself, in case nobody is called back.
constexpr std::chrono::milliseconds kLibraryLooks{2'000};

// The library wants it once a process, before any thread uses it.
void prepare_library() {
  static std::once_flag once;
  std::call_once(once, [] { curl_global_init(CURL_GLOBAL_DEFAULT); });
}

// Copies a part of the URL; empty where it has none.
std::string url_part(CURLU* url, CURLUPart part) {
  char* text = nullptr;
  std::string copy;
  if (curl_url_get(url, part, &text, 0) == CURLUE_OK) {
    copy = text;
    curl_free(text);
  }
  return copy;
}

}  // namespace

std::string UrlParts::shown() const {
  return scheme + "://" + host + (port.empty() ? "" : ":" + port);
}

Result<UrlParts> parts_of_url(const std::string& text) {
  const bool printable = std::ranges::all_of(text, [](char c) { return c > 0x20 && c < 0x7f; });
  const std::unique_ptr<CURLU, decltype(&curl_url_cleanup)> url(curl_url(), &curl_url_cleanup);
  if (!printable || !url ||
      curl_url_set(url.get(), CURLUPART_URL, text.c_str(), CURLU_NON_SUPPORT_SCHEME) != CURLUE_OK) {
    return failure(ErrorCode::invalid_input,
                   "not a URL; expected SCHEME://HOST, printable ASCII without blanks");
  }
  if (!url_part(url.get(), CURLUPART_USER).empty() ||
      !url_part(url.get(), CURLUPART_PASSWORD).empty()) {
    return failure(ErrorCode::invalid_input,
                   "the URL holds a user or a password; they belong in keys of their own");
  }
  UrlParts parts;
  parts.scheme = url_part(url.get(), CURLUPART_SCHEME);
  parts.host = url_part(url.get(), CURLUPART_HOST);
  parts.port = url_part(url.get(), CURLUPART_PORT);
  const std::string query = url_part(url.get(), CURLUPART_QUERY);
  parts.path = url_part(url.get(), CURLUPART_PATH) + (query.empty() ? "" : "?" + query);
  parts.to_this_machine = parts.host == "[::1]" || analysis::base::is_loopback(parts.host);
  return parts;
}

Result<CurlTransfer> CurlTransfer::make(const std::string& url, std::string shown,
                                        const TransferLimits& limits, const std::stop_token& stop) {
  prepare_library();
  CurlTransfer made;
  made.shown_ = std::move(shown);
  made.limits_ = limits;
  made.exchange_.reset(new Exchange);
  made.exchange_->most_bytes = limits.most_bytes;
  made.exchange_->stop = stop;
  made.handle_.reset(curl_easy_init());
  if (!made.handle_) {
    return failure(ErrorCode::unavailable, made.shown_ + ": no memory for a request");
  }
  made.set(CURLOPT_URL, url.c_str());
  made.set(CURLOPT_NOSIGNAL, 1L);
  made.set(CURLOPT_TIMEOUT_MS, static_cast<long>((limits.whole + kLibraryLooks).count()));
  made.set(CURLOPT_CONNECTTIMEOUT_MS, static_cast<long>(limits.connect.count()));
  made.set(CURLOPT_SSLVERSION, static_cast<long>(CURL_SSLVERSION_TLSv1_2));
  made.set(CURLOPT_ERRORBUFFER, made.exchange_->detail.data());
  made.set(CURLOPT_WRITEFUNCTION, &Exchange::take_piece);
  made.set(CURLOPT_WRITEDATA, made.exchange_.get());
  made.set(CURLOPT_NOPROGRESS, 0L);
  made.set(CURLOPT_XFERINFOFUNCTION, &Exchange::look_for_end);
  made.set(CURLOPT_SOCKOPTFUNCTION, &Exchange::note_socket);
  made.set(CURLOPT_SOCKOPTDATA, made.exchange_.get());
  made.set(CURLOPT_CLOSESOCKETFUNCTION, &Exchange::close_socket);
  made.set(CURLOPT_CLOSESOCKETDATA, made.exchange_.get());
  made.set(CURLOPT_XFERINFODATA, made.exchange_.get());
  const auto parts = parts_of_url(url);
  if (parts && parts.value().to_this_machine) {
    made.set(CURLOPT_NOPROXY, "*");
  }
  return made;
}

void CurlTransfer::trust(const std::string& certificates_file) {
  if (!certificates_file.empty()) {
    set(CURLOPT_CAINFO, certificates_file.c_str());
    set(CURLOPT_CAPATH, static_cast<const char*>(nullptr));  // Debian's default adds the system's
  }
}

void CurlTransfer::add_header(const std::string& line) {
  curl_slist* const longer = curl_slist_append(headers_.get(), line.c_str());
  if (longer != nullptr) {
    static_cast<void>(headers_.release());
    headers_.reset(longer);
  }
}

void CurlTransfer::send_body(std::string_view body) {
  set(CURLOPT_POSTFIELDSIZE_LARGE, static_cast<curl_off_t>(body.size()));
  set(CURLOPT_COPYPOSTFIELDS, body.data());
}

Result<void> CurlTransfer::perform() {
  const PipeSignalBlock no_pipe_signal;
  set(CURLOPT_HTTPHEADER, headers_.get());
  exchange_->deadline = std::chrono::steady_clock::now() + limits_.whole;
  code_ = curl_easy_perform(handle_.get());
  if (exchange_->too_long) {
    return failure(ErrorCode::unavailable, shown_ + ": its answer is longer than " +
                                               std::to_string(limits_.most_bytes) + " bytes");
  }
  if (code_ == CURLE_OPERATION_TIMEDOUT ||
      (code_ == CURLE_ABORTED_BY_CALLBACK && exchange_->timed_out)) {
    return failure(ErrorCode::timeout, shown_ + ": no whole answer within " +
                                           std::to_string(limits_.whole.count()) + " ms");
  }
  if (code_ == CURLE_ABORTED_BY_CALLBACK) {
    return failure(ErrorCode::unavailable, shown_ + ": stopped before it answered");
  }
  if (code_ != CURLE_OK) {
    const std::string detail = analysis::base::one_line(exchange_->detail.data());
    return failure(code_ == CURLE_URL_MALFORMAT ? ErrorCode::invalid_input : ErrorCode::unavailable,
                   shown_ + ": " + (detail.empty() ? curl_easy_strerror(code_) : detail));
  }
  return {};
}

bool CurlTransfer::answer_too_long() const { return exchange_->too_long; }

long CurlTransfer::status() const {
  long status = 0;
  curl_easy_getinfo(handle_.get(), CURLINFO_RESPONSE_CODE, &status);
  return status;
}

std::string& CurlTransfer::answer() const { return exchange_->body; }

}  // namespace logger::transfer
