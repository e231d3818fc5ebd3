#include <algorithm>

#include "logger/notify/channels/curl_channels.hpp"
#include "logger/notify/channels/message_fields.hpp"
#include "logger/transfer/curl_transfer.hpp"

namespace logger::notify {

using store::ErrorCode;
using store::failure;
using transfer::CurlTransfer;

namespace {

using Mime = std::unique_ptr<curl_mime, decltype(&curl_mime_free)>;
using List = std::unique_ptr<curl_slist, decltype(&curl_slist_free_all)>;

Mime new_mime(const CurlTransfer& transfer) {
  return {curl_mime_init(transfer.handle()), &curl_mime_free};
}

void add_text(curl_mime* parent, const std::string& text, const char* type) {
  curl_mimepart* part = curl_mime_addpart(parent);
  const std::string lines = with_crlf(text);
  curl_mime_data(part, lines.data(), lines.size());
  curl_mime_type(part, type);
  curl_mime_encoder(part, "quoted-printable");
}

// Letters, digits, points, dashes; nothing that could end a quoted name.
std::string plain_file_name(const std::string& name) {
  std::string plain = encoded_id(name, ".-_");
  std::replace(plain.begin(), plain.end(), '%', '_');
  return plain;
}

// Shown inside the HTML where that asks for it as cid:NAME.
void add_attachment(curl_mime* parent, const Attachment& attachment, const std::string& html) {
  curl_mimepart* part = curl_mime_addpart(parent);
  const std::string name = plain_file_name(attachment.file_name);
  const bool is_inline = html.find("cid:" + name) != std::string::npos;
  curl_mime_data(part, attachment.bytes.data(), attachment.bytes.size());
  curl_mime_type(part, attachment.content_type.c_str());
  curl_mime_encoder(part, "base64");
  curl_slist* lines = curl_slist_append(
      nullptr, ("Content-Disposition: " + std::string(is_inline ? "inline" : "attachment") +
                "; filename=\"" + name + "\"")
                   .c_str());
  lines = curl_slist_append(lines, ("Content-ID: <" + name + ">").c_str());
  curl_mime_headers(part, lines, 1);
}

Mime body_of(const CurlTransfer& transfer, const Outgoing& message) {
  Mime whole = new_mime(transfer);
  if (message.html.empty()) {
    add_text(whole.get(), message.text, "text/plain; charset=utf-8");
  } else {
    Mime either = new_mime(transfer);
    add_text(either.get(), message.text, "text/plain; charset=utf-8");
    add_text(either.get(), message.html, "text/html; charset=utf-8");
    curl_mimepart* part = curl_mime_addpart(whole.get());
    if (curl_mime_subparts(part, either.get()) == CURLE_OK) {
      static_cast<void>(either.release());  // belongs to the part now
    }
    curl_mime_type(part, "multipart/alternative");
  }
  for (const Attachment& attachment : message.attachments) {
    add_attachment(whole.get(), attachment, message.html);
  }
  return whole;
}

void add_fields(CurlTransfer& transfer, const MailSettings& settings, const Outgoing& message) {
  transfer.add_header("Date: " + date_text(message.at));
  transfer.add_header("From: <" + settings.from + ">");
  transfer.add_header("To: <" + settings.to + ">");
  transfer.add_header("Subject: " + header_text(message.subject));
  transfer.add_header("Message-ID: " + message_id(message.id, settings.from));
  transfer.add_header("Auto-Submitted: auto-generated");  // RFC 3834
}

void set_connection(CurlTransfer& transfer, const MailSettings& settings) {
  transfer.set(CURLOPT_PROTOCOLS_STR, "smtp,smtps");
  transfer.set(CURLOPT_USE_SSL,
               static_cast<long>(settings.plain_text_allowed ? CURLUSESSL_TRY : CURLUSESSL_ALL));
  transfer.trust(settings.certificates_file);
  if (!settings.user.empty()) {
    transfer.set(CURLOPT_USERNAME, settings.user.c_str());
    transfer.set(CURLOPT_PASSWORD, settings.password.c_str());
  }
}

// True where the server refused this message or its recipient for good (RFC 5321 section 4.2.1),
// and not the connection, its encryption or the login.
bool is_refused(const CurlTransfer& transfer) {
  const long status = transfer.status();
  curl_off_t sent = 0;
  curl_easy_getinfo(transfer.handle(), CURLINFO_SIZE_UPLOAD_T, &sent);
  const bool of_message = transfer.code() == CURLE_SEND_ERROR ||
                          (transfer.code() == CURLE_WEIRD_SERVER_REPLY && sent > 0);
  return of_message && status >= 500 && status < 600 && status != 530 && status != 535;
}

// Keeps the last line of the server that says no.
int note_refusal(CURL* /*handle*/, curl_infotype type, char* data, std::size_t size, void* user) {
  const std::string_view line(data, size);
  if (type == CURLINFO_HEADER_IN && (line.starts_with('4') || line.starts_with('5'))) {
    *static_cast<std::string*>(user) = line;
  }
  return 0;
}

// Of a stranger, so one line of printable ASCII and no more than fits a message.
std::string cleaned_words(std::string words) {
  constexpr std::size_t kMostBytes = 200;
  words.resize(std::min(words.size(), kMostBytes));
  words.erase(words.find_last_not_of("\r\n ") + 1);
  std::ranges::replace_if(
      words, [](char c) { return c < 0x20 || c >= 0x7f; }, '?');
  return words;
}

// The failure of a transfer that the server ended with a status. What it says about a login is left
// out, since it may repeat what it was given.
store::Failure refusal_of(const CurlTransfer& mail, const store::Error& error,
                          const std::string& to, const std::string& words) {
  const std::string status = std::to_string(mail.status());
  const ErrorCode code = is_refused(mail) ? ErrorCode::invalid_input : error.code;
  const bool of_recipient = error.context.find("RCPT failed") != std::string::npos;
  const bool of_message = mail.code() == CURLE_WEIRD_SERVER_REPLY;
  if ((!of_recipient && !of_message) || !words.starts_with(status) || status == "530" ||
      status == "535") {
    return failure(code, error.context + " (SMTP status " + status + ")");
  }
  const std::string what = of_recipient ? to : "the message";
  return failure(code, mail.shown() + (mail.status() < 500 ? " does not take " : " refuses ") +
                           what + (mail.status() < 500 ? " now: " : ": ") + cleaned_words(words));
}

}  // namespace

Result<void> check_mail(const MailSettings& settings) {
  for (const auto& [key, address] : {std::pair{"from", &settings.from}, {"to", &settings.to}}) {
    const std::string fault = address_fault(*address);
    if (!fault.empty()) {
      return failure(ErrorCode::invalid_input, "mail, " + std::string(key) + ": " + fault);
    }
  }
  const auto parts = transfer::parts_of_url(settings.url);
  if (!parts) {
    return failure(ErrorCode::invalid_input, "mail server: " + parts.error().context);
  }
  if (parts.value().scheme != "smtps" && parts.value().scheme != "smtp") {
    return failure(ErrorCode::invalid_input,
                   "mail server: " + parts.value().shown() + "; expected smtps:// or smtp://");
  }
  if (settings.plain_text_allowed && !parts.value().to_this_machine) {
    return failure(ErrorCode::invalid_input,
                   "mail server: " + parts.value().shown() +
                       "; without encryption mail goes to this machine alone");
  }
  return {};
}

Result<void> MailChannel::deliver(const Outgoing& message, const std::stop_token& stop) {
  const auto parts = transfer::parts_of_url(settings_.url);
  const std::string shown = "mail server " + (parts ? parts.value().shown() : "");
  auto made = CurlTransfer::make(settings_.url, shown, settings_.limits, stop);
  if (!made) {
    return store::Failure{made.error()};
  }
  CurlTransfer& mail = made.value();
  set_connection(mail, settings_);
  add_fields(mail, settings_, message);
  const List recipients(curl_slist_append(nullptr, ("<" + settings_.to + ">").c_str()),
                        &curl_slist_free_all);
  const Mime body = body_of(mail, message);
  mail.set(CURLOPT_MAIL_FROM, ("<" + settings_.from + ">").c_str());
  mail.set(CURLOPT_MAIL_RCPT, recipients.get());
  mail.set(CURLOPT_MIMEPOST, body.get());
  std::string words;
  mail.set(CURLOPT_VERBOSE, 1L);
  mail.set(CURLOPT_DEBUGFUNCTION, &note_refusal);
  mail.set(CURLOPT_DEBUGDATA, &words);
  const auto done = mail.perform();
  mail.set(CURLOPT_VERBOSE, 0L);
  if (!done && mail.code() != CURLE_OK && mail.status() >= 400) {
    return refusal_of(mail, done.error(), settings_.to, words);
  }
  return done;
}

}  // namespace logger::notify
