#include <sodium.h>

#include <array>

#include "logger/notify/channels/curl_channels.hpp"
#include "logger/notify/channels/http_rules.hpp"
#include "logger/notify/channels/message_fields.hpp"

namespace logger::notify {

namespace {

constexpr std::string_view kInId = "-_.~:/@+";

// HMAC-SHA-256 (RFC 2104) in hex.
std::string keyed_hash_hex(std::string_view secret, std::string_view text) {
  const auto bytes = [](std::string_view view) {
    return reinterpret_cast<const unsigned char*>(view.data());
  };
  crypto_auth_hmacsha256_state state;
  std::array<unsigned char, crypto_auth_hmacsha256_BYTES> hash{};
  crypto_auth_hmacsha256_init(&state, bytes(secret), secret.size());
  crypto_auth_hmacsha256_update(&state, bytes(text), text.size());
  crypto_auth_hmacsha256_final(&state, hash.data());
  sodium_memzero(&state, sizeof state);
  std::array<char, 2 * crypto_auth_hmacsha256_BYTES + 1> hex{};
  return sodium_bin2hex(hex.data(), hex.size(), hash.data(), hash.size());
}

}  // namespace

Result<void> check_webhook(const WebhookSettings& settings) {
  const auto parts = transfer::parts_of_url(settings.url);
  if (!parts) {
    return store::failure(parts.error().code, "webhook: " + parts.error().context);
  }
  const UrlCheck check{parts.value(), "https", "http"};
  return check_encrypted("webhook", check);
}

Result<void> WebhookChannel::deliver(const Outgoing& message, const std::stop_token& stop) {
  const auto parts = transfer::parts_of_url(settings_.url);
  const std::string shown = "webhook " + (parts ? parts.value().shown() : "");
  auto made = transfer::CurlTransfer::make(settings_.url, shown, settings_.limits, stop);
  if (!made) {
    return store::Failure{made.error()};
  }
  transfer::CurlTransfer& request = made.value();
  const std::string at = std::to_string(message.at.value / 1'000'000);
  request.set(CURLOPT_PROTOCOLS_STR, "http,https");
  request.trust(settings_.certificates_file);
  request.add_header("Content-Type: application/json");
  request.add_header("User-Agent: dwellog");
  request.add_header("Expect:");
  request.add_header("Idempotency-Key: " + encoded_id(message.id, kInId));
  request.add_header("Dwellog-Kind: " + encoded_id(message.kind, kInId));
  request.add_header("Dwellog-Timestamp: " + at);
  if (!settings_.secret.empty()) {
    request.add_header("Dwellog-Signature: v1=" +
                       keyed_hash_hex(settings_.secret, at + "." + message.json));
  }
  request.send_body(message.json);
  return taken_by_outcome(request, request.perform());
}

}  // namespace logger::notify
