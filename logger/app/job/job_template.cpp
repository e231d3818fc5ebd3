#include "logger/app/job/job_file.hpp"
#include "logger/store/json_line.hpp"

namespace logger::app {
namespace {

// @NAME@ and the like are filled in. One string literal per part of the file, since a
// compiler need not take longer ones.
constexpr std::string_view kHead =
    R"(// The job as dwellog reads it: JSON, with comments like this one.
// After every change run `dwellog check` on the folder: it names each mistake with its line.
//
// - The unit is the last part of a key's name: low_celsius, hours, floor_area_m2.
// - Every group of limits names its "source": who says so. The instructions of the floor being laid
//   come first; the figures below are common practice.
// - No comma after the last entry before a closing bracket.
// - All keys with their ranges and defaults: docs/job-file.md
{
  "format": "dwellog-job/1",

  "job": {
    "name": @NAME@,
    "site_address": @ADDRESS@,    // printed on the certificate
    "installer": @INSTALLER@,
    "client": ""                       // may stay empty
  },

  // How often the logger fetches what the boxes have recorded. They keep it until it is on disk here.
  "collect_every_seconds": 300,
)";

constexpr std::string_view kRooms = R"(
  "rooms": [
    {
      "id": "living-room",             // lower-case letters, digits, - and _
      "name": "Living room",
      "floor_area_m2": 24.0,
      "floor_product": "Laminate, click, 8 mm",
      // "slab_poured_at": "2026-01-15",  // the date the concrete or screed was poured

      // For `dwellog outlook`: how the cartons lie, how the slab was built, the room, the gaps. Take
      // off the slashes and put in what is true; nothing is assumed for what stays out.
      // "stack": { "carton_length_m": 1.29, "carton_width_m": 0.195, "carton_height_m": 0.09,
      //            "carton_mass_kg": 14,
      //            "cartons_high": 4, "cartons_wide": 1, "stacks": 3, "bottom": "battens" },
      // "slab_build": { "thickness_mm": 100, "drying": "one_side", "barrier_below": true,
      //                 "drying_from": "2026-01-15", "strength_mpa": 30 },
      // "air": { "volume_m3": 60 },
      // "movement": { "width_m": 5, "gap_mm": 10, "service_low_percent_rh": 30,
      //               "service_high_percent_rh": 65, "source": "common practice" },

      // For `dwellog plan`: what to order, how the rows lie, the job pack (docs/plan.md).
      // "plan": { "size": "6 m x 4 m", "doors": [{ "wall": 1, "from_corner": "1 m", "width": "0.9 m" }],
      //           "panel": { "length": "1.285 m", "width": "19.2 cm", "per_pack": 8 },
      //           "underlay": { "roll_width": "1 m", "roll_length": "15 m" },
      //           "barrier": { "roll_width": "2 m", "roll_length": "25 m" },
      //           "laying_on": "2026-05-04", "source": "common practice" },

      // For `dwellog handover`: the climate to keep once the floor is laid (docs/handover.md).
      // "service": { "temperature_low_celsius": 17, "temperature_high_celsius": 23,
      //              "rh_low_percent_rh": 45, "rh_high_percent_rh": 60, "source": "common practice" },

      "requirements": {
        // The air around the closed cartons. Both limits belong to the band.
        "temperature": { "low_celsius": 17, "high_celsius": 23, "source": "common practice" },
        "rh": { "low_percent_rh": 45, "high_percent_rh": 60, "source": "common practice" },

        // How long the cartons must lie in that band. "cumulative": false = in one run.
        "dwell": { "hours": 48, "cumulative": false, "source": "common practice" },

        // What a run may stand: the longest time between two readings before it counts as unknown,
        // a short excursion, all short excursions together, and all unknown time together.
        "interruptions": {
          "longest_interval_minutes": 45,
          "grace_minutes": 15,
          "excursion_budget_minutes": 60,
          "longest_unknown_hours": 4,
          "source": "common practice"
        },

        // The middle of the stack must have come this near to the room air.
        "stack_core": { "probe_required": true, "within_kelvin": 1.0, "source": "common practice" },

        // The concrete or screed below, measured in a sleeve at depth.
        // No mineral slab below this floor? Then write:  "slab": null,
        "slab": {
          "rh_high_percent_rh": 75,
          "settle_hours": 24,          // the probe in its closed sleeve before a reading counts
          "averaging_hours": 24,
          "minimum_age_days": 60,
          "source": "common practice"
        },

        // How much warmer than the dew point of the room air the slab's surface must be.
        "condensation": { "margin_kelvin": 3, "source": "common practice" },

        // "simple" compares values as measured; "guarded" draws every limit in by the uncertainty of
        // what is compared with it, which needs "accuracy" of the channels below.
        "decision": { "rule": "simple", "source": "common practice" },

        // How much of the run may be unknown for lack of readings.
        "evidence": { "unknown_share_percent": 10, "source": "common practice" },

        // What a person must look at and record with `dwellog note`.
        "site_gates": ["room_kind", "heating_kind", "flat", "clean", "solid", "old_glue_removed",
                       "vapour_barrier", "conditioned"]
      }
    }
  ],
)";

constexpr std::string_view kBoxes = R"(
  "boxes": [
    {
      "id": "box-1",
      "serial": @SERIAL@,              // the number printed on the box
      "port": @PORT@,
      "unit": 1,                       // the box's address on that line
      "baud": 19200,
      "sample_interval_seconds": 60,

      // "index" is the channel's place in the box. For each channel you may add:
      //   "sensor_serial": "...", "placement": "shelf, 1.2 m high, away from sun and heater",
      //   "placed_at": "2026-03-01T08:30:00+01:00", "calibration_due_at": "2027-02-01"
      //   "accuracy": { "limits_percent_rh": 2, "source": "the sensor's paper" }  // or limits_kelvin
      // Without a calibration date that lies ahead the verdict stays "cannot tell".
      "channels": [
        { "index": 0, "id": "air-t", "room": "living-room", "role": "room_air_temperature" },
        { "index": 1, "id": "air-rh", "room": "living-room", "role": "room_air_rh" },
        { "index": 2, "id": "core-t", "room": "living-room", "role": "stack_core_temperature" },
        { "index": 3, "id": "slab-t", "room": "living-room", "role": "slab_surface_temperature" },
        { "index": 4, "id": "slab-rh", "room": "living-room", "role": "slab_rh" },
        { "index": 5, "id": "supply", "room": "living-room", "role": "supply_voltage" }
      ]
    }
  ],
)";

