#include "logger/app/access/tls_files.hpp"

#include <openssl/ec.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/rand.h>
#include <openssl/x509v3.h>

#include <algorithm>
#include <array>
#include <memory>
#include <optional>
#include <vector>

#include "analysis/base/free_with.hpp"
#include "analysis/evidence/digest.hpp"
#include "analysis/evidence/signing_key.hpp"
#include "logger/app/commands/keys/passphrase.hpp"
#include "logger/web/access/files/private_file.hpp"

namespace logger::app {

using analysis::base::micros_from_hours;
using std::filesystem::path;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr double kHoursLong = 397 * 24;
constexpr double kHoursLeft = 30 * 24;
constexpr double kHoursBefore = 24;  // for clocks that are behind
constexpr std::string_view kSelfMade = "self-made";

using analysis::base::Handle;
using Bio = Handle<BIO, BIO_free_all>;
using Key = Handle<EVP_PKEY, EVP_PKEY_free>;
using Certificate = Handle<X509, X509_free>;
using Extension = Handle<X509_EXTENSION, X509_EXTENSION_free>;
using Names = Handle<GENERAL_NAMES, GENERAL_NAMES_free>;
using Time = Handle<ASN1_TIME, ASN1_TIME_free>;

struct Pair {
  Certificate certificate;
  Key key;
};

store::Failure openssl_failure(const char* what) {
  return failure(ErrorCode::io, std::string("cannot make a certificate for the page: ") + what);
}

Bio bio_over(const std::string& text) {
  return Bio{BIO_new_mem_buf(text.data(), static_cast<int>(text.size()))};
}

// Never asks for a passphrase: the daemon has no terminal.
int refuse_passphrase(char* /*buffer*/, int /*size*/, int /*rwflag*/, void* /*context*/) {
  return -1;
}

// Whether the two belong together is not looked at. `what_to_do` ends the line of what is damaged.
Result<Pair> read_pair(const path& certificate, const path& key, const std::string& what_to_do) {
  const auto certificate_text = read_file(certificate);
  auto key_text = read_secret_file(key);
  if (!certificate_text || !key_text) {
    return store::Failure{!key_text ? key_text.error() : certificate_text.error()};
  }
  const Bio certificate_bio = bio_over(certificate_text.value());
  const Bio key_bio = bio_over(key_text.value());
  Pair pair{
      Certificate{PEM_read_bio_X509(certificate_bio.get(), nullptr, refuse_passphrase, nullptr)},
      Key{PEM_read_bio_PrivateKey(key_bio.get(), nullptr, refuse_passphrase, nullptr)}};
  analysis::evidence::wipe(key_text.value());
  if (!pair.certificate || !pair.key) {
    return failure(
        ErrorCode::invalid_input,
        (!pair.certificate ? certificate.string() + ": expected a certificate in PEM"
                           : key.string() + ": expected a key in PEM without passphrase") +
            what_to_do);
  }
  return pair;
}

bool fit(const Pair& pair) {
  return X509_check_private_key(pair.certificate.get(), pair.key.get()) == 1;
}

// Those that job.json names.
Result<Pair> named_pair(const path& certificate, const path& key) {
  auto pair = read_pair(certificate, key, "");
  if (pair && !fit(pair.value())) {
    pair = failure(ErrorCode::invalid_input,
                   key.string() + " is not the key of the certificate " + certificate.string());
  }
  return pair ? std::move(pair)
              : store::Failure{{pair.error().code,
                                "page.tls_certificate, page.tls_key: " + pair.error().context,
                                pair.error().os_errno}};
}

// Those made here; nullopt where one is missing. What is damaged or was open to others is a
// person's to judge: a new certificate would look like an attack to every browser.
Result<std::optional<Pair>> made_pair(const JobFolder& folder, const TlsFiles& files) {
  if (const auto sound = web::check_private_folder(folder.access()); !sound) {
    return store::Failure{sound.error()};
  }
  std::error_code error;
  if (!std::filesystem::exists(files.certificate, error) ||
      !std::filesystem::exists(files.key, error)) {
    return std::optional<Pair>{};
  }
  auto pair = read_pair(files.certificate, files.key, "; remove it to have a new pair made");
  return pair ? Result<std::optional<Pair>>{std::move(pair).value()} : store::Failure{pair.error()};
}

Result<UtcMicros> expiry_of(const X509* certificate) {
  constexpr std::int64_t kSecondsADay = 86'400;
  const Time epoch{ASN1_TIME_set(nullptr, 0)};
  int days = 0;
  int seconds = 0;
  if (!epoch ||
      ASN1_TIME_diff(&days, &seconds, epoch.get(), X509_get0_notAfter(certificate)) != 1) {
    return failure(ErrorCode::invalid_input, "the page's certificate does not say when it ends");
  }
  return UtcMicros{(days * kSecondsADay + seconds) * 1'000'000};
}

std::string fingerprint_of_certificate(const X509* certificate) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned length = 0;
  X509_digest(certificate, EVP_sha256(), digest.data(), &length);
  std::string hex = analysis::evidence::hex_from_bytes(std::span(digest).first(length));
  std::string text;
  for (std::size_t i = 0; i < hex.size(); ++i) {
    text += i > 0 && i % 2 == 0 ? ":" : "";
    text += hex[i] >= 'a' ? static_cast<char>(hex[i] - 'a' + 'A') : hex[i];
  }
  return text;
}

