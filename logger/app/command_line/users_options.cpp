#include "logger/app/command_line/users_options.hpp"

#include <CLI/CLI.hpp>

namespace logger::app {

void add_users_options(CLI::App& sub, UsersOptions& users) {
  sub.add_option("JOBDIR", users.job_dir, "folder of the job")->required();
  sub.add_option("ACTION", users.action,
                 "list, add, password, role, remove: users; token, remove-token: for programs; "
                 "link, links, remove-link: share links without a password")
      ->check(CLI::IsMember({"list", "add", "password", "role", "remove", "token", "remove-token",
                             "link", "links", "remove-link"}))
      ->capture_default_str();
  sub.add_option("NAME", users.subject, "of the user or program; id of a token or link");
  sub.add_option("--role", users.role,
                 "viewer sees all; crew also notes and acknowledges; owner also makes links and "
                 "reads the audit")
      ->check(CLI::IsMember({"viewer", "crew", "owner"}));
  sub.add_option("--hours", users.hours, "link: how long it opens the page, 0.25 to 8784 h");
  sub.add_option("--label", users.label, "link: for whom, in words");
  sub.add_option("--password-file", users.password_file,
                 "file with the new password; default: ask on the terminal");
}

}  // namespace logger::app
