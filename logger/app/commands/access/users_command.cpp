// users: who may see the job's page, and what programs and share links may.
#include <algorithm>
#include <array>
#include <functional>
#include <sstream>

#include "analysis/evidence/signing_key.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/commands/keys/passphrase.hpp"
#include "logger/app/daemon/real_clock.hpp"
#include "logger/app/site/access_audit.hpp"
#include "logger/app/text/terminal_text.hpp"
#include "logger/web/access/book/book_file.hpp"
#include "logger/web/access/secrets/secret.hpp"

namespace logger::app {

using store::ErrorCode;
using store::failure;
using store::Result;
using web::AccessBook;
using web::Role;

namespace {

// What an action takes beside JOBDIR.
struct Action {
  const char* name;
  const char* subject = nullptr;  // what it is, where one is wanted
  bool role = false;
  bool password = false;
  bool link = false;  // --hours and --label
};
constexpr std::array<Action, 10> kActions{
    {{.name = "list"},
     {.name = "add", .subject = "NAME", .role = true, .password = true},
     {.name = "password", .subject = "NAME", .password = true},
     {.name = "role", .subject = "NAME", .role = true},
     {.name = "remove", .subject = "NAME"},
     {.name = "token", .subject = "NAME", .role = true},
     {.name = "remove-token", .subject = "ID"},
     {.name = "link", .link = true},
     {.name = "links"},
     {.name = "remove-link", .subject = "ID"}}};

Result<Action> action_of(const UsersOptions& options) {
  const auto action = std::find_if(kActions.begin(), kActions.end(), [&](const Action& other) {
    return other.name == options.action;
  });
  if (action == kActions.end()) {
    return failure(ErrorCode::invalid_input, "users: no action `" + options.action + "`");
  }
  struct Given {
    const char* name;
    bool is_given;
    bool is_wanted;
  };
  const bool has_subject = action->subject != nullptr;
  for (const Given& given :
       {Given{has_subject ? action->subject : "NAME or ID", !options.subject.empty(), has_subject},
        Given{"--role", !options.role.empty(), action->role},
        Given{"--hours", options.hours.has_value(), action->link}}) {
    if (given.is_given != given.is_wanted) {
      return failure(
          ErrorCode::invalid_input,
          "users " + options.action + (given.is_wanted ? " needs " : " takes no ") + given.name);
    }
  }
  if ((!options.label.empty() && !action->link) ||
      (!options.password_file.empty() && !action->password)) {
    return failure(ErrorCode::invalid_input,
                   "users " + options.action + " takes no " +
                       (options.label.empty() ? "--password-file" : "--label"));
  }
  return *action;
}

Role role_of(const UsersOptions& options) {
  return web::role_from_name(options.role).value_or(Role::viewer);
}

// Names and labels are shown to people and stand in files.
Result<void> check_values(const UsersOptions& options, const Action& action) {
  if (action.subject != nullptr) {
    if (const auto sound = check_text(action.subject, options.subject, 1, web::kLongestName);
        !sound) {
      return sound;
    }
  }
  if (const auto sound = check_text("--label", options.label, 0, web::kLongestName); !sound) {
    return sound;
  }
  const double hours = options.hours.value_or(web::kShortestLinkHours);
  const bool in_range = hours >= web::kShortestLinkHours && hours <= web::kLongestLinkHours;
  if (!in_range) {  // what is no number is in none
    std::ostringstream line;
    line << "--hours " << hours << ": expected " << web::kShortestLinkHours << " to "
         << web::kLongestLinkHours << " h";
    return failure(ErrorCode::invalid_input, line.str());
  }
  return {};
}

// Asks, checks and hashes; the password itself is wiped.
Result<std::string> new_password_hash(const UsersOptions& options) {
  auto password =
      new_password_source(options.password_file)("New password for " + options.subject + ": ");
  if (!password) {
    return password;
  }
  const auto sound = web::check_password(options.subject, password.value());
  auto hash = sound ? web::Argon2Hasher().hash(password.value())
                    : Result<std::string>{store::Failure{sound.error()}};
  analysis::evidence::wipe(password.value());
  return hash;
}

void print_list(const AccessBook& book, std::ostream& out) {
  for (const web::User& user : book.users) {
    out << padded(user.id, 6) << padded(std::string(name_of(user.role)), 8) << "user   "
        << user.name << '\n';
  }
  for (const web::AccessToken& token : book.tokens) {
    out << padded(token.id, 6) << padded(std::string(name_of(token.role)), 8) << "token  "
        << token.name << '\n';
  }
  if (book.users.empty() && book.tokens.empty()) {
    out << "nobody yet; `dwellog users JOBDIR add NAME --role owner` adds the first\n";
  }
}

void print_links(const AccessBook& book, UtcMicros now, std::ostream& out) {
  for (const web::ShareLink& link : book.links) {
    const char* state = link.withdrawn          ? "withdrawn  "
                        : now < link.expires_at ? "until      "
                                                : "ended      ";
    out << padded(link.id, 6) << state << analysis::base::minute_text_from_utc(link.expires_at)
        << "  " << link.label << '\n';
  }
  if (book.links.empty()) {
    out << "no share links\n";
  }
}

// What a change did: for the audit, and for the person.
struct Done {
  std::string id;
  std::string action;
  std::string text;
  std::string secret;  // shown once
};

Result<std::string> change_by(const UsersOptions& options, const std::string& hash,
                              const std::string& secret, UtcMicros now, AccessBook& book) {
  const auto digest = analysis::evidence::sha256_from_bytes(secret);
  const std::string& subject = options.subject;
  if (options.action == "add") {
    return add_user(book, subject, role_of(options), hash, now);
  }
  if (options.action == "password") {
    return change_password(book, subject, hash);
  }
  if (options.action == "role") {
    return change_role(book, subject, role_of(options));
  }
  if (options.action == "remove") {
    return remove_user(book, subject);
  }
  if (options.action == "token") {
    return add_token(book, subject, role_of(options), digest, now);
  }
  if (options.action == "remove-token") {
    return remove_token(book, subject);
  }
  if (options.action == "remove-link") {
    return withdraw_link(book, subject);
  }
  return add_link(book, {"", options.label, digest, "", now,
                         now + analysis::base::micros_from_hours(*options.hours), false});
}

struct ActionWords {
  const char* action;
  const char* audit;
  const char* text;
};
constexpr std::array<ActionWords, 8> kWords{
    {{"add", "user-added", "may log in"},
     {"password", "password-changed", "has a new password; older sessions have ended"},
     {"role", "role-changed", "has another role; older sessions have ended"},
     {"remove", "user-removed", "is removed; the sessions have ended"},
     {"token", "token-made", "is the token below, which is not shown again"},
     {"remove-token", "token-removed", "is removed"},
     {"link", "share-made", "is the link below, which is not shown again"},
     {"remove-link", "share-withdrawn", "is withdrawn; its sessions have ended"}}};

Result<Done> change(const UsersOptions& options, const Action& action, const OpenedJob& opened) {
  std::string hash;
  if (action.password) {
    auto made = new_password_hash(options);
    if (!made) {
      return store::Failure{made.error()};
    }
    hash = std::move(made).value();
  }
  const auto* words = std::find_if(kWords.begin(), kWords.end(), [&](const ActionWords& other) {
    return other.action == options.action;
  });
  Done done{"", words->audit, words->text, ""};
  const bool has_secret = options.action == "token" || options.action == "link";
  const std::string secret = has_secret ? web::new_secret() : "";
  // Real time, as the page counts it, also where the site is simulated.
  const UtcMicros now = utc_of_this_machine();
  const auto changed =
      web::change_book(opened.folder.access(), [&](AccessBook& book) -> Result<void> {
        auto id = change_by(options, hash, secret, now, book);
        if (!id) {
          return store::Failure{id.error()};
        }
        done.id = std::move(id).value();
        return {};
      });
  if (!changed) {
    return store::Failure{changed.error()};
  }
  done.secret = secret;
  return done;
}

// Where the page is reached, as far as job.json says.
std::string link_text(const OpenedJob& opened, const std::string& token) {
  if (!opened.job.page) {
    return "/s/" + token + "  (behind the address of the page; job.json has no `page` yet)";
  }
  const JobPage& page = *opened.job.page;
  const std::string host = page.tls_names.empty() ? page.address : page.tls_names.front();
  return (page.tls_certificate.empty() ? "http://" : "https://") +
         (host.find(':') == std::string::npos ? host : "[" + host + "]") + ":" +
         std::to_string(page.port) + "/s/" + token;
}

int change_and_tell(const UsersOptions& options, const Action& action, const Console& console) {
  auto opened = open_job(options.job_dir, true);
  if (!opened) {
    return report(console, opened.error());
  }
  const auto done = change(options, action, opened.value());
  if (!done) {
    return report(console, done.error());
  }
  console.out << done.value().id << ' ' << done.value().text << '\n';
  if (!done.value().secret.empty()) {
    console.out << (action.link ? link_text(opened.value(), done.value().secret)
                                : done.value().secret)
                << '\n';
  }
  const std::string detail =
      "on the logger's machine" + (options.role.empty() ? "" : ", role " + options.role);
  const auto logged = opened.value().store->commit(
      {.events = AccessAudit().add(
           {utc_of_this_machine(), done.value().id, done.value().action, detail, ""})});
  if (!logged) {
    console.err << "dwellog: it is done, but could not be written into the evidence log:\n";
    return report(console, logged.error());
  }
  return kExitDone;
}

}  // namespace

int users(const UsersOptions& options, const Console& console) {
  const auto action = action_of(options);
  if (!action) {
    return report(console, action.error());
  }
  if (const auto sound = check_values(options, action.value()); !sound) {
    return report(console, sound.error());
  }
  const bool links = options.action == "links";
  if (!links && options.action != "list") {
    return change_and_tell(options, action.value(), console);
  }
  const JobFolder folder{options.job_dir};
  const auto opened = open_job(options.job_dir, false);
  std::error_code error;
  // A job that never ran has no store, and may have users.
  if (!opened && !std::filesystem::exists(folder.job_file(), error)) {
    return report(console, opened.error());
  }
  const auto book = web::read_book(folder.access());
  if (!book) {
    return report(console, book.error());
  }
  links ? print_links(book.value(), utc_of_this_machine(), console.out)
        : print_list(book.value(), console.out);
  return kExitDone;
}

}  // namespace logger::app
