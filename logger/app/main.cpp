// dwellog: the command line. Each subcommand is a function of commands/commands.hpp.
#include <CLI/CLI.hpp>
#include <algorithm>
#include <cstdlib>
#include <exception>
#include <functional>
#include <iostream>
#include <string>
#include <vector>

#include "logger/app/command_line/note_options.hpp"
#include "logger/app/command_line/users_options.hpp"
#include "logger/app/commands/alert_test/alert_test.hpp"
#include "logger/app/commands/certificates/verify_job.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/notify/channels/channels.hpp"
#include "logger/verify/token_check.hpp"
#include "logger/verify/verify_options.hpp"
#include "logger/web/http/web_server.hpp"

namespace {

using namespace logger::app;

// What the command line filled in, and which function to call then.
struct CommandLine {
  NewOptions create;
  path job_dir;
  RunOptions run;
  AlertTestOptions alert_test;
  NoteOptions note;
  StatusOptions status;
  OutlookOptions outlook;
  PlanOptions plan;
  HandoverOptions handover;
  ImportOptions import;
  ExportOptions output;
  CertifyOptions certify;
  PrintOptions print;
  RedactOptions redact;
  KeysOptions keys;
  UsersOptions users;
  RehearseOptions rehearse;
  CheckpointOptions checkpoint;
  BackupOptions backup;
  RestoreOptions restore;
  logger::verify::VerifyOptions verify;
  std::string chart_format = "svg";
  std::function<int(const Console&)> chosen;
};

CLI::App* command(CLI::App& app, CommandLine& line, const char* name, const char* help,
                  std::function<int(const Console&)> call) {
  CLI::App* sub = app.add_subcommand(name, help);
  sub->callback([&line, call = std::move(call)] { line.chosen = call; });
  return sub;
}

struct TwoWords {
  std::string usual;
  std::string other;
  bool any_case = false;
};

// `is_other` is set once the command line is parsed, if the option is there at all.
void add_either(CLI::App* sub, const char* name, const char* help, const TwoWords& words,
                bool& is_other) {
  const std::vector<std::string> both{words.usual, words.other};
  sub->add_option_function<std::string>(
         name,
         [&is_other, other = words.other](const std::string& word) { is_other = word == other; },
         help)
      // A check would leave the word as it was typed.
      ->transform(words.any_case ? CLI::IsMember(both, CLI::ignore_case) : CLI::IsMember(both))
      ->default_str(words.usual);
}

void add_units(CLI::App* sub, bool& imperial) {
  add_either(sub, "--units", "metric or imperial, for people; files stay SI",
             {"metric", "imperial"}, imperial);
}

void add_paper(CLI::App* sub, bool& letter) {
  add_either(sub, "--paper", "of the pages", {"a4", "letter", true}, letter);
}

void add_passphrase_file(CLI::App* sub, path& file) {
  sub->add_option("--passphrase-file", file,
                  "file with the passphrase of the secret key; default: ask on the terminal");
}

void add_job_commands(CLI::App& app, CommandLine& line) {
  CLI::App* sub = command(app, line, "new", "make a job folder with a commented job.json and keys",
                          [&](const Console& c) { return new_job(line.create, c); });
  sub->add_option("JOBDIR", line.create.job_dir, "folder of the job")->required();
  sub->add_option("--name", line.create.name, "name of the job");
  sub->add_option("--port", line.create.port, "serial device of the first box");
  sub->add_option("--box-serial", line.create.box_serial, "number printed on the first box")
      ->check([](const std::string& text) {
        return text.starts_with('-') || text == "0"
                   ? "--box-serial " + text + ": expected 1 or more"
                   : std::string();
      });

  sub = command(app, line, "check", "read job.json and say what is wrong with it",
                [&](const Console& c) { return check_job(line.job_dir, c); });
  sub->add_option("JOBDIR", line.job_dir, "folder of the job")->required();

  sub = command(app, line, "run", "collect, decide and alert until told to stop",
                [&](const Console& c) { return run_job(line.run, c); });
  sub->add_option("JOBDIR", line.run.job_dir, "folder of the job")->required();
  sub->add_option("--simulated-time", line.run.simulated_time_socket,
                  "socket of a simulator's time server; marks the job as simulated for ever");

  sub = command(app, line, "alert-test",
                "send one of each kind of message to those the job tells, marked as a test",
                [&](const Console& c) { return alert_test(line.alert_test, c); });
  sub->add_option("JOBDIR", line.alert_test.job_dir, "folder of the job")->required();
  sub->add_option("--to", line.alert_test.recipient, "id of one recipient; default each");

  sub = command(app, line, "keys", "the job's keys: show, rotate, protect, unprotect",
                [&](const Console& c) { return keys(line.keys, c); });
  sub->add_option("JOBDIR", line.keys.job_dir, "folder of the job")->required();
  sub->add_option("ACTION", line.keys.action,
                  "show: public key and fingerprint; rotate: a new key, joined to the old one by a "
                  "hand-over; protect, unprotect: a passphrase on the secret key")
      ->check(CLI::IsMember({"show", "rotate", "protect", "unprotect"}))
      ->capture_default_str();
  sub->add_flag("--pem", line.keys.pem, "show: as PEM, for openssl");
  sub->add_flag(
      "--lost", line.keys.lost,
      "rotate: the secret key or its passphrase is gone; nothing joins the new key to it");
  add_passphrase_file(sub, line.keys.passphrase_file);

  sub =
      command(app, line, "checkpoint",
              "sign the head of the evidence log, and have it stamped where job.json says by whom",
              [&](const Console& c) { return checkpoint(line.checkpoint, c); });
  sub->add_option("JOBDIR", line.checkpoint.job_dir, "folder of the job")->required();
  sub->add_option("-o,--output", line.checkpoint.output, "a copy, to hand over");
  add_passphrase_file(sub, line.checkpoint.passphrase_file);

  sub = command(app, line, "inspect", "check keys, store, ports and accounting in full",
                [&](const Console& c) { return inspect(line.job_dir, c); });
  sub->add_option("JOBDIR", line.job_dir, "folder of the job")->required();
}

void add_users_command(CLI::App& app, CommandLine& line) {
  CLI::App* sub = command(app, line, "users", "who may see the job's page, tokens and share links",
                          [&](const Console& c) { return users(line.users, c); });
  add_users_options(*sub, line.users);
}

void add_rehearse_command(CLI::App& app, CommandLine& line) {
  CLI::App* sub =
      command(app, line, "rehearse",
              "who would be told what, and when: the job's settings on a simulated site",
              [&](const Console& c) { return rehearse(line.rehearse, c); });
  sub->add_option("JOBDIR", line.rehearse.job_dir, "folder of the job, which stays as it is")
      ->required();
  sub->add_option("SCENARIO", line.rehearse.scenario,
                  "a scenario's file, or a built-in one: all-goes-well, heating-fails, humid-week, "
                  "probe-unplugged and others (`probe-box-sim --list`)")
      ->required();
  sub->add_flag("--json", line.rehearse.json, "for programs");
}

void add_backup_commands(CLI::App& app, CommandLine& line) {
  CLI::App* sub = command(app, line, "backup", "put the job into one file while its logger goes on",
                          [&](const Console& c) { return backup(line.backup, c); });
  sub->add_option("JOBDIR", line.backup.job_dir, "folder of the job")->required();
  sub->add_option("FILE", line.backup.file, "the backup to make, a tar archive")->required();
  sub->add_flag("--with-secret-key", line.backup.with_secret_key,
                "also the key that signs in your name; the file is then readable by you alone");

  sub = command(app, line, "restore", "make a job folder out of a backup, checking all of it",
                [&](const Console& c) { return restore(line.restore, c); });
  sub->add_option("FILE", line.restore.file, "the backup")->required();
  sub->add_option("JOBDIR", line.restore.job_dir, "folder that is not there yet, or empty")
      ->required();
}

void add_note_command(CLI::App& app, CommandLine& line) {
  CLI::App* sub = command(
      app, line, "note",
      "record what a person did or saw: delivery | gate GATE [met|not-met] | guide | "
      "placement CHANNEL | calibration CHANNEL | test-begun rh|dish | rh-test | dish-test | "
      "carbide-test | wood-test | laying began|finished | acknowledge ALERT-KEY | remark TEXT",
      [&](const Console& c) { return note(line.note, c); });
  add_note_options(*sub, line.note);
}

void add_outlook_command(CLI::App& app, CommandLine& line) {
  CLI::App* sub =
      command(app, line, "outlook", "when a room may be ready, and what to do till then",
              [&](const Console& c) {
                line.outlook.svg = line.chart_format == "svg";
                return outlook(line.outlook, c);
              });
  sub->add_option("JOBDIR", line.outlook.job_dir, "folder of the job")->required();
  sub->add_option("--room", line.outlook.room, "default: every room");
  sub->add_flag("--json", line.outlook.json, "for programs");
  sub->add_option("--at", line.outlook.at, "the outlook as of that time, RFC 3339");
  sub->add_option("--charts", line.outlook.charts,
                  "folder for charts of each room, made if missing");
  sub->add_option("--format", line.chart_format, "of the charts")
      ->check(CLI::IsMember({"svg", "png"}))
      ->capture_default_str();
  add_units(sub, line.outlook.imperial);
}

void add_plan_command(CLI::App& app, CommandLine& line) {
  CLI::App* sub = command(app, line, "plan", "what to order, how the rows lie, how to stack",
                          [&](const Console& c) { return plan(line.plan, c); });
  sub->add_option("JOBDIR", line.plan.job_dir, "folder of the job")->required();
  sub->add_option("--room", line.plan.room, "default: every room that has a plan");
  sub->add_flag("--json", line.plan.json, "for programs, with every piece of every row");
  sub->add_option("--drawings", line.plan.drawings,
                  "folder for a drawing of each room at scale (SVG), made if missing");
  sub->add_option("--pdf", line.plan.pdf,
                  "file for the job pack: what to do when, order, rows, cut list, stacks, gates");
  add_paper(sub, line.plan.letter);
  sub->add_option("--carton-celsius", line.plan.cartons_celsius,
                  "how cold the cartons may come, for the time they need to warm through")
      ->check(CLI::Range(-40.0, 40.0))
      ->capture_default_str();
  add_units(sub, line.plan.imperial);
}

void add_handover_command(CLI::App& app, CommandLine& line) {
  CLI::App* sub =
      command(app, line, "handover",
              "for whoever lives there: what was laid, how to keep it, what the floor did since",
              [&](const Console& c) { return handover(line.handover, c); });
  sub->add_option("JOBDIR", line.handover.job_dir, "folder of the job")->required();
  sub->add_option("--room", line.handover.room, "default: every room");
  sub->add_option("--at", line.handover.at, "the paper as of that time, RFC 3339");
  sub->add_option("--pdf", line.handover.pdf, "a new file: the same as pages to hand over");
  sub->add_flag("--json", line.handover.json, "for programs, with every day since the laying");
  add_paper(sub, line.handover.letter);
  add_units(sub, line.handover.imperial);
}

void add_data_commands(CLI::App& app, CommandLine& line) {
  CLI::App* sub = command(app, line, "status", "verdict, reasons, hours, channels, alerts",
                          [&](const Console& c) { return status(line.status, c); });
  sub->add_option("JOBDIR", line.status.job_dir, "folder of the job")->required();
  sub->add_flag("--json", line.status.json, "for programs");
  sub->add_option("--at", line.status.at, "the verdict as of that time, RFC 3339");
  add_units(sub, line.status.imperial);

  sub = command(app, line, "import", "take in a CSV file of another logger",
                [&](const Console& c) { return import_csv(line.import, c); });
  sub->add_option("JOBDIR", line.import.job_dir, "folder of the job")->required();
  sub->add_option("FILE", line.import.file, "the CSV file")->required();
  sub->add_option("--box", line.import.box, "the imported box of job.json it belongs to");
  sub->add_option("--time-error-seconds", line.import.time_error_seconds,
                  "how far that logger's clock may be off")
      ->check(CLI::Range(0.0, 86400.0))
      ->capture_default_str();

  sub = command(app, line, "export", "readings as CSV, raw and calibrated",
                [&](const Console& c) { return export_csv(line.output, c); });
  sub->add_option("JOBDIR", line.output.job_dir, "folder of the job")->required();
  sub->add_option("--box", line.output.box, "needed when the job has several boxes");
  sub->add_option("--from", line.output.from, "RFC 3339");
  sub->add_option("--to", line.output.to, "RFC 3339");
  sub->add_option("-o,--output", line.output.output, "file; default standard output");
  sub->add_option("--separator", line.output.separator, "of columns: , ; | or a tab")
      ->capture_default_str();
  sub->add_option("--decimal", line.output.decimal, "mark: . or ,")->capture_default_str();
}

void add_certificate_commands(CLI::App& app, CommandLine& line) {
  CLI::App* sub = command(app, line, "certify", "sign a certificate of conditions, with pages",
                          [&](const Console& c) { return certify(line.certify, c); });
  sub->add_option("JOBDIR", line.certify.job_dir, "folder of the job")->required();
  sub->add_option("--room", line.certify.room, "default: every room");
  sub->add_option("--from", line.certify.from, "RFC 3339; default the first reading");
  sub->add_option("--to", line.certify.to, "RFC 3339; default the newest reading");
  add_paper(sub, line.certify.letter);
  add_units(sub, line.certify.imperial);
  sub->add_option("--supersedes", line.certify.supersedes,
                  "number of the room's certificate whose place this one takes");
  sub->add_option("--reason", line.certify.reason, "why it takes its place, in words");
  add_passphrase_file(sub, line.certify.passphrase_file);

  sub = command(app, line, "print", "pages of an intact certificate, also of a redacted copy",
                [&](const Console& c) { return print_certificate(line.print, c); });
  sub->add_option("CERT", line.print.certificate, "the certificate's JSON")->required();
  sub->add_option("--pdf", line.print.pdf, "file; default both, beside the certificate");
  sub->add_option("--html", line.print.html, "file");
  add_paper(sub, line.print.letter);
  add_units(sub, line.print.imperial);

  sub =
      command(app, line, "redact", "copy a certificate without names or address; it still verifies",
              [&](const Console& c) { return redact(line.redact, c); });
  sub->add_option("CERT", line.redact.certificate, "the certificate's JSON")->required();
  sub->add_option("PATH", line.redact.paths, "fields to take out, as --list names them");
  sub->add_flag("--personal", line.redact.personal, "all that names a person or a place");
  sub->add_flag("--list", line.redact.list, "say what may be taken out; writes nothing");
  sub->add_option("-o,--output", line.redact.output, "the copy");

  sub = command(app, line, "verify", "verify a certificate offline, or the store of a job folder",
                [&](const Console& c) {
                  std::error_code error;
                  const JobFolder folder{line.verify.certificate};
                  return std::filesystem::exists(folder.store_file(), error)
                             ? verify_job(line.verify, c)
                             : verify_files(line.verify, {"dwellog", c.out, c.err});
                });
  add_verify_options(*sub, line.verify);
}

// A variable of the shell that is not set leaves nothing, which is no wish to leave an option out.
// One line for the first option or word that was given without a value; empty otherwise.
std::string empty_value(const CLI::App& app) {
  for (const CLI::App* sub : app.get_subcommands()) {
    for (const CLI::Option* option : sub->get_options()) {
      if (option->get_expected_min() > 0 && std::ranges::count(option->results(), "") > 0) {
        return "dwellog: " + option->get_name() + ": expected a value, found nothing\n";
      }
    }
  }
  return "";
}

// One line when the first word is no command; empty otherwise.
std::string unknown_command(const CLI::App& app, int argc, char** argv) {
  if (argc < 2 || argv[1][0] == '-') {
    return "";
  }
  std::string known;
  for (const CLI::App* sub : app.get_subcommands({})) {
    if (sub->get_name() == argv[1]) {
      return "";
    }
    known += (known.empty() ? "" : ", ") + sub->get_name();
  }
  return "dwellog: `" + std::string(argv[1]) + "` is no command; expected one of " + known + "\n";
}

}  // namespace

