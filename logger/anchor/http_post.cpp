#include "logger/anchor/http_post.hpp"

#include <curl/curl.h>

#include <algorithm>
#include <cctype>
#include <memory>
#include <mutex>

namespace logger::anchor {
namespace {

using store::ErrorCode;
using store::failure;
using store::Result;

template <auto Free>
struct FreeWith {
  template <class T>
  void operator()(T* handle) const {
    Free(handle);
  }
};
using Transfer = std::unique_ptr<CURL, FreeWith<curl_easy_cleanup>>;
using Headers = std::unique_ptr<curl_slist, FreeWith<curl_slist_free_all>>;

// The library wants it once a process, before any thread uses it.
void prepare_library() {
  static std::once_flag once;
  std::call_once(once, [] { curl_global_init(CURL_GLOBAL_DEFAULT); });
}

struct Answer {
  std::string body;
  std::size_t most_bytes = 0;
  bool too_long = false;
  std::stop_token stop;
};

std::size_t take_piece(const char* piece, std::size_t size, std::size_t count, void* user) {
  auto& answer = *static_cast<Answer*>(user);
  const std::size_t bytes = size * count;
  if (answer.body.size() + bytes > answer.most_bytes) {
    answer.too_long = true;
    return 0;  // ends the transfer
  }
  answer.body.append(piece, bytes);
  return bytes;
}

// Called about once a second at least.
int look_for_stop(void* user, curl_off_t /*total*/, curl_off_t /*now*/, curl_off_t /*up_total*/,
                  curl_off_t /*up_now*/) {
  return static_cast<Answer*>(user)->stop.stop_requested() ? 1 : 0;
}

// "Text/Plain; charset=x" -> "text/plain".
std::string plain_type(const char* type) {
  std::string text = type == nullptr ? "" : type;
  text = text.substr(0, text.find(';'));
  text.erase(text.find_last_not_of(' ') + 1);
  std::ranges::transform(text, text.begin(),
                         [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

void set_limits(CURL* transfer, const HttpPost& request) {
  const bool tls = request.url.starts_with("https:");
  curl_easy_setopt(transfer, CURLOPT_NOSIGNAL, 1L);
  curl_easy_setopt(transfer, CURLOPT_TIMEOUT_MS, static_cast<long>(request.limits.whole.count()));
  curl_easy_setopt(transfer, CURLOPT_CONNECTTIMEOUT_MS,
                   static_cast<long>(request.limits.connect.count()));
  curl_easy_setopt(transfer, CURLOPT_PROTOCOLS_STR, "http,https");
  curl_easy_setopt(transfer, CURLOPT_REDIR_PROTOCOLS_STR, tls ? "https" : "http,https");
  curl_easy_setopt(transfer, CURLOPT_FOLLOWLOCATION, 1L);
  curl_easy_setopt(transfer, CURLOPT_MAXREDIRS, 3L);
  curl_easy_setopt(transfer, CURLOPT_POSTREDIR, static_cast<long>(CURL_REDIR_POST_ALL));
}

Result<std::string> judged(CURL* transfer, CURLcode code, Answer answer, const HttpPost& request,
                           const std::string& detail) {
  if (answer.too_long) {
    return failure(ErrorCode::unavailable, request.url + ": its answer is longer than " +
                                               std::to_string(answer.most_bytes) + " bytes");
  }
  if (code == CURLE_OPERATION_TIMEDOUT) {
    return failure(ErrorCode::timeout, request.url + ": no whole answer within " +
                                           std::to_string(request.limits.whole.count()) + " ms");
  }
  if (code == CURLE_ABORTED_BY_CALLBACK) {
    return failure(ErrorCode::unavailable, request.url + ": stopped before it answered");
  }
  if (code != CURLE_OK) {
    return failure(code == CURLE_URL_MALFORMAT ? ErrorCode::invalid_input : ErrorCode::unavailable,
                   request.url + ": " + (detail.empty() ? curl_easy_strerror(code) : detail));
  }
  long status = 0;
  curl_easy_getinfo(transfer, CURLINFO_RESPONSE_CODE, &status);
  if (status != 200) {
    return failure(ErrorCode::unavailable, request.url + ": it answers with HTTP status " +
                                               std::to_string(status) + ", expected 200");
  }
  const char* type = nullptr;
  curl_easy_getinfo(transfer, CURLINFO_CONTENT_TYPE, &type);
  if (plain_type(type) != request.expected_type) {
    return failure(ErrorCode::unavailable, request.url + ": its answer is of type `" +
                                               plain_type(type) + "`, expected `" +
                                               request.expected_type + "`");
  }
  return std::move(answer.body);
}

}  // namespace

Result<std::string> post(const HttpPost& request, const std::stop_token& stop) {
  prepare_library();
  if (!request.url.starts_with("http://") && !request.url.starts_with("https://")) {
    return failure(ErrorCode::invalid_input, request.url + ": expected http:// or https://");
  }
  const Transfer transfer{curl_easy_init()};
  Headers headers{curl_slist_append(nullptr, ("Content-Type: " + request.content_type).c_str())};
  if (!transfer || !headers) {
    return failure(ErrorCode::unavailable, request.url + ": no memory for a request");
  }
  curl_slist_append(headers.get(), ("Accept: " + request.expected_type).c_str());
  Answer answer{"", request.limits.most_bytes, false, stop};
  std::string detail(CURL_ERROR_SIZE, '\0');
  CURL* const handle = transfer.get();
  set_limits(handle, request);
  curl_easy_setopt(handle, CURLOPT_URL, request.url.c_str());
  curl_easy_setopt(handle, CURLOPT_HTTPHEADER, headers.get());
  curl_easy_setopt(handle, CURLOPT_POSTFIELDSIZE_LARGE,
                   static_cast<curl_off_t>(request.body.size()));
  curl_easy_setopt(handle, CURLOPT_POSTFIELDS, request.body.data());
  curl_easy_setopt(handle, CURLOPT_ERRORBUFFER, detail.data());
  curl_easy_setopt(handle, CURLOPT_WRITEFUNCTION, take_piece);
  curl_easy_setopt(handle, CURLOPT_WRITEDATA, &answer);
  curl_easy_setopt(handle, CURLOPT_NOPROGRESS, 0L);
  curl_easy_setopt(handle, CURLOPT_XFERINFOFUNCTION, look_for_stop);
  curl_easy_setopt(handle, CURLOPT_XFERINFODATA, &answer);
  const CURLcode code = curl_easy_perform(handle);
  return judged(handle, code, std::move(answer), request, detail.c_str());
}

}  // namespace logger::anchor
