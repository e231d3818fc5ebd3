#include "logger/ingest/line_settings.hpp"

#include <boost/asio/ip/address.hpp>

namespace logger::ingest {

bool is_ip_address(const std::string& text) {
  boost::system::error_code ec;
  boost::asio::ip::make_address(text, ec);
  return !ec;
}

}  // namespace logger::ingest
