#include "analysis/timestamp/stamp_reply.hpp"

#include <algorithm>
#include <array>
#include <memory>

#include "analysis/timestamp/opened_reply.hpp"

namespace analysis::timestamp {
namespace {

using base::Failure;
using base::Micros;
using base::Result;
using evidence::Fault;

// Foreign words on one line of a terminal.
std::string printable(std::string_view text) {
  constexpr std::size_t kMost = 200;
  std::string shown(text.substr(0, kMost));
  std::ranges::replace_if(
      shown, [](char c) { return c < ' ' || c == '\x7f'; }, '?');
  return shown;
}

std::string text_from_string(const ASN1_STRING* value) {
  return {reinterpret_cast<const char*>(ASN1_STRING_get0_data(value)),
          static_cast<std::size_t>(ASN1_STRING_length(value))};
}

// Source: RFC 3161 section 2.4.2, PKIFailureInfo.
std::string failure_text(const ASN1_BIT_STRING* bits) {
  struct Reason {
    int bit;
    const char* text;
  };
  static constexpr std::array<Reason, 8> kReasons = {{{0, "digest not supported"},
                                                      {2, "request not permitted"},
                                                      {5, "request not understood"},
                                                      {14, "its clock is not available"},
                                                      {15, "policy not supported"},
                                                      {16, "extension not supported"},
                                                      {17, "information not available"},
                                                      {25, "failure of its system"}}};
  std::string text;
  for (const Reason& reason : kReasons) {
    if (bits != nullptr && ASN1_BIT_STRING_get_bit(bits, reason.bit) == 1) {
      text += (text.empty() ? "" : ", ") + std::string(reason.text);
    }
  }
  return text;
}

std::string words_of(const TS_STATUS_INFO* status) {
  std::string words = failure_text(TS_STATUS_INFO_get0_failure_info(status));
  const STACK_OF(ASN1_UTF8STRING)* texts = TS_STATUS_INFO_get0_text(status);
  for (int i = 0; i < sk_ASN1_UTF8STRING_num(texts); ++i) {
    words += (words.empty() ? "" : "; ") +
             printable(text_from_string(sk_ASN1_UTF8STRING_value(texts, i)));
  }
  return words.empty() ? "it gives no reason" : words;
}

// The token of bytes that are wholly one TimeStampResp; nullptr when they are none.
Result<Token, Fault> token_from_response(std::string_view der) {
  const auto* next = reinterpret_cast<const unsigned char*>(der.data());
  const auto* const end = next + der.size();
  const Reply reply{d2i_TS_RESP(nullptr, &next, static_cast<long>(der.size()))};
  if (!reply || next != end) {
    return Token{};
  }
  const TS_STATUS_INFO* status = TS_RESP_get_status_info(reply.get());
  const long code = ASN1_INTEGER_get(TS_STATUS_INFO_get0_status(status));
  if (code != TS_STATUS_GRANTED && code != TS_STATUS_GRANTED_WITH_MODS) {
    return refused("not granted by the authority (status " + std::to_string(code) +
                   "): " + words_of(status));
  }
  return Token{PKCS7_dup(TS_RESP_get_token(reply.get()))};
}

Token token_alone(std::string_view der) {
  const auto* next = reinterpret_cast<const unsigned char*>(der.data());
  const auto* const end = next + der.size();
  Token token{d2i_PKCS7(nullptr, &next, static_cast<long>(der.size()))};
  return next == end ? std::move(token) : Token{};
}

// "20260302070000.25Z" as DER writes it.
std::optional<base::UtcMicros> utc_from_generalized(std::string_view text) {
  constexpr std::size_t kWholeSeconds = 14;
  constexpr std::size_t kMicroDigits = 6;
  if (text.size() <= kWholeSeconds || text.back() != 'Z') {
    return std::nullopt;
  }
  std::string fraction(text.substr(kWholeSeconds, text.size() - kWholeSeconds - 1));
  if (!fraction.empty()) {
    fraction.resize(kMicroDigits + 1, '0');
  }
  const std::string t(text.substr(0, kWholeSeconds));
  return base::utc_from_rfc3339(t.substr(0, 4) + "-" + t.substr(4, 2) + "-" + t.substr(6, 2) + "T" +
                                t.substr(8, 2) + ":" + t.substr(10, 2) + ":" + t.substr(12, 2) +
                                fraction + "Z");
}

std::optional<Micros> accuracy_of(TS_TST_INFO* content) {
  const TS_ACCURACY* stated = TS_TST_INFO_get_accuracy(content);
  if (stated == nullptr) {
    return std::nullopt;
  }
  const auto part = [](const ASN1_INTEGER* value) -> std::int64_t {
    constexpr std::int64_t kMost = 1'000'000'000;
    std::int64_t number = 0;
    return value != nullptr && ASN1_INTEGER_get_int64(&number, value) == 1
               ? std::clamp<std::int64_t>(number, 0, kMost)
               : 0;
  };
  return Micros{part(TS_ACCURACY_get_seconds(stated)) * 1'000'000 +
                part(TS_ACCURACY_get_millis(stated)) * 1000 + part(TS_ACCURACY_get_micros(stated))};
}

std::string hex_from_integer(const ASN1_INTEGER* value) {
  const BigNumber number{ASN1_INTEGER_to_BN(value, nullptr)};
  char* const text = number ? BN_bn2hex(number.get()) : nullptr;
  std::string hex = text == nullptr ? std::string() : std::string(text);
  OPENSSL_free(text);
  return hex;
}

std::optional<std::uint64_t> nonce_of(const TS_TST_INFO* content) {
  std::uint64_t nonce = 0;
  const ASN1_INTEGER* stated = TS_TST_INFO_get_nonce(content);
  if (stated == nullptr || ASN1_INTEGER_get_uint64(&nonce, stated) != 1) {
    ERR_clear_error();
    return std::nullopt;
  }
  return nonce;
}

std::optional<evidence::Sha256> digest_of(TS_TST_INFO* content) {
  TS_MSG_IMPRINT* imprint = TS_TST_INFO_get_msg_imprint(content);
  const ASN1_OBJECT* algorithm = nullptr;
  X509_ALGOR_get0(&algorithm, nullptr, nullptr, TS_MSG_IMPRINT_get_algo(imprint));
  const std::string bytes = text_from_string(TS_MSG_IMPRINT_get_msg(imprint));
  evidence::Sha256 digest;
  if (OBJ_obj2nid(algorithm) != NID_sha256 || bytes.size() != digest.bytes.size()) {
    return std::nullopt;
  }
  std::copy(bytes.begin(), bytes.end(), digest.bytes.begin());
  return digest;
}

std::string signer_name(PKCS7* token) {
  const CertificateView signers{PKCS7_get0_signers(token, nullptr, 0)};
  ERR_clear_error();
  return signers && sk_X509_num(signers.get()) > 0
             ? name_of_subject(sk_X509_value(signers.get(), 0))
             : "an authority whose certificate the token does not carry";
}

}  // namespace

Failure<Fault> refused(std::string text) {
  ERR_clear_error();
  return Failure{Fault{"time stamp: " + std::move(text)}};
}

std::string name_of_subject(const X509* certificate) {
  const BioHandle out{BIO_new(BIO_s_mem())};
  // RFC 2253 escapes control characters; without ESC_MSB other letters stay themselves.
  constexpr unsigned long kReadable =
      XN_FLAG_RFC2253 & ~static_cast<unsigned long>(ASN1_STRFLGS_ESC_MSB);
  if (!out || X509_NAME_print_ex(out.get(), X509_get_subject_name(certificate), 0, kReadable) < 0) {
    return "an authority whose name can't be read";
  }
  char* text = nullptr;
  const long size = BIO_get_mem_data(out.get(), &text);
  return printable({text, static_cast<std::size_t>(size)});
}

Result<OpenedReply, Fault> opened_reply_from(std::string_view der) {
  if (der.size() > kMostReplyBytes) {
    return refused(std::to_string(der.size()) + " bytes; expected at most " +
                   std::to_string(kMostReplyBytes));
  }
  auto token = token_from_response(der);
  if (!token) {
    return Failure{token.error()};
  }
  OpenedReply opened{std::move(token).value(), {}};
  if (!opened.token) {
    opened.token = token_alone(der);
  }
  if (!opened.token) {
    return refused("the " + std::to_string(der.size()) +
                   " bytes are neither a TimeStampResp nor a token in DER");
  }
  if (PKCS7_type_is_signed(opened.token.get()) != 1) {
    return refused("the bytes are a signed-data structure of another kind");
  }
  opened.content.reset(PKCS7_to_TS_TST_INFO(opened.token.get()));
  if (!opened.content) {
    return refused("the bytes are signed, but what is signed is no time stamp");
  }
  return opened;
}

Result<TimeStamp, Fault> time_stamp_from_opened(const OpenedReply& opened) {
  TS_TST_INFO* const content = opened.content.get();
  const auto digest = digest_of(content);
  if (!digest) {
    return refused("it stamps a digest that is not SHA-256");
  }
  const std::string written = text_from_string(TS_TST_INFO_get_time(content));
  const auto at = utc_from_generalized(written);
  if (!at) {
    return refused("its time `" + printable(written) + "` can't be read");
  }
  return TimeStamp{*digest,
                   *at,
                   accuracy_of(content),
                   hex_from_integer(TS_TST_INFO_get_serial(content)),
                   signer_name(opened.token.get()),
                   nonce_of(content)};
}

Result<TimeStamp, Fault> time_stamp_from_reply(std::string_view der) {
  const auto opened = opened_reply_from(der);
  return opened ? time_stamp_from_opened(opened.value()) : Failure{opened.error()};
}

Result<void, Fault> check_stamps(const TimeStamp& stamp, const evidence::Sha256& digest) {
  if (stamp.digest != digest) {
    return refused("it stamps " + evidence::hex_from_digest(stamp.digest) + ", expected " +
                   evidence::hex_from_digest(digest));
  }
  return {};
}

Result<void, Fault> check_answers(const TimeStamp& stamp, const StampRequest& request) {
  const auto stamps = check_stamps(stamp, request.digest);
  if (!stamps) {
    return stamps;
  }
  if (stamp.nonce != request.nonce) {
    return refused("it answers another request: the nonce is not the one that was sent");
  }
  return {};
}

}  // namespace analysis::timestamp
