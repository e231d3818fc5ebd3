#include "logger/anchor/http_post.hpp"

#include <algorithm>
#include <cctype>

#include "logger/transfer/curl_transfer.hpp"

namespace logger::anchor {
namespace {

using store::ErrorCode;
using store::failure;
using store::Result;
using transfer::CurlTransfer;

// "Text/Plain; charset=x" -> "text/plain".
std::string plain_type(const char* type) {
  std::string text = type == nullptr ? "" : type;
  text = text.substr(0, text.find(';'));
  text.erase(text.find_last_not_of(' ') + 1);
  std::ranges::transform(text, text.begin(),
                         [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

void follow_redirections(CurlTransfer& transfer, const std::string& url) {
  const bool tls = url.starts_with("https:");
  transfer.set(CURLOPT_PROTOCOLS_STR, "http,https");
  transfer.set(CURLOPT_REDIR_PROTOCOLS_STR, tls ? "https" : "http,https");
  transfer.set(CURLOPT_FOLLOWLOCATION, 1L);
  transfer.set(CURLOPT_MAXREDIRS, 3L);
  transfer.set(CURLOPT_POSTREDIR, static_cast<long>(CURL_REDIR_POST_ALL));
}

}  // namespace

Result<std::string> post(const HttpPost& request, const std::stop_token& stop) {
  if (!request.url.starts_with("http://") && !request.url.starts_with("https://")) {
    return failure(ErrorCode::invalid_input, request.url + ": expected http:// or https://");
  }
  auto made = CurlTransfer::make(request.url, request.url, request.limits, stop);
  if (!made) {
    return store::Failure{made.error()};
  }
  CurlTransfer& transfer = made.value();
  follow_redirections(transfer, request.url);
  transfer.add_header("Content-Type: " + request.content_type);
  transfer.add_header("Accept: " + request.expected_type);
  transfer.send_body(request.body);
  const auto done = transfer.perform();
  if (!done) {
    return store::Failure{done.error()};
  }
  if (transfer.status() != 200) {
    return failure(ErrorCode::unavailable, request.url + ": it answers with HTTP status " +
                                               std::to_string(transfer.status()) +
                                               ", expected 200");
  }
  const char* type = nullptr;
  curl_easy_getinfo(transfer.handle(), CURLINFO_CONTENT_TYPE, &type);
  if (plain_type(type) != request.expected_type) {
    return failure(ErrorCode::unavailable, request.url + ": its answer is of type `" +
                                               plain_type(type) + "`, expected `" +
                                               request.expected_type + "`");
  }
  return std::move(transfer.answer());
}

}  // namespace logger::anchor
