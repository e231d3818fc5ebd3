#include "logger/verify/stamp_files.hpp"

#include <sodium.h>

#include <optional>

#include "analysis/certificate/replay/stamp_lines.hpp"
#include "logger/verify/token_check.hpp"

namespace logger::verify {
namespace {

using analysis::base::Failure;
using analysis::certificate::StampedDigest;
using std::filesystem::path;

FileResult<std::string> authorities_from(const std::vector<path>& files) {
  std::string all;
  for (const path& file : files) {
    const auto pem = bytes_of(file);
    if (!pem) {
      return pem;
    }
    const auto readable = authorities_are_readable(pem.value());
    if (!readable) {
      return Failure{FileFault{file.string() + ": " + readable.error().text}};
    }
    all += pem.value() + "\n";
  }
  return all;
}

std::optional<std::string> bytes_from_base64(const std::string& text) {
  std::string bytes(text.size(), '\0');
  std::size_t size = 0;
  const char* end = nullptr;
  const bool read =
      sodium_base642bin(reinterpret_cast<unsigned char*>(bytes.data()), bytes.size(), text.data(),
                        text.size(), nullptr, &size, &end, sodium_base64_VARIANT_ORIGINAL) == 0 &&
      end == text.data() + text.size();
  bytes.resize(size);
  return read ? std::optional(bytes) : std::nullopt;
}

StampedDigest stamp_from(std::string source, std::string_view reply_der,
                         const std::string& authorities_pem) {
  StampedDigest stamp{std::move(source)};
  const TokenResult token = verified_token(reply_der, authorities_pem);
  if (!token) {
    stamp.fault = token.error().text;
    return stamp;
  }
  stamp.digest = token.value().digest;
  stamp.at = token.value().at;
  stamp.accuracy = token.value().accuracy;
  stamp.authority = token.value().authority;
  return stamp;
}

}  // namespace

FileResult<std::vector<StampedDigest>> stamps_from_files(const std::vector<path>& authorities,
                                                         const std::vector<path>& stamps,
                                                         std::string_view certificate) {
  std::vector<StampedDigest> read;
  if (authorities.empty()) {
    return stamps.empty() ? FileResult<std::vector<StampedDigest>>(read)
                          : Failure{FileFault{"--stamp " + stamps.front().string() +
                                              ": it proves nothing without --authority, the "
                                              "certificate of who stamped it"}};
  }
  if (!time_stamps_left_out().empty()) {
    return Failure{FileFault{std::string(time_stamps_left_out()), kExitCouldNotDo}};
  }
  const auto pem = authorities_from(authorities);
  if (!pem) {
    return Failure{pem.error()};
  }
  if (const auto anchor = analysis::certificate::anchor_token_base64(certificate)) {
    const auto der = bytes_from_base64(*anchor);
    read.push_back(
        der ? stamp_from(std::string(analysis::certificate::kAnchorStamp), *der, pem.value())
            : StampedDigest{std::string(analysis::certificate::kAnchorStamp),
                            "\"token_base64\" is not base64"});
  }
  for (const path& file : stamps) {
    const auto der = bytes_of(file);
    if (!der) {
      return Failure{der.error()};
    }
    read.push_back(stamp_from(file.string(), der.value(), pem.value()));
  }
  return read;
}

}  // namespace logger::verify
