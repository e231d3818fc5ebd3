#include "analysis/timestamp/stamp_request.hpp"

#include "analysis/timestamp/openssl_handles.hpp"

namespace analysis::timestamp {
namespace {

using Request = Handle<TS_REQ, TS_REQ_free>;
using Imprint = Handle<TS_MSG_IMPRINT, TS_MSG_IMPRINT_free>;
using Algorithm = Handle<X509_ALGOR, X509_ALGOR_free>;
using Integer = Handle<ASN1_INTEGER, ASN1_INTEGER_free>;

bool fill(TS_REQ* request, const StampRequest& wanted) {
  const Imprint imprint{TS_MSG_IMPRINT_new()};
  const Algorithm algorithm{X509_ALGOR_new()};
  const Integer nonce{ASN1_INTEGER_new()};
  if (request == nullptr || !imprint || !algorithm || !nonce) {
    return false;
  }
  evidence::Sha256 digest = wanted.digest;  // the library copies it, but asks for a writable one
  return X509_ALGOR_set0(algorithm.get(), OBJ_nid2obj(NID_sha256), V_ASN1_NULL, nullptr) == 1 &&
         TS_MSG_IMPRINT_set_algo(imprint.get(), algorithm.get()) == 1 &&
         TS_MSG_IMPRINT_set_msg(imprint.get(), digest.bytes.data(),
                                static_cast<int>(digest.bytes.size())) == 1 &&
         ASN1_INTEGER_set_uint64(nonce.get(), wanted.nonce) == 1 &&
         TS_REQ_set_version(request, 1) == 1 &&
         TS_REQ_set_msg_imprint(request, imprint.get()) == 1 &&
         TS_REQ_set_nonce(request, nonce.get()) == 1 && TS_REQ_set_cert_req(request, 1) == 1;
}

}  // namespace

base::Result<std::string, evidence::Fault> der_from_request(const StampRequest& request) {
  const Request made{TS_REQ_new()};
  const int size = fill(made.get(), request) ? i2d_TS_REQ(made.get(), nullptr) : -1;
  if (size <= 0) {
    return base::Failure{
        evidence::Fault{"a request for a time stamp could not be made: " + newest_openssl_error()}};
  }
  std::string der(static_cast<std::size_t>(size), '\0');
  auto* out = reinterpret_cast<unsigned char*>(der.data());
  i2d_TS_REQ(made.get(), &out);
  return der;
}

}  // namespace analysis::timestamp
