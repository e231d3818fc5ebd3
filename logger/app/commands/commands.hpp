// The subcommands, each a function of its options and a console; every one returns an exit status
// (exit_status.hpp). main.cpp turns the command line into these calls.
#pragma once

#include <cstdint>
#include <filesystem>
#include <iosfwd>
#include <optional>
#include <string>
#include <vector>

#include "analysis/base/time.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

using std::filesystem::path;

struct Console {
  std::ostream& out;
  std::ostream& err;
};

// Prints the error, each of its lines prefixed with the program's name, and gives its exit status.
int report(const Console& console, const store::Error& error);
// The same for what was typed wrong.
int refuse(const Console& console, std::string text);

// What `--version` prints and certificates name; libraries and fonts included.
[[nodiscard]] std::string software_text();

struct NewOptions {
  path job_dir;
  std::string name = "My job";
  std::string port;              // empty = the template's placeholder
  std::uint64_t box_serial = 1;  // as printed on the box
};
int new_job(const NewOptions& options, const Console& console);

int check_job(const path& job_dir, const Console& console);

struct RunOptions {
  path job_dir;
  std::string simulated_time_socket;  // empty = real time
};
int run_job(const RunOptions& options, const Console& console);

// Of a gate: what was answered, or what was measured for flatness.
struct GateAnswerOptions {
  std::string use;      // room_kind
  std::string heating;  // heating_kind
  std::string found;    // clean, solid, old_glue_removed, conditioned
  std::string below;    // vapour_barrier; empty = rooms[].subfloor_kind
  std::string barrier;
  std::string approval;            // who allows it in writing
  path grid;                       // flat: CSV of heights
  std::string heights;             // of bare numbers in it: "mm" or "in"; empty = mm
  std::string spacing;             // of the grid: "25 cm", or "25 cm x 50 cm" along rows x between
  std::vector<std::string> lines;  // flat: gaps under a straightedge, "0 cm=0 mm, 50 cm=2 mm"
  std::optional<double> reading_mm;  // flat: standard uncertainty of one reading
  path map;                          // flat: SVG to write
};

// `kind` and the words after it, as typed; the flags only where that kind takes them.
struct NoteOptions {
  path job_dir;
  std::string kind;     // delivery, gate, placement, calibration, test-begun, rh-test, dish-test,
                        // carbide-test, wood-test, laying, remark
  std::string subject;  // gate, channel, began or finished, or the remark's text
  std::string answer;   // gate only: met, not-met
  std::string room;
  std::string by;
  std::string at;  // RFC 3339; empty = now
  std::string remark;
  bool imperial = false;     // how a gate's readings and the guide are told
  std::vector<path> photos;  // not for a calibration
  // calibration only
  double gain = 1.0;
  double offset = 0.0;
  double expanded_uncertainty = 0.0;
  std::string due;
  std::string reference;
  std::vector<std::string> fixed_points;  // two of "SALT,READING_PERCENT,CELSIUS[,SPREAD]"
  std::optional<double> carton_celsius;   // delivery only
  // slab tests only
  std::vector<std::string> dishes;  // each "GAIN_G,AREA_M2,HOURS"
  std::vector<double> samples_cm_percent;
  std::optional<double> service_hours;
  bool heated = false;
  bool as_found = false;               // rh-test, dish-test: kept though it does not count
  std::vector<std::string> holes;      // rh-test only, each "DEPTH_MM,RH_PERCENT[,CELSIUS]"
  std::string drilled;                 // rh-test only, RFC 3339; empty = by the note test-begun rh
  std::optional<double> thickness_mm;  // rh-test only; nullopt = rooms[].slab_build
  bool both_faces = false;             // rh-test only: the slab dries from both
  // wood-test only
  std::vector<std::string> wood_readings;  // each "SHOWN_PERCENT,CELSIUS"
  bool meter_compensates = false;
  std::string species;  // "SLOPE,OFFSET_PERCENT"; empty = the meter's own scale
  GateAnswerOptions gate;
  // laying finished only: lengths are texts with their unit
  std::vector<std::string> gaps;    // each "10 mm" (every wall) or "WALL=10 mm"
  std::vector<std::string> joints;  // each "PLACE" or "PLACE: KIND"
  std::string first_row;            // its width
  std::optional<int> rows_laid;
  std::optional<int> cartons_used;
  std::optional<int> cartons_left;
};
int note(const NoteOptions& options, const Console& console);
// The salts that --fixed-point knows, separated by commas.
[[nodiscard]] std::string salt_names();

