#include <boost/asio/redirect_error.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/write.hpp>

#include "logger/web/http/byte_stream.hpp"

namespace logger::web {

namespace asio = boost::asio;

namespace {

class PlainStream final : public ByteStream {
 public:
  explicit PlainStream(asio::ip::tcp::socket socket) : socket_(std::move(socket)) {}

  Awaitable<void> handshake(Error& error) override {
    error = {};
    co_return;
  }
  Awaitable<std::size_t> read_some(asio::mutable_buffer into, Error& error) override {
    co_return co_await socket_.async_read_some(into,
                                               asio::redirect_error(asio::use_awaitable, error));
  }
  Awaitable<void> write(asio::const_buffer bytes, Error& error) override {
    co_await asio::async_write(socket_, bytes, asio::redirect_error(asio::use_awaitable, error));
  }
  Awaitable<void> finish() override {
    Error ignored;
    socket_.shutdown(asio::ip::tcp::socket::shutdown_send, ignored);
    co_return;
  }
  asio::ip::tcp::socket& socket() override { return socket_; }

 private:
  asio::ip::tcp::socket socket_;
};

class PlainStreams final : public StreamMaker {
 public:
  std::shared_ptr<ByteStream> stream_over(asio::ip::tcp::socket socket) override {
    return std::make_shared<PlainStream>(std::move(socket));
  }
};

}  // namespace

std::unique_ptr<StreamMaker> plain_streams() { return std::make_unique<PlainStreams>(); }

}  // namespace logger::web
