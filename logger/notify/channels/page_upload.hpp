// Puts one file where others fetch it: HTTP PUT (RFC 9110) or SFTP. Blocks; for a worker thread.
#pragma once

#include <stop_token>
#include <string>

#include "logger/notify/channels/channels.hpp"

namespace logger::notify {

struct UploadSettings {
  std::string url;   // https://, http:// to this machine, or sftp://HOST[:PORT]/PATH; PATH begins
                     // with ~/ where it is below the folder one is logged in to
  std::string user;  // empty = without logging in (not with SFTP)
  std::string password;
  std::string key_file;         // SFTP: secret key in PEM or OpenSSH form; empty = by password
  std::string host_key_sha256;  // SFTP: of the server's key, base64; needed
  std::string certificates_file;
  transfer::TransferLimits limits{60s, 15s};
};

struct UploadedPage {
  std::string content_type;
  std::string bytes;
};

// invalid_input names the setting.
[[nodiscard]] Result<void> check_upload(const UploadSettings& settings);

// Over SFTP under PATH.part first. SFTP version 3 can't rename over a file, so the old one is taken
// away just before: for that moment there is none. Errors: invalid_input (a status from 400 to 499
// that does not pass), timeout, unavailable.
[[nodiscard]] Result<void> upload_page(const UploadSettings& settings, const UploadedPage& page,
                                       const std::stop_token& stop);

}  // namespace logger::notify