struct StatusOptions {
  path job_dir;
  bool json = false;
  bool imperial = false;
  std::string at;
};
int status(const StatusOptions& options, const Console& console);

struct OutlookOptions {
  path job_dir;
  std::string room;  // empty = every room
  bool json = false;
  bool imperial = false;
  std::string at;
  path charts;  // folder; empty = no charts
  bool svg = true;
};
int outlook(const OutlookOptions& options, const Console& console);

struct PlanOptions {
  path job_dir;
  std::string room;  // empty = every room that has a plan
  bool json = false;
  bool imperial = false;
  path drawings;  // folder; empty = none
  path pdf;       // of the job pack; empty = none
  bool letter = false;
  double cartons_celsius = 5.0;
};
int plan(const PlanOptions& options, const Console& console);

struct HandoverOptions {
  path job_dir;
  std::string room;  // empty = every room
  std::string at;    // RFC 3339; empty = now
  path pdf;          // empty = none
  bool json = false;
  bool imperial = false;
  bool letter = false;
};
int handover(const HandoverOptions& options, const Console& console);

struct ImportOptions {
  path job_dir;
  path file;
  std::string box;
  double time_error_seconds = 1.0;
};
int import_csv(const ImportOptions& options, const Console& console);

struct ExportOptions {
  path job_dir;
  std::string box;  // empty = the only one
  std::string from;
  std::string to;
  path output;  // empty = standard output
  char separator = ',';
  char decimal = '.';
};
int export_csv(const ExportOptions& options, const Console& console);

struct CertifyOptions {
  path job_dir;
  std::string room;
  std::string from;
  std::string to;
  bool letter = false;
  bool imperial = false;
  path passphrase_file;    // empty = ask on the terminal where the key is protected
  std::string supersedes;  // number of the certificate whose place the new one takes
  std::string reason;      // needed with it, and only with it
};
int certify(const CertifyOptions& options, const Console& console);

struct PrintOptions {
  path certificate;
  path pdf;  // both empty = beside the certificate
  path html;
  bool letter = false;
  bool imperial = false;
};
int print_certificate(const PrintOptions& options, const Console& console);

struct RedactOptions {
  path certificate;
  std::vector<std::string> paths;  // fields to take out, as redact --list names them
  bool personal = false;           // take out all that names a person or a place
  bool list = false;               // only say what may be taken out
  path output;                     // the copy
};
int redact(const RedactOptions& options, const Console& console);

struct KeysOptions {
  path job_dir;
  std::string action = "show";  // show, rotate, protect, unprotect
  bool pem = false;             // show only
  bool lost = false;            // rotate only: the secret key or its passphrase is gone
  path passphrase_file;         // empty = ask on the terminal
};
int keys(const KeysOptions& options, const Console& console);

int inspect(const path& job_dir, const Console& console);

struct UsersOptions {
  path job_dir{};
  std::string action = "list";    // list, add, password, role, remove, token, remove-token, link,
                                  // links, remove-link
  std::string subject{};          // name of the user or program; id of the token or link
  std::string role{};             // add, role, token
  std::optional<double> hours{};  // link
  std::string label{};            // link
  path password_file{};           // empty = ask on the terminal; add, password
};
int users(const UsersOptions& options, const Console& console);

struct RehearseOptions {
  path job_dir;
  std::string scenario;  // file, or name of a built-in one
  bool json = false;
};
int rehearse(const RehearseOptions& options, const Console& console);

struct CheckpointOptions {
  path job_dir;
  path output;           // a copy to hand over; empty = none
  path passphrase_file;  // empty = ask on the terminal where the key is protected
};
int checkpoint(const CheckpointOptions& options, const Console& console);

struct BackupOptions {
  path job_dir;
  path file;
  bool with_secret_key = false;
};
int backup(const BackupOptions& options, const Console& console);

struct RestoreOptions {
  path file;
  path job_dir;
};
int restore(const RestoreOptions& options, const Console& console);

// Text that goes into certificates: UTF-8, one line, not endless; lengths in bytes.
[[nodiscard]] store::Result<void> check_text(const char* option, const std::string& text,
                                             std::size_t shortest, std::size_t longest);

// A moment from the command line; nullopt for an empty text.
[[nodiscard]] store::Result<std::optional<analysis::base::UtcMicros>> moment_from_option(
    const std::string& option, const std::string& text);

}  // namespace logger::app