int main(int argc, char** argv) {
  std::ios::sync_with_stdio(false);
  CLI::App app("Tells whether a room is ready for its floor, and proves what the site was like.",
               "dwellog");
  app.set_version_flag("--version", [] {
    return software_text() + ", " + logger::verify::time_stamp_support_text() + ", " +
           (logger::notify::delivery_left_out().empty() ? "mail, webhook, MQTT and upload"
                                                        : "messages to a program alone") +
           ", " + std::string(logger::web::page_support_text());
  });
  app.require_subcommand(1);
  app.footer(
      "Exit status: 0 done, ready or proved; 1 input error; 2 not ready or not proved;\n"
      "3 cannot tell, or intact without a key from outside; 4 could not do it.\n"
      "The manufacturer's instructions, local codes and licensed trades come first.");
  CommandLine line;
  add_job_commands(app, line);
  add_users_command(app, line);
  add_rehearse_command(app, line);
  add_backup_commands(app, line);
  add_note_command(app, line);
  add_data_commands(app, line);
  add_outlook_command(app, line);
  add_plan_command(app, line);
  add_handover_command(app, line);
  add_certificate_commands(app, line);
  const std::string wrong_command = unknown_command(app, argc, argv);
  if (!wrong_command.empty()) {
    std::cerr << wrong_command;
    return kExitInput;
  }
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) {
      return app.exit(error);  // --help and --version
    }
    std::cerr << "dwellog: " << error.what() << "; `dwellog " << (argc > 1 ? argv[1] : "")
              << " --help` lists what is expected\n";
    return kExitInput;
  }
  if (const std::string missing = empty_value(app); !missing.empty()) {
    std::cerr << missing;
    return kExitInput;
  }
  try {
    const int status = line.chosen({std::cout, std::cerr});
    std::cout.flush();
    if (!std::cout) {
      std::cerr << "dwellog: standard output could not be written whole\n";
      return kExitCouldNotDo;
    }
    return status;
  } catch (const std::exception& error) {
    std::cerr << "dwellog: stopped by an error of its own: " << error.what() << '\n';
    return kExitCouldNotDo;
  }
}
