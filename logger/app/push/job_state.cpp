#include "logger/app/push/job_state.hpp"

#include <array>
#include <nlohmann/json.hpp>

#include "logger/app/charts/room_chart.hpp"
#include "logger/app/commands/keys/key_files.hpp"
#include "logger/app/push/pushed_page.hpp"
#include "logger/app/status/status_report.hpp"

namespace logger::app {

using nlohmann::ordered_json;
using store::ErrorCode;
using store::Failure;
using store::failure;
using store::Result;

namespace {

constexpr std::array<const char*, 4> kChartsShown{"climate-temperature", "climate-rh", "core",
                                                  "slab"};
constexpr int kHoursShown = 72;

Result<ordered_json> status_of(OpenedJob& opened, bool personal) {
  const auto report = status_report_from(opened, std::nullopt);
  if (!report) {
    return Failure{report.error()};
  }
  ordered_json document = document_from_status(report.value());
  return personal ? std::move(document) : shared_document_from(document);
}

// Each chart that there is something for, given to `take` with room and chart.
template <class Take>
Result<void> draw_charts(OpenedJob& opened, ChartForm form, Take take) {
  for (const JobRoom& room : opened.job.rooms) {
    for (const char* chart : kChartsShown) {
      auto drawn = room_chart_from(opened, {room.id, chart, kHoursShown}, form);
      if (drawn) {
        take(room.id, std::string(chart), std::move(drawn).value());
      } else if (drawn.error().code != ErrorCode::not_found) {
        return Failure{drawn.error()};
      }
    }
  }
  return {};
}

// Called only where the key is bare, so nobody is asked.
Result<std::string> nobody_asked(const std::string& /*prompt*/) {
  return failure(ErrorCode::invalid_input, "the secret key has a passphrase now");
}

// nullopt, with the reason, where nothing is signed without somebody's passphrase.
Result<std::optional<OpenedKey>> bare_key(const JobFolder& folder, std::string& because) {
  const auto known = check_secret_key(folder);
  if (!known) {
    because = "its secret key can't be read";
    return std::optional<OpenedKey>();
  }
  if (known.value().is_protected) {
    because = "its secret key has a passphrase, which nobody is there to enter";
    return std::optional<OpenedKey>();
  }
  auto key = open_signing_key(folder, nobody_asked);
  return key ? Result<std::optional<OpenedKey>>(std::move(key).value()) : Failure{key.error()};
}

}  // namespace

Result<MadePage> status_page_from(OpenedJob& opened, const StateForm& form) {
  const auto status = status_of(opened, form.personal);
  if (!status) {
    return Failure{status.error()};
  }
  MadePage made;
  const auto key = bare_key(opened.folder, made.unsigned_because);
  if (!key) {
    return Failure{key.error()};
  }
  PushedPage page{{status.value(), opened.now, form.every}, {}, "", "", made.unsigned_because};
  const auto drawn =
      draw_charts(opened, ChartForm::markup,
                  [&](const std::string& room, const std::string&, std::string markup) {
                    page.charts[room].push_back(std::move(markup));
                  });
  if (!drawn) {
    return Failure{drawn.error()};
  }
  const auto* signing = key.value() ? &key.value()->key : nullptr;
  const auto line = pushed_document(page.state, signing);
  if (!line) {
    return failure(ErrorCode::unsupported, "no status page: " + line.error().text);
  }
  page.signed_line = line.value();
  if (signing != nullptr) {
    page.key_fingerprint = fingerprint_of(signing->public_key());
  }
  made.is_signed = signing != nullptr;
  made.html = pushed_page_html(page);
  return made;
}

Result<DigestContent> digest_content(OpenedJob& opened) {
  const auto status = status_of(opened, true);
  if (!status) {
    return Failure{status.error()};
  }
  DigestContent content;
  PushedPage page{{status.value(), opened.now, {}}, {}, "", "", ""};
  const auto drawn = draw_charts(
      opened, ChartForm::png,
      [&](const std::string& room, const std::string& chart, std::string png) {
        const std::string name = room + "-" + chart + ".png";
        page.charts[room].push_back("<img src=\"cid:" + name + "\" alt=\"" + chart + "\"/>");
        content.attachments.push_back({name, "image/png", std::move(png)});
      });
  if (!drawn) {
    return Failure{drawn.error()};
  }
  content.html = mail_page_html(page);
  return content;
}

}  // namespace logger::app
