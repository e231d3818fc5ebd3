#include "logger/notify/channels/page_upload.hpp"

#include <algorithm>
#include <cstring>

#include "logger/notify/channels/http_rules.hpp"
#include "logger/transfer/curl_transfer.hpp"

namespace logger::notify {

using store::ErrorCode;
using store::failure;
using transfer::CurlTransfer;

namespace {

constexpr std::string_view kPart = ".part";

// What libcurl still has to send.
std::size_t give_piece(char* buffer, std::size_t size, std::size_t count, void* user) {
  auto& rest = *static_cast<std::string_view*>(user);
  const std::size_t bytes = std::min(rest.size(), size * count);
  std::memcpy(buffer, rest.data(), bytes);
  rest.remove_prefix(bytes);
  return bytes;
}

// As the commands of SFTP want it: absolute, or below the folder one is logged in to.
std::string remote_path(const std::string& url_path) {
  return url_path.starts_with("/~/") ? url_path.substr(3) : url_path;
}

// Such a path needs neither quotes in a command nor % in a URL.
bool is_plain_path(const std::string& path) {
  return path.size() > 1 && path.back() != '/' && std::ranges::all_of(path, [](char c) {
           return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') ||
                  std::string_view("/._-~").find(c) != std::string_view::npos;
         });
}

Result<void> check_sftp(const UploadSettings& settings, const transfer::UrlParts& parts) {
  std::string fault;
  if (!is_plain_path(parts.path)) {
    fault = "expected a path of letters, digits and / . _ - that ends with a file's name";
  } else if (settings.user.empty()) {
    fault = "expected a user";
  } else if (settings.host_key_sha256.empty()) {
    fault = "expected the SHA-256 of the server's key (host_key_sha256)";
  } else if (settings.key_file.empty() == settings.password.empty()) {
    fault = "expected either a key file or a password";
  }
  return fault.empty()
             ? Result<void>{}
             : failure(ErrorCode::invalid_input, "status push, " + parts.shown() + ": " + fault);
}

Result<void> upload_by_sftp(const UploadSettings& settings, const std::string& path,
                            CurlTransfer& transfer, const UploadedPage& page) {
  transfer.set(CURLOPT_PROTOCOLS_STR, "sftp");
  transfer.set(CURLOPT_URL, (settings.url + std::string(kPart)).c_str());
  transfer.set(CURLOPT_USERNAME, settings.user.c_str());
  transfer.set(CURLOPT_SSH_HOST_PUBLIC_KEY_SHA256, settings.host_key_sha256.c_str());
  if (settings.key_file.empty()) {
    transfer.set(CURLOPT_SSH_AUTH_TYPES, static_cast<long>(CURLSSH_AUTH_PASSWORD));
    transfer.set(CURLOPT_PASSWORD, settings.password.c_str());
  } else {
    transfer.set(CURLOPT_SSH_AUTH_TYPES, static_cast<long>(CURLSSH_AUTH_PUBLICKEY));
    transfer.set(CURLOPT_SSH_PRIVATE_KEYFILE, settings.key_file.c_str());
  }
  std::string_view rest = page.bytes;
  transfer.set(CURLOPT_UPLOAD, 1L);
  transfer.set(CURLOPT_READFUNCTION, give_piece);
  transfer.set(CURLOPT_READDATA, &rest);
  transfer.set(CURLOPT_INFILESIZE_LARGE, static_cast<curl_off_t>(page.bytes.size()));
  const std::string target = remote_path(path);
  curl_slist* commands = curl_slist_append(nullptr, ("*rm " + target).c_str());
  commands =
      curl_slist_append(commands, ("rename " + target + std::string(kPart) + " " + target).c_str());
  transfer.set(CURLOPT_POSTQUOTE, commands);
  const auto done = transfer.perform();
  curl_slist_free_all(commands);
  return done;
}

Result<void> upload_by_put(const UploadSettings& settings, CurlTransfer& transfer,
                           const UploadedPage& page) {
  transfer.set(CURLOPT_PROTOCOLS_STR, "http,https");
  transfer.trust(settings.certificates_file);
  transfer.add_header("Content-Type: " + page.content_type);
  transfer.add_header("User-Agent: dwellog");
  transfer.add_header("Expect:");
  if (!settings.user.empty()) {
    transfer.set(CURLOPT_HTTPAUTH, static_cast<long>(CURLAUTH_BASIC));
    transfer.set(CURLOPT_USERNAME, settings.user.c_str());
    transfer.set(CURLOPT_PASSWORD, settings.password.c_str());
  }
  transfer.send_body(page.bytes);
  transfer.set(CURLOPT_CUSTOMREQUEST, "PUT");
  return taken_by_outcome(transfer, transfer.perform());
}

}  // namespace

Result<void> check_upload(const UploadSettings& settings) {
  const auto parts = transfer::parts_of_url(settings.url);
  if (!parts) {
    return failure(ErrorCode::invalid_input, "status push: " + parts.error().context);
  }
  if (parts.value().scheme == "sftp") {
    return check_sftp(settings, parts.value());
  }
  return check_encrypted("status push (sftp:// is another way)", {parts.value(), "https", "http"});
}

Result<void> upload_page(const UploadSettings& settings, const UploadedPage& page,
                         const std::stop_token& stop) {
  const auto parts = transfer::parts_of_url(settings.url);
  if (!parts) {
    return failure(ErrorCode::invalid_input, "status push: " + parts.error().context);
  }
  auto made = CurlTransfer::make(settings.url, "status push, " + parts.value().shown(),
                                 settings.limits, stop);
  if (!made) {
    return store::Failure{made.error()};
  }
  return parts.value().scheme == "sftp"
             ? upload_by_sftp(settings, parts.value().path, made.value(), page)
             : upload_by_put(settings, made.value(), page);
}

}  // namespace logger::notify
