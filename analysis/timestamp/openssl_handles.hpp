// Owners of what OpenSSL gives out, and its newest error in words.
#pragma once

#include <openssl/bio.h>
#include <openssl/bn.h>
#include <openssl/err.h>
#include <openssl/pkcs7.h>
#include <openssl/ts.h>
#include <openssl/x509.h>

#include <memory>
#include <string>
#include <string_view>

#include "analysis/base/free_with.hpp"

namespace analysis::timestamp {

using base::Handle;

using BioHandle = Handle<BIO, BIO_free_all>;
using BigNumber = Handle<BIGNUM, BN_free>;
using Token = Handle<PKCS7, PKCS7_free>;
using TokenContent = Handle<TS_TST_INFO, TS_TST_INFO_free>;
using Reply = Handle<TS_RESP, TS_RESP_free>;
// Of certificates that others own.
inline void free_view(STACK_OF(X509) * certificates) { sk_X509_free(certificates); }
using CertificateView = Handle<STACK_OF(X509), free_view>;

inline BioHandle bio_over(std::string_view bytes) {
  return BioHandle{BIO_new_mem_buf(bytes.data(), static_cast<int>(bytes.size()))};
}

// Empties the library's list of errors of this thread.
inline std::string newest_openssl_error() {
  const unsigned long code = ERR_peek_last_error();
  ERR_clear_error();
  const char* reason = ERR_reason_error_string(code);
  return reason == nullptr ? "no reason given" : reason;
}

}  // namespace analysis::timestamp
