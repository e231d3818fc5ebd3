// Work that only reads.
#include "logger/web/handler/actions/given.hpp"
#include "logger/web/handler/actions/work.hpp"
#include "logger/web/handler/answer/answers.hpp"

namespace logger::web {

namespace {

constexpr std::int64_t kMostHours = 20 * 366 * 24;
constexpr std::int64_t kMostPoints = 10'000;
constexpr std::int64_t kMostNotes = 200;

using Refusing = Response (*)(const store::Error&);

Response document(store::Result<std::string> text, std::string content_type,
                  Refusing refuse = problem_from) {
  if (!text) {
    return refuse(text.error());
  }
  Response response = body_answer(std::move(content_type), std::move(text).value());
  let_keep(response, Keeping::ask_each_time);
  return response;
}

Response json_document(store::Result<std::string> text) {
  return document(std::move(text), "application/json");
}

// Newest first, a page at a time.
template <class Read>
Response listed(const Call& call, Read read) {
  GivenQuery query{call, {"before", "limit"}};
  const std::int64_t before = query.number("before", 0, 0, INT64_MAX);
  const std::int64_t limit = query.number("limit", 50, 1, kMostNotes);
  if (!query.wrong().empty()) {
    return problem(400, query.wrong());
  }
  return json_document(read(before, static_cast<int>(limit)));
}

// What can't end a quoted string or a line of a header.
std::string plain_name(const std::string& name) {
  std::string plain;
  for (const char c : name) {
    const bool good = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                      c == '.' || c == '-' || c == '_';
    plain += good ? c : '_';
  }
  return plain;
}

}  // namespace

Response metrics(Services& services, const Call&) {
  auto text = services.site.metrics_text();
  return text ? body_answer("text/plain; version=0.0.4; charset=utf-8", std::move(text).value())
              : problem_from(text.error());
}

Response questions(Services& services, const Call&) {
  return json_document(services.site.questions_json());
}

Response series(Services& services, const Call& call) {
  GivenQuery query{call, {"channel", "from", "to", "limit"}};
  SeriesQuery asked{.room = call.captured.at(0),
                    .channel = query.text("channel"),
                    .from = query.time("from"),
                    .to = query.time("to")};
  asked.limit = static_cast<int>(query.number("limit", asked.limit, 1, kMostPoints));
  if (!query.wrong().empty()) {
    return problem(400, query.wrong());
  }
  return document(services.site.series_json(asked), "application/json", problem_naming);
}

Response chart(Services& services, const Call& call) {
  constexpr std::string_view kSuffix = ".svg";
  const std::string& file = call.captured.at(1);
  GivenQuery query{call, {"hours"}};
  const std::int64_t hours = query.number("hours", 72, 0, kMostHours);
  if (!query.wrong().empty()) {
    return problem(400, query.wrong());
  }
  if (!file.ends_with(kSuffix)) {
    return problem(404, "chart: expected a name that ends in .svg");
  }
  return document(services.site.chart_svg({.room = call.captured.at(0),
                                           .chart = file.substr(0, file.size() - kSuffix.size()),
                                           .hours = static_cast<int>(hours)}),
                  "image/svg+xml", problem_naming);
}

Response notes(Services& services, const Call& call) {
  return listed(call, [&](std::int64_t before, int limit) {
    return services.site.notes_json(before, limit);
  });
}

Response audit(Services& services, const Call& call) {
  return listed(call, [&](std::int64_t before, int limit) {
    return services.site.audit_json(before, limit);
  });
}

Response certificates(Services& services, const Call&) {
  return json_document(services.site.certificates_json());
}

Response photo(Services& services, const Call& call) {
  auto file = services.site.photo(call.captured.at(0));
  if (!file) {
    return problem_from(file.error());
  }
  StoredFile stored = std::move(file).value();
  Response response = body_answer(std::move(stored.content_type), std::move(stored.bytes));
  let_keep(response, Keeping::ask_each_time, call.captured.at(0));
  return response;
}

// Always to be saved: a certificate's own document is made to be opened without us, and what stands
// in it is not to run as a part of this page.
Response certificate_file(Services& services, const Call& call) {
  const std::string& number = call.captured.at(0);
  const std::string& kind = call.captured.at(1);
  auto file = services.site.certificate_file(number, kind);
  if (!file) {
    return problem_from(file.error());
  }
  StoredFile stored = std::move(file).value();
  Response response = body_answer(std::move(stored.content_type), std::move(stored.bytes));
  set_header(response, "content-disposition",
             "attachment; filename=\"" + plain_name(stored.file_name) + "\"");
  let_keep(response, Keeping::ask_each_time);
  put_on_record(services, call, "certificate-fetched", number + " " + kind);
  return response;
}

}  // namespace logger::web