constexpr std::string_view kEnd = R"(
  // How often the log of all that was recorded is signed, and who stamps it with the time, so that
  // it can't be written anew unseen: docs/time-stamps.md. Without it: every 24 h, and no stamps.
  // "checkpoints": { "every_hours": 24, "time_stamp_url": "https://CHANGE-ME",
  //                  "authority_certificates": "authority.pem" },

  // A page for the phone, for this machine alone until it has a certificate: docs/page.md.
  // "page": { "address": "127.0.0.1", "port": 8460 },

  "alerts": {
    // A program and its arguments, for example ["/usr/local/bin/send-message", "crew"]. It gets each
    // message as JSON on its standard input and is tried again until it ends with status 0.
    // Empty = messages are only kept here.
    "command": [],
    "command_timeout_seconds": 30,

    // Others who are told, by mail, webhook, MQTT or a program, with quiet hours, reminders until
    // somebody acknowledged, a second person and a daily digest: docs/job-file.md.
    // "recipients": [{ "id": "me", "mail": "CHANGE-ME@example.org" }],
    // "mail_server": { "url": "smtps://CHANGE-ME:465", "from": "CHANGE-ME@example.org",
    //                  "user": "CHANGE-ME", "password_file": "mail-password" },

    "rules": {
      "out_of_band": { "fire_after_minutes": 15, "clear_after_minutes": 15 },
      "dwell_reset": { "clear_after_minutes": 60 },
      "probe_silent": { "fire_after_minutes": 30 },
      "sensor_fault": { "fire_after_minutes": 30, "clear_after_minutes": 15 },
      "ready": { "fire_after_minutes": 30 },
      "no_longer_ready": { "fire_after_minutes": 30 }
    }
  }
}
)";

// REQUIRES: `mark` stands in `text` once.
void fill(std::string& text, std::string_view mark, const std::string& value) {
  text.replace(text.find(mark), mark.size(), value);
}

}  // namespace

std::string commented_job_text(const JobTemplate& values) {
  std::string head(kHead);
  fill(head, "@NAME@", store::json_line(values.name));
  fill(head, "@ADDRESS@", store::json_line(kTemplateAddress));
  fill(head, "@INSTALLER@", store::json_line(kTemplateInstaller));
  std::string boxes(kBoxes);
  fill(boxes, "@SERIAL@", std::to_string(values.box_serial));
  fill(boxes, "@PORT@", store::json_line(values.port));
  return head.append(kRooms).append(boxes).append(kEnd);
}

}  // namespace logger::app
