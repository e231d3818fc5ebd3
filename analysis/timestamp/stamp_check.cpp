#include "analysis/timestamp/stamp_check.hpp"

#include <openssl/crypto.h>
#include <openssl/pem.h>
#include <openssl/x509_vfy.h>
#include <openssl/x509v3.h>

#include <array>
#include <vector>

#include "analysis/timestamp/opened_reply.hpp"

namespace analysis::timestamp {
namespace {

using base::Failure;
using base::Result;
using evidence::Fault;
using evidence::Sha256;

using Certificate = Handle<X509, X509_free>;
using Store = Handle<X509_STORE, X509_STORE_free>;
using ChainCheck = Handle<X509_STORE_CTX, X509_STORE_CTX_free>;
using VerifyContext = Handle<TS_VERIFY_CTX, TS_VERIFY_CTX_free>;
void free_certificates(STACK_OF(X509) * certificates) { sk_X509_pop_free(certificates, X509_free); }
using Certificates = Handle<STACK_OF(X509), free_certificates>;

constexpr int kStrength = 2;  // OpenSSL's level for 112 bits

Result<std::vector<Certificate>, Fault> certificates_from_pem(std::string_view pem) {
  const BioHandle in = bio_over(pem);
  std::vector<Certificate> certificates;
  while (X509* next = PEM_read_bio_X509(in.get(), nullptr, nullptr, nullptr)) {
    certificates.emplace_back(next);
  }
  // The end of the text is that no further certificate begins.
  const bool at_end = ERR_GET_REASON(ERR_peek_last_error()) == PEM_R_NO_START_LINE;
  if (!at_end || certificates.empty()) {
    const std::string reason = newest_openssl_error();
    return Failure{Fault{certificates.empty() && at_end
                             ? "no certificate in it; expected PEM, -----BEGIN CERTIFICATE-----"
                             : "certificate " + std::to_string(certificates.size() + 1) +
                                   " of it can't be read: " + reason}};
  }
  ERR_clear_error();
  return certificates;
}

Store store_from(const std::vector<Certificate>& trusted, base::UtcMicros at) {
  Store store{X509_STORE_new()};
  for (const Certificate& certificate : trusted) {
    X509_STORE_add_cert(store.get(), certificate.get());
  }
  X509_VERIFY_PARAM* const rules = X509_STORE_get0_param(store.get());
  X509_VERIFY_PARAM_set_time(rules, static_cast<time_t>(at.value / 1'000'000));
  X509_VERIFY_PARAM_set_flags(rules, X509_V_FLAG_PARTIAL_CHAIN);
  X509_VERIFY_PARAM_set_auth_level(rules, kStrength);
  return store;
}

std::string chain_fault_text(int code, int depth, const X509* at_fault, base::UtcMicros at) {
  const std::string who =
      at_fault == nullptr ? "a certificate" : "the certificate of " + name_of_subject(at_fault);
  const std::string when = base::rfc3339_from_utc(at);
  switch (code) {
    case X509_V_ERR_CERT_HAS_EXPIRED:
      return who + " had expired when it stamped, " + when;
    case X509_V_ERR_CERT_NOT_YET_VALID:
      return who + " was not valid yet when it stamped, " + when;
    case X509_V_ERR_INVALID_PURPOSE:
      return who + (depth == 0 ? " is not made for time stamps (extended key usage "
                                 "id-kp-timeStamping, critical and alone)"
                               : " is not one that may sign certificates");
    case X509_V_ERR_INVALID_CA:
      return who + " is not one that may sign certificates";
    case X509_V_ERR_UNABLE_TO_GET_ISSUER_CERT:
    case X509_V_ERR_UNABLE_TO_GET_ISSUER_CERT_LOCALLY:
    case X509_V_ERR_UNABLE_TO_VERIFY_LEAF_SIGNATURE:
    case X509_V_ERR_DEPTH_ZERO_SELF_SIGNED_CERT:
    case X509_V_ERR_SELF_SIGNED_CERT_IN_CHAIN:
      return "its signer's chain does not lead to a given authority; it ends at " +
             (at_fault == nullptr ? std::string("an unknown one") : name_of_subject(at_fault));
    default:
      return who + " does not hold: " + X509_verify_cert_error_string(code);
  }
}

Result<void, Fault> check_chain(X509* signer, STACK_OF(X509) * carried, X509_STORE* trusted,
                                base::UtcMicros at) {
  const ChainCheck chain{X509_STORE_CTX_new()};
  if (!chain || X509_STORE_CTX_init(chain.get(), trusted, signer, carried) != 1 ||
      X509_STORE_CTX_set_purpose(chain.get(), X509_PURPOSE_TIMESTAMP_SIGN) != 1) {
    return refused("its chain could not be checked: " + newest_openssl_error());
  }
  if (X509_verify_cert(chain.get()) != 1) {
    return refused(chain_fault_text(X509_STORE_CTX_get_error(chain.get()),
                                    X509_STORE_CTX_get_error_depth(chain.get()),
                                    X509_STORE_CTX_get_current_cert(chain.get()), at));
  }
  return {};
}

// The digest under the token's own signature.
bool is_weak_digest(PKCS7* token) {
  const STACK_OF(PKCS7_SIGNER_INFO)* signers = PKCS7_get_signer_info(token);
  for (int i = 0; i < sk_PKCS7_SIGNER_INFO_num(signers); ++i) {
    X509_ALGOR* digest = nullptr;
    PKCS7_SIGNER_INFO_get0_algs(sk_PKCS7_SIGNER_INFO_value(signers, i), nullptr, &digest, nullptr);
    const ASN1_OBJECT* name = nullptr;
    X509_ALGOR_get0(&name, nullptr, nullptr, digest);
    const int nid = OBJ_obj2nid(name);
    if (nid == NID_md5 || nid == NID_sha1) {
      return true;
    }
  }
  return false;
}

// All that RFC 3161 asks of the signature and of the certificate that it names.
Result<void, Fault> check_signature(PKCS7* token, Store trusted, const Certificates& extra) {
  const VerifyContext context{TS_VERIFY_CTX_new()};
  TS_VERIFY_CTX_set_flags(context.get(), TS_VFY_SIGNATURE | TS_VFY_VERSION);
  TS_VERIFY_CTX_set_store(context.get(), trusted.release());
  TS_VERIFY_CTX_set_certs(context.get(), X509_chain_up_ref(extra.get()));
  if (TS_RESP_verify_token(context.get(), token) != 1) {
    return refused("its signature is wrong: " + newest_openssl_error());
  }
  return {};
}

}  // namespace

std::string library_version() {
  return "OpenSSL " + std::string(OpenSSL_version(OPENSSL_VERSION_STRING));
}

Result<void, Fault> check_authorities(std::string_view pem) {
  const auto certificates = certificates_from_pem(pem);
  return certificates ? Result<void, Fault>{} : Failure{certificates.error()};
}

Result<TimeStamp, Fault> verified_time_stamp(std::string_view reply_der,
                                             std::string_view authorities_pem) {
  const auto trusted = certificates_from_pem(authorities_pem);
  if (!trusted) {
    return Failure{trusted.error()};
  }
  const auto opened = opened_reply_from(reply_der);
  if (!opened) {
    return Failure{opened.error()};
  }
  PKCS7* const token = opened.value().token.get();
  auto stamp = time_stamp_from_opened(opened.value());
  if (!stamp) {
    return stamp;
  }
  const Certificates extra{sk_X509_new_null()};
  for (const Certificate& certificate : trusted.value()) {
    X509_add_cert(extra.get(), certificate.get(), X509_ADD_FLAG_UP_REF);
  }
  const CertificateView signers{PKCS7_get0_signers(token, extra.get(), 0)};
  if (!signers || sk_X509_num(signers.get()) != 1) {
    return refused("it carries no certificate of the one who signed it");
  }
  X509* const signer = sk_X509_value(signers.get(), 0);
  Store store = store_from(trusted.value(), stamp.value().at);
  const auto chain = check_chain(signer, token->d.sign->cert, store.get(), stamp.value().at);
  if (!chain) {
    return Failure{chain.error()};
  }
  if (is_weak_digest(token)) {
    return refused("it is signed over a digest that no longer counts as strong");
  }
  const auto signature = check_signature(token, std::move(store), extra);
  if (!signature) {
    return Failure{signature.error()};
  }
  stamp.value().authority = name_of_subject(signer);
  return stamp;
}

}  // namespace analysis::timestamp
