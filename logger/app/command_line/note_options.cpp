#include "logger/app/command_line/note_options.hpp"

#include <CLI/CLI.hpp>

namespace logger::app {
namespace {

void add_gate_options(CLI::App& sub, GateAnswerOptions& gate) {
  sub.add_option("--use", gate.use, "gate room_kind: living, kitchen, bathroom, ...");
  sub.add_option("--heating", gate.heating,
                 "gate heating_kind: none, radiators, air, water, electric");
  sub.add_option("--found", gate.found,
                 "gate clean, solid, old_glue_removed, conditioned: what was found; a wrong word "
                 "lists them");
  sub.add_option("--below", gate.below,
                 "gate vapour_barrier: concrete, screed, tile, stone, crawl_space, timber; default "
                 "subfloor_kind of job.json");
  sub.add_option("--barrier", gate.barrier, "gate vapour_barrier: present, built_in, none, both");
  sub.add_option("--approval", gate.approval, "gate: who allows in writing what practice does not");
  sub.add_option("--grid", gate.grid,
                 "gate flat: CSV file of heights, a row per line; in mm, or each with its unit");
  sub.add_option("--heights", gate.heights,
                 "gate flat: what numbers without a unit in --grid are, mm or in; default mm")
      ->check(CLI::IsMember({"mm", "in"}));
  sub.add_option("--spacing", gate.spacing,
                 "gate flat: how far the heights lie apart, \"25 cm\" or \"25 cm x 50 cm\"");
  sub.add_option("--line", gate.lines,
                 "gate flat, once for each line: gaps under a string or straightedge, \"0 cm=0 mm, "
                 "50 cm=2 mm, ...\" or \"0 in=0 in, 20 in=3/16 in, ...\"")
      ->allow_extra_args(false);
  sub.add_option("--reading-mm", gate.reading_mm,
                 "gate flat: standard uncertainty of one reading; 0.5 mm when left out");
  sub.add_option("--map", gate.map, "gate flat: SVG file to draw the grid into");
}

void add_laying_options(CLI::App& sub, NoteOptions& note) {
  sub.add_option("--gap", note.gaps,
                 "laying finished, once for each wall: the gap left, as \"10 mm\" for every wall "
                 "or \"1-2=10 mm\" for the one between these corners of the plan")
      ->allow_extra_args(false);
  sub.add_option("--joint", note.joints,
                 "laying finished, once for each joint: where, and the profile, as \"door to the "
                 "hall: T-moulding\"")
      ->allow_extra_args(false);
  sub.add_option("--rows", note.rows_laid, "laying finished: how many rows");
  sub.add_option("--first-row", note.first_row, "laying finished: its width, such as \"12 cm\"");
  sub.add_option("--cartons-used", note.cartons_used, "laying finished: cartons opened");
  sub.add_option("--cartons-left", note.cartons_left, "laying finished: cartons left on site");
}

void add_calibration_options(CLI::App& sub, NoteOptions& note) {
  sub.add_option("--gain", note.gain, "calibration: value = gain * nominal + offset");
  sub.add_option("--offset", note.offset, "calibration: in the channel's unit");
  sub.add_option("--uncertainty", note.expanded_uncertainty,
                 "calibration: expanded, k = 2, in the channel's unit");
  sub.add_option("--due", note.due, "calibration: when it expires, RFC 3339");
  sub.add_option("--reference", note.reference, "calibration: paper or fixed points");
  sub.add_option("--fixed-point", note.fixed_points,
                 "calibration of a humidity channel, twice: SALT,SHOWN_PERCENT,CELSIUS[,SPREAD], "
                 "SPREAD being the standard deviation of what it showed, 0.2 %RH when left out; "
                 "gain, offset and uncertainty follow from the two; SALT is one of " +
                     salt_names());
}

void add_test_options(CLI::App& sub, NoteOptions& note) {
  sub.add_option("--dish", note.dishes,
                 "dish test, once for each dish: mass gained in g, covered area in m2, hours, as "
                 "GAIN,AREA,HOURS");
  sub.add_option("--sample", note.samples_cm_percent, "carbide test, once for each sample: CM-%");
  sub.add_option("--service-hours", note.service_hours,
                 "rh and dish test: how long the room had been as in use before");
  sub.add_option("--hole", note.holes,
                 "rh test, once for each hole: depth in mm, humidity and temperature shown, as "
                 "DEPTH,RH_PERCENT[,CELSIUS]");
  sub.add_option("--drilled", note.drilled,
                 "rh test: when the holes were drilled and their sleeves closed, RFC 3339; "
                 "default: as noted by test-begun rh");
  sub.add_option("--thickness", note.thickness_mm,
                 "rh test: of the slab in mm; default: slab_build of job.json");
  sub.add_flag("--both-faces", note.both_faces, "rh test: the slab dries from both faces");
  sub.add_flag("--as-found", note.as_found,
               "rh and dish test: keep a reading that was taken too early or too late; it does "
               "not count");
  sub.add_flag("--heated", note.heated, "carbide test: a heated screed");
  sub.add_option("--wood", note.wood_readings,
                 "wood test, once for each place: moisture shown in percent and temperature of the "
                 "wood, as SHOWN,CELSIUS");
  sub.add_flag("--meter-compensates", note.meter_compensates,
               "wood test: the meter corrects for temperature by itself");
  sub.add_option("--species", note.species,
                 "wood test: SLOPE,OFFSET_PERCENT of the meter's maker for this wood");
}

}  // namespace

void add_note_options(CLI::App& sub, NoteOptions& note) {
  sub.add_option("JOBDIR", note.job_dir, "folder of the job")->required();
  sub.add_option("KIND", note.kind, "what is noted")->required();
  sub.add_option("SUBJECT", note.subject,
                 "gate, channel, rh or dish, began or finished, key of an alert, or text");
  sub.add_option("ANSWER", note.answer, "met or not-met, for a gate that is stated by hand");
  sub.add_option("--room", note.room, "needed when the job has several rooms");
  sub.add_option("--by", note.by, "who did or saw it")->required();
  sub.add_option("--at", note.at, "when, RFC 3339; default now");
  sub.add_option("--remark", note.remark, "in words");
  sub.add_option_function<std::string>(
         "--units", [&note](const std::string& word) { note.imperial = word == "imperial"; },
         "gate flat and guide: metric or imperial, for people; default metric")
      ->check(CLI::IsMember({"metric", "imperial"}));
  sub.add_option("--photo", note.photos,
                 "a photo that belongs to it, once for each; a copy is kept in JOBDIR/photos")
      ->allow_extra_args(false);
  sub.add_option("--carton-celsius", note.carton_celsius,
                 "delivery: temperature inside a carton when it came");
  add_gate_options(sub, note.gate);
  add_calibration_options(sub, note);
  add_test_options(sub, note);
  add_laying_options(sub, note);
}

}  // namespace logger::app
