// One transfer by libcurl with limits of time and size: HTTP, SMTP, SFTP. Blocks; for a worker
// thread. Waiting for a server is I/O, so its limit is real monotonic time and not the logger's
// clock. Servers are checked by their certificates, TLS 1.2 at least. Nothing secret gets into an
// error: the other side is named as the caller says, never by its whole URL.
#pragma once

#include <curl/curl.h>

#include <memory>
#include <stop_token>
#include <string>
#include <string_view>

#include "logger/store/error.hpp"
#include "logger/transfer/transfer_limits.hpp"

namespace logger::transfer {

// The parts of a URL that tell where it goes.
struct UrlParts {
  std::string scheme;  // lower case
  std::string host;    // as it is written, IPv6 in brackets
  std::string port;    // as it is written; empty = the scheme's own
  std::string path;    // with the query
  bool to_this_machine = false;
  // "https://example.org:8443", for errors
  [[nodiscard]] std::string shown() const;
};
// invalid_input, which does not repeat the URL: no URL, control characters, a user or password in
// it (those belong in files of their own).
[[nodiscard]] store::Result<UrlParts> parts_of_url(const std::string& url);

class CurlTransfer {
 public:
  // `url` was taken by parts_of_url. `shown` names the other side in errors. unavailable without
  // memory.
  [[nodiscard]] static store::Result<CurlTransfer> make(const std::string& url, std::string shown,
                                                        const TransferLimits& limits,
                                                        const std::stop_token& stop);
  // An option of curl_easy_setopt; strings are copied by libcurl, blobs and lists are not.
  template <class T>
  void set(CURLoption option, T value) {
    curl_easy_setopt(handle_.get(), option, value);
  }
  // PEM file; empty = those that the system trusts. With a file those count no more.
  void trust(const std::string& certificates_file);
  void add_header(const std::string& line);
  // Copied.
  void send_body(std::string_view body);

  // Runs it once. Errors: timeout, unavailable, invalid_input (a URL of another kind).
  [[nodiscard]] store::Result<void> perform();

  // perform failed since the answer has more bytes than the limit; its status stands.
  [[nodiscard]] bool answer_too_long() const;
  [[nodiscard]] CURL* handle() const { return handle_.get(); }
  [[nodiscard]] CURLcode code() const { return code_; }  // of perform
  [[nodiscard]] long status() const;                     // of HTTP or SMTP; 0 = none came
  [[nodiscard]] std::string& answer() const;             // its body
  [[nodiscard]] const std::string& shown() const { return shown_; }

 private:
  struct Exchange;
  struct FreeHandle {
    void operator()(CURL* handle) const { curl_easy_cleanup(handle); }
  };
  struct FreeList {
    void operator()(curl_slist* list) const { curl_slist_free_all(list); }
  };
  struct FreeExchange {
    void operator()(Exchange* exchange) const;
  };
  CurlTransfer() = default;

  std::string shown_;
  TransferLimits limits_;
  CURLcode code_ = CURLE_OK;
  std::unique_ptr<Exchange, FreeExchange> exchange_;  // libcurl keeps its address
  std::unique_ptr<curl_slist, FreeList> headers_;
  std::unique_ptr<CURL, FreeHandle> handle_;
};

}  // namespace logger::transfer
