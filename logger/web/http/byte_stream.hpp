// Bytes over a socket, plain or by TLS, so that what serves a connection is compiled once. Server's
// thread only; one read and one write at a time.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <memory>

#include "logger/store/error.hpp"
#include "logger/web/http/web_server.hpp"

namespace logger::web {

class ByteStream {
 public:
  using Error = boost::system::error_code;
  template <class T>
  using Awaitable = boost::asio::awaitable<T>;

  ByteStream() = default;
  ByteStream(const ByteStream&) = delete;
  ByteStream& operator=(const ByteStream&) = delete;
  virtual ~ByteStream() = default;

  virtual Awaitable<void> handshake(Error& error) = 0;
  // 0 bytes only with an error.
  virtual Awaitable<std::size_t> read_some(boost::asio::mutable_buffer into, Error& error) = 0;
  // All of it, or an error.
  virtual Awaitable<void> write(boost::asio::const_buffer bytes, Error& error) = 0;
  // Tells the peer that nothing more comes.
  virtual Awaitable<void> finish() = 0;
  virtual boost::asio::ip::tcp::socket& socket() = 0;
};

// Makes the streams of one server.
class StreamMaker {
 public:
  StreamMaker() = default;
  StreamMaker(const StreamMaker&) = delete;
  StreamMaker& operator=(const StreamMaker&) = delete;
  virtual ~StreamMaker() = default;
  [[nodiscard]] virtual std::shared_ptr<ByteStream> stream_over(
      boost::asio::ip::tcp::socket socket) = 0;
};

[[nodiscard]] std::unique_ptr<StreamMaker> plain_streams();
// TLS 1.2 and above. Errors: as WebServer::start.
[[nodiscard]] store::Result<std::unique_ptr<StreamMaker>> tls_streams(const TlsIdentity& identity);

}  // namespace logger::web
