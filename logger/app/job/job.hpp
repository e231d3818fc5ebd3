// A job as job.json describes it: site, rooms, boxes, channels, floor requirements. Values here
// have passed every check; logger/app/job/job_file.hpp reads the text.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/alerts/alert_settings.hpp"
#include "analysis/alerts/telling_policy.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/panel/board_moisture.hpp"
#include "analysis/physics/panel/moisture_uptake.hpp"
#include "analysis/readiness/requirements.hpp"
#include "analysis/readiness/room_replay.hpp"
#include "analysis/readiness/service/service_climate.hpp"
#include "analysis/readiness/site/site_answers.hpp"
#include "logger/app/job/job_plan.hpp"
#include "logger/ingest/line_settings.hpp"
#include "logger/ingest/registers/register_map.hpp"

namespace logger::app {

using analysis::base::Micros;
using analysis::base::UtcMicros;

struct JobChannel {
  int index = 0;        // position in the box's record, 0..7; unique within the box
  std::string id;       // unique in the job
  std::string room_id;  // may be empty for what belongs to the box or the site (supply, outdoor)
  analysis::readiness::ChannelScale scale;
  std::optional<analysis::readiness::SensorSpecification> specification;
  std::string sensor_serial;
  std::string placement;  // in words; may be empty, as the serial
  std::optional<UtcMicros> placed_at;
  std::optional<UtcMicros> calibration_due_at;  // of the maker's paper; notes may bring a newer one
  std::optional<ingest::RegisterSource> source;  // boxes with registers only
  std::string csv_column;                        // imported boxes only
  std::string csv_unit;  // "celsius", "fahrenheit", "percent_rh", "rh_fraction", "volt"
};

// How a CSV file of an imported box is to be read.
struct CsvLayout {
  std::string time_column;
  std::string time_format = "rfc3339";  // or strptime-like: %Y %m %d %H %M %S
  std::string time_zone;                // "+02:00", "Z"; empty exactly with rfc3339
  char separator = ',';
  char decimal = '.';
};

// A transmitter off the shelf: no records, registers of its maker's choice.
struct JobRegisters {
  Micros answer_within{500'000};
  std::optional<ingest::DeviceIdentity> identity;
};

// Filled in one of three ways: a probe box (serial), a transmitter (registers), or imports (csv).
struct JobBox {
  std::string id;
  std::uint64_t serial = 0;  // a probe box's own number; 0 = another way
  std::string port;          // serial device; empty = an adapter at `host`, or imported
  std::string host;          // IP address of an adapter that speaks Modbus TCP
  int tcp_port = 502;        // of that adapter
  int unit = 1;              // Modbus address on that line, 1..247
  int baud = 19200;          // the rest of the line: serial devices only
  ingest::Parity parity = ingest::Parity::none;
  int stop_bits = 1;
  int sample_interval_s = 60;  // 1..3600
  std::optional<JobRegisters> registers;
  std::optional<CsvLayout> csv;      // present = filled by `dwellog import`, never polled
  std::vector<JobChannel> channels;  // 1..8, increasing index
};

// The same for all boxes on one line: a serial device, or an adapter.
[[nodiscard]] inline std::string line_of(const JobBox& box) {
  return box.host.empty() ? box.port : box.host + " " + std::to_string(box.tcp_port);
}

// How the cartons lie; what is not entered is not assumed.
struct JobStack {
  analysis::base::Metres carton_length;
  analysis::base::Metres carton_width;
  analysis::base::Metres carton_height;
  int cartons_high = 1;
  int cartons_wide = 1;
  int stacks = 1;
  bool on_battens = false;
  std::optional<analysis::base::Kilograms> carton_mass;
  std::optional<analysis::physics::CartonWrap> wrap;
  analysis::physics::BoardShareOfWood board;
};

// The concrete or screed as it was built, for the drying forecast.
struct JobSlabBuild {
  analysis::base::Metres thickness;
  bool two_sided = false;             // dries to both faces
  std::optional<bool> barrier_below;  // nullopt = nobody knows
  std::optional<UtcMicros> drying_from;
  std::optional<analysis::base::Megapascals> strength;  // characteristic, of cylinders
  std::optional<analysis::base::Metres> probe_depth;    // nullopt = at the depth the practice asks
};

struct JobAir {
  analysis::base::CubicMetres volume;
  std::optional<analysis::base::AirChangesPerHour> air_changes;  // nullopt = unknown
};

// What the floor may do in service.
struct JobMovement {
  analysis::base::Metres width;  // across the boards' joints, the longer run between two gaps
  analysis::base::Metres gap;    // left at each side
  analysis::base::RelativeHumidity service_low;
  analysis::base::RelativeHumidity service_high;
  double expansion_50_to_80_fraction = 0.0033;
  bool pinned_one_side = false;
  std::string source;
};

// Exactly one box carries both room-air channels of a room.
struct JobRoom {
  std::string id;  // lower-case letters, digits, - and _; as all ids
  std::string name;
  double floor_area_m2 = 0.0;
  std::string floor_product;
  std::optional<UtcMicros> slab_poured_at;
  analysis::readiness::FloorRequirements requirements;
  std::optional<analysis::readiness::SubfloorKind> subfloor_kind;  // nullopt = not entered
  std::optional<JobStack> stack;
  std::optional<JobSlabBuild> slab_build;
  std::optional<JobAir> air;
  std::optional<JobMovement> movement;
  std::optional<JobPlan> plan;                  // what is to be laid, and how
  analysis::readiness::ServiceClimate service;  // to keep once it is laid
};

// Where mail is handed in. Secrets are files of the job folder, since job.json itself goes into the
// evidence log.
struct JobMailServer {
  std::string url;                  // smtp://HOST:PORT (STARTTLS is asked for) or smtps://HOST:PORT
  std::string user;                 // empty = without logging in
  std::string password_file;        // in the job folder
  std::string from;                 // address
  std::string certificates;         // PEM file in the job folder; empty = those the system trusts
  bool plain_text_allowed = false;  // without TLS: for a server on this machine
};
struct JobMqttServer {
  std::string host;
  int port = 8883;
  bool tls = true;
  std::string user;
  std::string password_file;
  std::string certificates;
  std::string topic;  // prefix: "site/kitchen"
};
// Someone, or something, that is told. Exactly one way is set.
struct JobRecipient {
  std::string id;                    // permanent: deliveries are stored under it
  std::string mail;                  // address
  std::string webhook_url;           // https://, or http:// to this machine
  std::string webhook_secret_file;   // signs the body; in the job folder
  std::string webhook_certificates;  // PEM file in the job folder; empty = those the system trusts
  std::string mqtt_topic;            // below the server's prefix
  std::vector<std::string> command;  // program and arguments
  std::optional<analysis::alerts::QuietHours> quiet_hours;  // nothing but what cannot wait
};

inline constexpr std::string_view kCommandRecipient = "command";

struct JobAlerts {
  std::vector<std::string> command;      // the short way to one recipient, whose id is "command"
  std::vector<JobRecipient> recipients;  // empty, as the command = messages stay in the store
  std::optional<JobMailServer> mail_server;
  std::optional<JobMqttServer> mqtt_server;
  std::string time_zone = "UTC";  // IANA name: quiet hours and the digest go by its clocks
  analysis::alerts::TellingPolicy telling;
  std::string escalate_to;             // recipient id; empty = nobody
  std::vector<std::string> digest_to;  // recipient ids
  int command_timeout_s = 30;
  analysis::alerts::AlertSettings settings;
};

// The page that the daemon serves.
struct JobPage {
  std::string address = "127.0.0.1";
  int port = 8460;
  // TLS: files of the job folder; both empty = plain HTTP, which is refused for any other address
  // than this machine's own. "self-made" for the certificate = one is made at the first start.
  std::string tls_certificate;
  std::string tls_key;
  std::vector<std::string> tls_names;  // of a self-made certificate: host names and addresses
};

// A status page that the daemon carries outward, since a site has no address of its own.
struct JobStatusPush {
  std::string url;              // https:// (PUT), sftp://, or empty = the MQTT server, retained
  std::string user;             // empty = without logging in
  std::string password_file;    // in the job folder
  std::string key_file;         // sftp: private key, in the job folder
  std::string host_key_sha256;  // sftp: of the server, base64
  std::string certificates;     // PEM file in the job folder; empty = those the system trusts
  Micros every = analysis::base::micros_from_hours(6);  // beside every change of a verdict
  bool personal = false;                                // with names and address
};

// Signed checkpoints of the evidence log (docs/evidence-log.md) and their time stamps.
struct JobCheckpoints {
  Micros every = analysis::base::micros_from_hours(24);
  std::string time_stamp_url;          // of an authority; empty = none is asked
  std::string authority_certificates;  // PEM file in the job folder; empty = stamps unverified
};

struct Job {
  std::string name;
  std::string site_address;
  std::string installer;
  std::string client;
  std::optional<analysis::base::Metres> altitude;  // above sea level; nullopt = not entered
  int collect_every_s = 300;  // the box keeps the records until they are on disk here
  std::vector<JobRoom> rooms;
  std::vector<JobBox> boxes;
  JobAlerts alerts;
  std::optional<JobPage> page;  // nullopt = none is served
  std::vector<JobStatusPush> status_pushes;
  // nullopt = every 24 h without time stamps, and none under simulated time.
  std::optional<JobCheckpoints> checkpoints;
};

}  // namespace logger::app
