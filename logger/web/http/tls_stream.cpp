#include <openssl/err.h>
#include <openssl/ssl.h>

#include <boost/asio/redirect_error.hpp>
#include <boost/asio/ssl/context.hpp>
#include <boost/asio/ssl/stream.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/write.hpp>

#include "logger/web/http/byte_stream.hpp"
#include "logger/web/http/web_server.hpp"

namespace logger::web {

namespace ssl = boost::asio::ssl;
using boost::asio::redirect_error;
using boost::asio::use_awaitable;
using boost::asio::ip::tcp;
using store::ErrorCode;
using store::failure;

namespace {

class TlsStream final : public ByteStream {
 public:
  TlsStream(tcp::socket socket, ssl::context& context) : stream_(std::move(socket), context) {}

  Awaitable<void> handshake(Error& error) override {
    co_await stream_.async_handshake(ssl::stream_base::server,
                                     redirect_error(use_awaitable, error));
  }
  Awaitable<std::size_t> read_some(boost::asio::mutable_buffer into, Error& error) override {
    co_return co_await stream_.async_read_some(into, redirect_error(use_awaitable, error));
  }
  Awaitable<void> write(boost::asio::const_buffer bytes, Error& error) override {
    co_await boost::asio::async_write(stream_, bytes, redirect_error(use_awaitable, error));
  }
  Awaitable<void> finish() override {
    Error ignored;
    co_await stream_.async_shutdown(redirect_error(use_awaitable, ignored));
  }
  tcp::socket& socket() override { return stream_.next_layer(); }

 private:
  ssl::stream<tcp::socket> stream_;
};

class TlsStreams final : public StreamMaker {
 public:
  explicit TlsStreams(ssl::context context) : context_(std::move(context)) {}
  std::shared_ptr<ByteStream> stream_over(tcp::socket socket) override {
    return std::make_shared<TlsStream>(std::move(socket), context_);
  }

 private:
  ssl::context context_;
};

store::Failure unfit(const std::string& what, const boost::system::error_code& error) {
  ERR_clear_error();
  return failure(ErrorCode::invalid_input, "page: " + what + ": " + error.message());
}

}  // namespace

store::Result<std::unique_ptr<StreamMaker>> tls_streams(const TlsIdentity& identity) {
  boost::system::error_code error;
  ssl::context context{ssl::context::tls_server};
  ERR_clear_error();
  context.use_certificate_chain(boost::asio::buffer(identity.certificate_chain_pem), error);
  if (error) {
    return unfit("the TLS certificate can't be read, expected PEM with the server's first", error);
  }
  context.use_private_key(boost::asio::buffer(identity.key_pem), ssl::context::pem, error);
  if (error) {
    // OpenSSL compares both as soon as it has both.
    const bool mismatch =
        ERR_GET_REASON(static_cast<unsigned long>(error.value())) == X509_R_KEY_VALUES_MISMATCH;
    return mismatch ? unfit("the TLS key does not fit the TLS certificate", error)
                    : unfit("the TLS key can't be read, expected PEM without a password", error);
  }
  SSL_CTX_set_min_proto_version(context.native_handle(), TLS1_2_VERSION);
  SSL_CTX_set_options(context.native_handle(), SSL_OP_NO_RENEGOTIATION);
  return std::unique_ptr<StreamMaker>(std::make_unique<TlsStreams>(std::move(context)));
}

std::string_view page_support_text() { return "the page over TLS too"; }

}  // namespace logger::web
