// Answers as the page and the API give them: kinds of bodies, errors as problem documents (RFC
// 9457), what every answer carries for the browser's safety, conditional requests (RFC 9110,
// section 13) and compression. Pure.
#pragma once

#include <chrono>
#include <string>
#include <string_view>

#include "logger/store/error.hpp"
#include "logger/web/http/http_message.hpp"

namespace logger::web {

[[nodiscard]] Response body_answer(std::string content_type, std::string body, int status = 200);
[[nodiscard]] Response json_answer(std::string body, int status = 200);
// {"status", "title", "detail"}; without a detail the usual one of the status.
[[nodiscard]] Response problem(int status, std::string_view detail = {});
[[nodiscard]] Response try_again(int status, std::chrono::seconds wait);
[[nodiscard]] Response redirect(std::string_view location);
// The same by our own document: cookies of SameSite=Strict do not follow a redirection that began
// on another site or in a message.
[[nodiscard]] Response redirect_of_own(std::string_view location);
// By the code; the context is shown for invalid_input alone.
[[nodiscard]] Response problem_from(const store::Error& error);
// Shows the context of not_found too: for work whose context names what was asked for, no paths.
[[nodiscard]] Response problem_naming(const store::Error& error);

void set_header(Response& response, std::string name, std::string value);

enum class Keeping {
  nowhere,        // names people, or changes: not in any cache
  ask_each_time,  // in the browser's own, asked again by its ETag
  for_ever,       // its address changes with its bytes
};
// Gives the answer an ETag of its bytes and says how it may be kept.
void let_keep(Response& response, Keeping keeping);
void let_keep(Response& response, Keeping keeping, std::string_view etag);  // without quotes

// 304 without a body where the asker has it already; else compressed where that is wanted and worth
// it, by what is given as compressed already. May be called on any thread, once.
void fit_to_asker(const Request& request, Response& response, const std::string* gzip = nullptr);
// On every answer, whatever it is.
void add_security_headers(const Request& request, Response& response);

// gzip (RFC 1952), always the same bytes for the same text.
[[nodiscard]] std::string gzip_from(std::string_view text);
[[nodiscard]] bool accepts_gzip(const Request& request);

}  // namespace logger::web
