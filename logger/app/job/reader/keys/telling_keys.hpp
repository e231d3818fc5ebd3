// The keys of who is told, of the page and of what is pushed outward.
#pragma once

#include "logger/app/job/reader/keys/key_rules.hpp"

namespace logger::app::key_rules {

inline constexpr KeyRule kQuietKeys[] = {text("from", kRequired), text("to", kRequired)};
inline constexpr ObjectKeys kQuiet{kQuietKeys};
inline constexpr KeyRule kWebhookKeys[] = {text("url", kRequired), text("secret_file", kOptional),
                                           text("certificates", kOptional)};
inline constexpr ObjectKeys kWebhook{kWebhookKeys};
inline constexpr KeyRule kRecipientKeys[] = {identifier("id", kRequired),
                                             text("mail", kOptional),
                                             object("webhook", kOptional, kWebhook),
                                             text("mqtt_topic", kOptional),
                                             text_list("command", 50),
                                             object("quiet_hours", kOptional, kQuiet)};
inline constexpr ObjectKeys kRecipient{kRecipientKeys};
inline constexpr KeyRule kMailServerKeys[] = {
    text("url", kRequired),          text("from", kRequired),
    text("user", kOptional),         text("password_file", kOptional),
    text("certificates", kOptional), boolean("plain_text_allowed")};
inline constexpr ObjectKeys kMailServer{kMailServerKeys};
inline constexpr KeyRule kMqttServerKeys[] = {text("host", kRequired),
                                              whole_number("port", kOptional, 1, 65535),
                                              boolean("tls"),
                                              text("user", kOptional),
                                              text("password_file", kOptional),
                                              text("certificates", kOptional),
                                              text("topic", kRequired)};
inline constexpr ObjectKeys kMqttServer{kMqttServerKeys};
inline constexpr KeyRule kReminderKeys[] = {number("every_hours", kRequired, 0.25, 168),
                                            whole_number("most", kOptional, 1, 100)};
inline constexpr ObjectKeys kReminders{kReminderKeys};
inline constexpr KeyRule kEscalationKeys[] = {number("after_hours", kRequired, 0.1, 168),
                                              identifier("to", kRequired)};
inline constexpr ObjectKeys kEscalation{kEscalationKeys};
inline constexpr KeyRule kDigestKeys[] = {text("at", kRequired), text_list("to", 20)};
inline constexpr ObjectKeys kDigest{kDigestKeys};

inline constexpr KeyRule kPageKeys[] = {
    text("address", kOptional), whole_number("port", kOptional, 1, 65535),
    text("tls_certificate", kOptional), text("tls_key", kOptional), text_list("tls_names", 20)};
inline constexpr ObjectKeys kPage{kPageKeys};

inline constexpr KeyRule kStatusPushKeys[] = {text("url", kOptional),
                                              text("user", kOptional),
                                              text("password_file", kOptional),
                                              text("key_file", kOptional),
                                              text("host_key_sha256", kOptional),
                                              text("certificates", kOptional),
                                              number("every_hours", kOptional, 0.25, 168),
                                              boolean("personal")};
inline constexpr ObjectKeys kStatusPush{kStatusPushKeys};

}  // namespace logger::app::key_rules