// As subjectAltName wants them: "DNS:NAME" or "IP:ADDRESS"; an address that is any of the machine's
// names nothing.
std::vector<std::string> alternative_names(const JobPage& page) {
  std::vector<std::string> wanted = page.tls_names;
  wanted.push_back(page.address);
  wanted.emplace_back("localhost");
  std::vector<std::string> names;
  for (const std::string& name : wanted) {
    const Handle<ASN1_OCTET_STRING, ASN1_OCTET_STRING_free> address{a2i_IPADDRESS(name.c_str())};
    const std::string full = (address ? "IP:" : "DNS:") + name;
    if (name != "0.0.0.0" && name != "::" &&
        std::find(names.begin(), names.end(), full) == names.end()) {
      names.push_back(full);
    }
  }
  return names;
}

Names general_names(const std::vector<std::string>& names) {
  Names all{sk_GENERAL_NAME_new_null()};
  for (const std::string& name : names) {
    const bool is_address = name.starts_with("IP:");
    const std::string bare = name.substr(name.find(':') + 1);
    GENERAL_NAME* one = a2i_GENERAL_NAME(nullptr, nullptr, nullptr,
                                         is_address ? GEN_IPADD : GEN_DNS, bare.c_str(), 0);
    if (one == nullptr || sk_GENERAL_NAME_push(all.get(), one) <= 0) {
      GENERAL_NAME_free(one);
      return nullptr;
    }
  }
  return all;
}

bool has_names(const X509* certificate, const std::vector<std::string>& names) {
  const Names there{static_cast<GENERAL_NAMES*>(
      X509_get_ext_d2i(certificate, NID_subject_alt_name, nullptr, nullptr))};
  const Names wanted = general_names(names);
  if (!there || !wanted || sk_GENERAL_NAME_num(there.get()) != sk_GENERAL_NAME_num(wanted.get())) {
    return false;
  }
  for (int i = 0; i < sk_GENERAL_NAME_num(there.get()); ++i) {
    if (GENERAL_NAME_cmp(sk_GENERAL_NAME_value(there.get(), i),
                         sk_GENERAL_NAME_value(wanted.get(), i)) != 0) {
      return false;
    }
  }
  return true;
}

// Serial number of 127 random bits and the span of time.
bool put_head(X509* certificate, UtcMicros now) {
  std::array<unsigned char, 16> serial{};
  if (RAND_bytes(serial.data(), serial.size()) != 1) {
    return false;
  }
  serial[0] = static_cast<unsigned char>((serial[0] & 0x7fU) | 0x40U);  // positive, never short
  const Handle<BIGNUM, BN_free> number{BN_bin2bn(serial.data(), serial.size(), nullptr)};
  const auto seconds = [](UtcMicros at) { return static_cast<time_t>(at.value / 1'000'000); };
  const UtcMicros from = now - micros_from_hours(kHoursBefore);
  return X509_set_version(certificate, X509_VERSION_3) == 1 && number &&
         BN_to_ASN1_INTEGER(number.get(), X509_get_serialNumber(certificate)) != nullptr &&
         ASN1_TIME_set(X509_getm_notBefore(certificate), seconds(from)) != nullptr &&
         ASN1_TIME_set(X509_getm_notAfter(certificate),
                       seconds(from + micros_from_hours(kHoursLong))) != nullptr;
}

bool put_extensions(X509* certificate, const std::vector<std::string>& names) {
  constexpr std::array<std::pair<int, const char*>, 3> kPlain{
      {{NID_basic_constraints, "critical,CA:FALSE"},
       {NID_key_usage, "critical,digitalSignature"},
       {NID_ext_key_usage, "serverAuth"}}};
  for (const auto& [nid, value] : kPlain) {
    const Extension extension{X509V3_EXT_conf_nid(nullptr, nullptr, nid, value)};
    if (!extension || X509_add_ext(certificate, extension.get(), -1) != 1) {
      return false;
    }
  }
  const Names all = general_names(names);
  return all && X509_add1_ext_i2d(certificate, NID_subject_alt_name, all.get(), 0, 0) == 1;
}

