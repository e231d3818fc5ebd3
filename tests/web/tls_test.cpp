// TLS with a certificate made for the test: handshake, versions, what does not fit.
#include <openssl/err.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/ssl.h>
#include <openssl/x509.h>

#include <catch2/catch.hpp>
#include <memory>

#include "logger/web/http/web_server.hpp"
#include "tests/web/raw_client.hpp"

namespace web_tests {
namespace {

using namespace logger::web;
using logger::store::ErrorCode;

std::string text_in(BIO* bio) {
  char* bytes = nullptr;
  const long length = BIO_get_mem_data(bio, &bytes);
  std::string text(bytes, static_cast<std::size_t>(length));
  BIO_free(bio);
  return text;
}

TlsIdentity make_identity() {
  const std::unique_ptr<EVP_PKEY, decltype(&EVP_PKEY_free)> key{EVP_EC_gen("P-256"), EVP_PKEY_free};
  const std::unique_ptr<X509, decltype(&X509_free)> certificate{X509_new(), X509_free};
  X509_set_version(certificate.get(), 2);
  ASN1_INTEGER_set(X509_get_serialNumber(certificate.get()), 1);
  X509_gmtime_adj(X509_getm_notBefore(certificate.get()), -3600);
  X509_gmtime_adj(X509_getm_notAfter(certificate.get()), 3600);
  X509_set_pubkey(certificate.get(), key.get());
  X509_NAME* name = X509_get_subject_name(certificate.get());
  X509_NAME_add_entry_by_txt(name, "CN", MBSTRING_ASC,
                             reinterpret_cast<const unsigned char*>("localhost"), -1, -1, 0);
  X509_set_issuer_name(certificate.get(), name);
  REQUIRE(X509_sign(certificate.get(), key.get(), EVP_sha256()) > 0);
  TlsIdentity identity;
  BIO* bio = BIO_new(BIO_s_mem());
  PEM_write_bio_X509(bio, certificate.get());
  identity.certificate_chain_pem = text_in(bio);
  bio = BIO_new(BIO_s_mem());
  PEM_write_bio_PrivateKey(bio, key.get(), nullptr, nullptr, 0, nullptr, nullptr);
  identity.key_pem = text_in(bio);
  return identity;
}

class TlsEcho final : public RequestHandler {
 public:
  void handle(Request request, Answer answer) override {
    Response response;
    response.body = request.target + (request.over_tls ? " over TLS" : " in the clear");
    answer(std::move(response));
  }
};

// What a client of that newest version reads until the end; empty where there is no handshake.
std::string fetched_by_tls(std::uint16_t port, int newest_version, const TlsIdentity& expected) {
  RawClient raw{port};
  const std::unique_ptr<SSL_CTX, decltype(&SSL_CTX_free)> context{SSL_CTX_new(TLS_client_method()),
                                                                  SSL_CTX_free};
  SSL_CTX_set_security_level(context.get(), 0);  // lets the client offer old versions at all
  SSL_CTX_set_min_proto_version(context.get(), TLS1_VERSION);
  SSL_CTX_set_max_proto_version(context.get(), newest_version);
  BIO* pem = BIO_new_mem_buf(expected.certificate_chain_pem.data(),
                             static_cast<int>(expected.certificate_chain_pem.size()));
  const std::unique_ptr<X509, decltype(&X509_free)> trusted{
      PEM_read_bio_X509(pem, nullptr, nullptr, nullptr), X509_free};
  BIO_free(pem);
  X509_STORE_add_cert(SSL_CTX_get_cert_store(context.get()), trusted.get());
  SSL_CTX_set_verify(context.get(), SSL_VERIFY_PEER, nullptr);
  const std::unique_ptr<SSL, decltype(&SSL_free)> connection{SSL_new(context.get()), SSL_free};
  SSL_set_fd(connection.get(), raw.socket());
  std::string text;
  if (SSL_connect(connection.get()) == 1) {
    const std::string request = RawClient::get("/tls", "Connection: close\r\n");
    SSL_write(connection.get(), request.data(), static_cast<int>(request.size()));
    std::array<char, 4096> bytes;
    for (int count = 1; count > 0;) {
      count = SSL_read(connection.get(), bytes.data(), static_cast<int>(bytes.size()));
      text.append(bytes.data(), static_cast<std::size_t>(std::max(count, 0)));
    }
    // The end was said, not cut.
    CHECK((SSL_get_shutdown(connection.get()) & SSL_RECEIVED_SHUTDOWN) != 0);
  }
  ERR_clear_error();
  return text;
}

logger::store::Error tls_start_error(TlsIdentity identity) {
  TlsEcho handler;
  WebServer server{{.address = "127.0.0.1", .port = 0, .tls = std::move(identity)},
                   [] { return UtcMicros{0}; }};
  const auto started = server.start(handler);
  REQUIRE_FALSE(started);
  return started.error();
}

}  // namespace

TEST_CASE("OverTlsRequestsAreAnsweredByVersion12AndAbove") {
  const TlsIdentity identity = make_identity();
  TlsEcho handler;
  WebServer server{{.address = "127.0.0.1", .port = 0, .tls = identity},
                   [] { return UtcMicros{0}; }};
  REQUIRE(server.start(handler));
  for (const int version : {TLS1_2_VERSION, TLS1_3_VERSION}) {
    CHECK(fetched_by_tls(server.port(), version, identity).ends_with("\r\n\r\n/tls over TLS"));
  }
  CHECK(fetched_by_tls(server.port(), TLS1_1_VERSION, identity).empty());
  RawClient in_the_clear{server.port()};
  in_the_clear.send(RawClient::get("/"));
  CHECK_FALSE(in_the_clear.read_until("HTTP/1.1 200"));
}

TEST_CASE("WithTlsTheServerMayBeReachedFromOutside") {
  // Bound to this machine alone all the same: another address of the loopback network.
  TlsEcho handler;
  WebServer server{{.address = "127.0.0.9", .port = 0, .tls = make_identity()},
                   [] { return UtcMicros{0}; }};
  CHECK(server.start(handler));
}

TEST_CASE("ACertificateThatCantServeIsRefused") {
  const TlsIdentity one = make_identity();
  const TlsIdentity two = make_identity();
  const auto mixed = tls_start_error({one.certificate_chain_pem, two.key_pem});
  CHECK(mixed.code == ErrorCode::invalid_input);
  CHECK(mixed.context.starts_with("page: the TLS key does not fit the TLS certificate"));
  CHECK(tls_start_error({"nonsense", one.key_pem})
            .context.starts_with("page: the TLS certificate can't be read"));
  CHECK(tls_start_error({one.certificate_chain_pem, ""})
            .context.starts_with("page: the TLS key can't be read"));
}

}  // namespace web_tests
