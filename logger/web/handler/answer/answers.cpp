#include "logger/web/handler/answer/answers.hpp"

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstdio>
#include <nlohmann/json.hpp>

namespace logger::web {

using store::ErrorCode;

namespace {

constexpr std::size_t kWorthCompressing = 1024;
constexpr std::size_t kTooLongToCompress = std::size_t{4} << 20U;

std::string_view title_of(int status) {
  switch (status) {
    case 400:
      return "Bad request";
    case 401:
      return "Not signed in";
    case 403:
      return "Not allowed";
    case 404:
      return "Not found";
    case 405:
      return "Method not allowed";
    case 413:
      return "Too long";
    case 415:
      return "Unsupported kind of content";
    case 422:
      return "Not accepted";
    case 429:
      return "Too many requests";
    case 431:
      return "Header too long";
    case 503:
      return "Not available now";
    case 507:
      return "No space";
    default:
      return "Failed";
  }
}

// Where nothing more is said of this one. Says nothing that a stranger should not know.
std::string_view usual_detail_of(int status) {
  switch (status) {
    case 400:
      return "the request can't be read; expected HTTP/1.1 with one header line Host";
    case 401:
      return "expected a session of the login page or a token that is valid (Authorization: "
             "Bearer)";
    case 403:
      return "expected somebody who may do this, by our own page or by a token";
    case 404:
      return "there is nothing at this address";
    case 429:
    case 503:
      return "try again after the seconds that Retry-After names";
    case 431:
      return "the request line and the header lines together are longer than this server reads";
    case 507:
      return "the disk is nearly full; what is left is kept for readings, so make room on it";
    default:
      return "the logger could not do it; nobody is told more over the network";
  }
}

const std::string* header_in(const Response& response, std::string_view name) {
  const auto found = std::find_if(response.headers.begin(), response.headers.end(),
                                  [&](const Header& header) { return header.name == name; });
  return found == response.headers.end() ? nullptr : &found->value;
}

// FNV-1a, 64 bits (Fowler, Noll, Vo; constants from RFC 9923, from memory): tells versions apart,
// no more.
std::string digest_of(std::string_view bytes) {
  std::uint64_t hash = 0xcbf29ce484222325ULL;
  for (const char byte : bytes) {
    hash = (hash ^ static_cast<unsigned char>(byte)) * 0x100000001b3ULL;
  }
  std::array<char, 17> text{};
  std::snprintf(text.data(), text.size(), "%016llx", static_cast<unsigned long long>(hash));
  return text.data();
}

// Weak comparison: the tags are weak, since they stand for both codings.
bool has_it_already(const Request& request, const std::string& etag) {
  const std::string* given = header_of(request, "if-none-match");
  if (given == nullptr) {
    return false;
  }
  const std::string opaque = etag.substr(etag.find('"'));
  return *given == "*" || given->find(opaque) != std::string::npos;
}

bool is_text(const Response& response) {
  const std::string* type = header_in(response, "content-type");
  return type != nullptr &&
         (type->starts_with("text/") || type->find("json") != std::string::npos ||
          type->find("javascript") != std::string::npos || type->starts_with("image/svg"));
}

}  // namespace

void set_header(Response& response, std::string name, std::string value) {
  response.headers.push_back({std::move(name), std::move(value)});
}

Response body_answer(std::string content_type, std::string body, int status) {
  Response response;
  response.status = status;
  response.body = std::move(body);
  set_header(response, "content-type", std::move(content_type));
  return response;
}

Response json_answer(std::string body, int status) {
  return body_answer("application/json", std::move(body), status);
}

Response problem(int status, std::string_view detail) {
  const nlohmann::ordered_json document = {
      {"status", status},
      {"title", title_of(status)},
      {"detail", detail.empty() ? usual_detail_of(status) : detail}};
  return body_answer("application/problem+json",
                     document.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace),
                     status);
}

Response try_again(int status, std::chrono::seconds wait) {
  Response response = problem(status);
  set_header(response, "retry-after", std::to_string(std::max<std::int64_t>(1, wait.count())));
  return response;
}

Response redirect(std::string_view location) {
  Response response;
  response.status = 303;
  set_header(response, "location", std::string(location));
  return response;
}

Response redirect_of_own(std::string_view location) {
  const std::string where{location};
  return body_answer(
      "text/html; charset=utf-8",
      "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><title>dwellog</title>"
      "<meta http-equiv=\"refresh\" content=\"0;url=" +
          where + "\"><p><a href=\"" + where + "\">Open the page</a></p></html>");
}

Response problem_from(const store::Error& error) {
  switch (error.code) {
    case ErrorCode::not_found:
      return problem(404);
    case ErrorCode::invalid_input:
      return problem(422, error.context);
    case ErrorCode::timeout:
    case ErrorCode::unavailable:
      return try_again(503, std::chrono::seconds{5});
    case ErrorCode::no_space:
      return problem(507);
    default:
      return problem(500);
  }
}

Response problem_naming(const store::Error& error) {
  return error.code == ErrorCode::not_found ? problem(404, error.context) : problem_from(error);
}

void let_keep(Response& response, Keeping keeping) {
  let_keep(response, keeping, digest_of(response.body));
}

void let_keep(Response& response, Keeping keeping, std::string_view etag) {
  if (keeping == Keeping::nowhere) {
    return;
  }
  set_header(response, "etag", "W/\"" + std::string(etag) + "\"");
  set_header(
      response, "cache-control",
      keeping == Keeping::for_ever ? "public, max-age=31536000, immutable" : "private, no-cache");
}

void fit_to_asker(const Request& request, Response& response, const std::string* gzip) {
  const std::string* etag = header_in(response, "etag");
  if (etag != nullptr && response.status == 200 && has_it_already(request, *etag)) {
    response.status = 304;
    response.body.clear();
    std::erase_if(response.headers,
                  [](const Header& header) { return header.name == "content-type"; });
    return;
  }
  if (!is_text(response) || response.body.size() < kWorthCompressing ||
      response.body.size() > kTooLongToCompress ||
      header_in(response, "content-encoding") != nullptr) {
    return;
  }
  set_header(response, "vary", "accept-encoding");
  if (accepts_gzip(request)) {
    response.body = gzip != nullptr ? *gzip : gzip_from(response.body);
    set_header(response, "content-encoding", "gzip");
  }
}

void add_security_headers(const Request& request, Response& response) {
  set_header(response, "content-security-policy",
             "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; "
             "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
             "base-uri 'none'; frame-ancestors 'none'");
  set_header(response, "x-content-type-options", "nosniff");
  // With "no-referrer" a browser sends "origin: null" with our own forms (Fetch Standard, request
  // origin header), and they could not be told from those of others.
  set_header(response, "referrer-policy", "same-origin");
  set_header(response, "cross-origin-opener-policy", "same-origin");
  set_header(response, "cross-origin-resource-policy", "same-origin");
  set_header(response, "permissions-policy", "geolocation=(), microphone=(), camera=()");
  if (header_in(response, "cache-control") == nullptr) {
    set_header(response, "cache-control", "no-store");
  }
  if (request.over_tls) {
    set_header(response, "strict-transport-security", "max-age=2592000");
  }
}

}  // namespace logger::web