// Self-signed; source of the fields: RFC 5280, section 4.
Result<Pair> new_pair(const std::vector<std::string>& names, UtcMicros now) {
  Pair pair{Certificate{X509_new()}, Key{EVP_EC_gen("P-256")}};
  X509* certificate = pair.certificate.get();
  if (certificate == nullptr || !pair.key || !put_head(certificate, now)) {
    return openssl_failure("no key");
  }
  X509_NAME* subject = X509_get_subject_name(certificate);
  constexpr std::string_view kCommonName = "dwellog page";
  const auto* text = reinterpret_cast<const unsigned char*>(kCommonName.data());
  if (X509_NAME_add_entry_by_txt(subject, "CN", MBSTRING_ASC, text,
                                 static_cast<int>(kCommonName.size()), -1, 0) != 1 ||
      X509_set_issuer_name(certificate, subject) != 1 ||
      X509_set_pubkey(certificate, pair.key.get()) != 1) {
    return openssl_failure("no subject");
  }
  if (!put_extensions(certificate, names)) {
    return failure(ErrorCode::invalid_input, "page.tls_names: expected host names or IP addresses");
  }
  return X509_sign(certificate, pair.key.get(), EVP_sha256()) > 0 ? Result<Pair>{std::move(pair)}
                                                                  : openssl_failure("no signature");
}

std::string text_in(BIO* bio) {
  char* bytes = nullptr;
  const long size = BIO_get_mem_data(bio, &bytes);
  return {bytes, static_cast<std::size_t>(size)};
}

// The key first: stopped between the two, they don't fit, and are made anew.
Result<void> write_pair(const Pair& pair, const TlsFiles& files) {
  const Bio key_bio{BIO_new(BIO_s_secmem())};
  const Bio certificate_bio{BIO_new(BIO_s_mem())};
  if (!key_bio || !certificate_bio ||
      PEM_write_bio_PrivateKey(key_bio.get(), pair.key.get(), nullptr, nullptr, 0, nullptr,
                               nullptr) != 1 ||
      PEM_write_bio_X509(certificate_bio.get(), pair.certificate.get()) != 1) {
    return openssl_failure("no text");
  }
  std::string key_text = text_in(key_bio.get());
  const auto written = web::write_private_file(files.key, key_text);
  analysis::evidence::wipe(key_text);
  return written ? web::write_private_file(files.certificate, text_in(certificate_bio.get()))
                 : written;
}

Result<TlsFiles> described(TlsFiles files, const Pair& pair) {
  const auto expiry = expiry_of(pair.certificate.get());
  if (!expiry) {
    return store::Failure{expiry.error()};
  }
  files.fingerprint = fingerprint_of_certificate(pair.certificate.get());
  files.expires_at = expiry.value();
  return files;
}

// Why a pair can't stay; empty where it has the names and time left. While the machine's clock is
// not set yet, any time will do; one of a clock that was ahead will not.
std::string why_not(const std::optional<Pair>& pair, const std::vector<std::string>& names,
                    UtcMicros now) {
  constexpr UtcMicros kClockIsSet{1'767'225'600'000'000};  // 2026-01-01, before this was written
  if (!pair) {
    return "there was none, or its key was missing";
  }
  if (!fit(*pair)) {
    return "key and certificate did not fit";
  }
  if (!has_names(pair->certificate.get(), names)) {
    return "the names or the address changed";
  }
  const auto expiry = expiry_of(pair->certificate.get());
  if (!expiry || (now >= kClockIsSet && expiry.value() - now < micros_from_hours(kHoursLeft))) {
    return "the old one had less than 30 days left";
  }
  return now >= kClockIsSet && expiry.value() - now > micros_from_hours(kHoursLong)
             ? "the old one was made by a clock that was ahead"
             : "";
}

TlsFiles paths_of(const JobFolder& folder, const JobPage& page) {
  TlsFiles files;
  const bool self_made = page.tls_certificate == kSelfMade;
  files.certificate = self_made ? folder.access() / "page.crt" : folder.root / page.tls_certificate;
  files.key = self_made ? folder.access() / "page.key" : folder.root / page.tls_key;
  return files;
}

}  // namespace

Result<TlsFiles> tls_files_for(const JobFolder& folder, const JobPage& page, UtcMicros now) {
  TlsFiles files = paths_of(folder, page);
  if (page.tls_certificate != kSelfMade) {
    const auto pair = named_pair(files.certificate, files.key);
    return pair ? described(std::move(files), pair.value())
                : Result<TlsFiles>{store::Failure{pair.error()}};
  }
  const auto there = made_pair(folder, files);
  if (!there) {
    return store::Failure{there.error()};
  }
  const std::vector<std::string> names = alternative_names(page);
  files.made_because = why_not(there.value(), names, now);
  if (files.made_because.empty()) {
    return described(std::move(files), *there.value());
  }
  const auto made = new_pair(names, now);
  if (!made) {
    return store::Failure{made.error()};
  }
  if (const auto written = write_pair(made.value(), files); !written) {
    return store::Failure{written.error()};
  }
  return described(std::move(files), made.value());
}

Result<void> check_tls_files(const JobFolder& folder, const JobPage& page) {
  const TlsFiles files = paths_of(folder, page);
  if (page.tls_certificate == kSelfMade) {
    const auto pair = made_pair(folder, files);
    return pair ? Result<void>{} : store::Failure{pair.error()};
  }
  const auto pair = named_pair(files.certificate, files.key);
  return pair ? Result<void>{} : store::Failure{pair.error()};
}

}  // namespace logger::app
