// Every word the certificate's pages print that is not a fact. Another language is another file
// that fills this struct. "{0}", "{1}" stand for values and may come in any order.
#pragma once

#include <initializer_list>
#include <string>
#include <string_view>

#include "analysis/base/record.hpp"
#include "analysis/certificate/pages.hpp"
#include "analysis/drawing/time_chart.hpp"
#include "analysis/readiness/verdict.hpp"

namespace analysis::certificate {

// Pointers to constant texts and nothing else, so that a test can replace every one of them.
struct PagesWords {
  const char* language;  // BCP 47

  // Every page
  const char* document_title;
  const char* number;            // {0} = number
  const char* simulated;         // the mark itself
  const char* simulated_banner;  // beside the mark
  const char* page_of;           // {0} of {1}
  const char* digest_footer;     // {0} = digest
  const char* continued;         // {0} = heading
  const char* withheld;
  const char* redacted;
  const char* none_given;
  const char* times_are_utc;

  // Verdict
  const char* ready;
  const char* not_ready;
  const char* cannot_tell;
  const char* gate_counts;          // {0} time, {1} met, {2} not met, {3} unknown
  const char* wrong_ready;          // {0} = at most, as a share
  const char* wrong_ready_unknown;  // a sensor without accuracy
  const char* ready_means;
  const char* not_ready_means;
  const char* cannot_tell_means;
  const char* conditions_met;      // in place of ready, once the floor is being laid
  const char* conditions_not_met;  // in place of not ready
  const char* conditions_met_means;
  const char* conditions_not_met_means;
  const char* laying_had_begun;  // {0} = when
  const char* supersedes;        // {0} number, {1} digest, {2} reason
  const char* redacted_copy;     // {0} = number of fields, {1} = what stands in their place

  // What, where, when
  const char* what;
  const char* where;
  const char* when;
  const char* room;
  const char* floor;
  const char* area;
  const char* job;
  const char* site;
  const char* installer;
  const char* client;
  const char* period_from;
  const char* period_to;
  const char* delivered;
  const char* slab_poured;
  const char* issued;
  const char* not_noted;
  const char* not_noted_of_this_time;  // of laying
  const char* laying;
  const char* laying_began;   // {0}
  const char* laying_lasted;  // {0} to {1}
  const char* laid_gaps;
  const char* laid_gap_elsewhere;
  const char* laid_joints;
  const char* laid_more;  // {0} gaps or joints that are not shown
  const char* laid_rows;
  const char* laid_rows_first;  // {0} rows, {1} width of the first
  const char* laid_first_row;
  const char* laid_cartons;
  const char* laid_cartons_used;      // {0}
  const char* laid_cartons_left;      // {0}
  const char* place_in_time;          // of the period, by the laying
  const char* begins_after_delivery;  // {0} how long
  const char* ended_before_issue;     // {0} how long
  const char* before_laying;
  const char* during_laying;
  const char* after_laying;
  const char* before_and_during_laying;
  const char* during_and_after_laying;
  const char* before_during_and_after_laying;

  // Hours
  const char* hours_title;
  const char* hours_title_cumulative;
  const char* hours_done;  // {0} of {1}
  const char* hours_left;
  const char* hours_none_left;
  const char* hours_completed_at;
  const char* hours_expected_at;
  const char* hours_not_foreseeable;
  const char* hours_expected_if;  // {0} = time
  const char* run_began;
  const char* run_not_begun;
  const char* run_range;
  const char* range_of;  // {0} to {1}
  const char* resets;
  const char* whole_log;
  const char* whole_period;      // where the period begins after the delivery
  const char* whole_log_shares;  // hours: {0} in band, {1} out, {2} unknown
  const char* unknown_share;

  // Gates
  const char* gates_title;
  const char* gates_imperial_note;
  const char* gate;
  const char* gate_state;
  const char* gate_reason;
  const char* gate_action;
  const char* met;
  const char* not_met;
  const char* unknown;
  const char* observed_by;         // {0} who, {1} when
  const char* observed_remark;     // {0} who, {1} when, {2} remark
  const char* written_down_later;  // {0} what was seen, {1} when it was noted
  const char* superseded_note;     // {0} what was noted
  const char* also_observed;       // {0} gate, {1} met or not met, {2} who, {3} when
  const char* actions_left_out;    // {0} = when laying began
  const char* one_photo;           // {0} = start of its digest
  const char* photos;              // {0} how many, {1} starts of their digests

  // Placements and photos
  const char* site_notes_title;
  const char* site_note_at;
  const char* site_note_what;
  const char* site_note_by;
  const char* site_note_photos;
  const char* placed;       // {0} = channel
  const char* calibrated;   // {0} = channel
  const char* values_set;   // {0} channel, {1} from when on, {2} gain, {3} offset with its unit
  const char* set_aside;    // {0} what a test gave that does not count
  const char* noted_later;  // {0} list of noted_when
  const char* noted_when;   // {0} what, {1} when it was, {2} when it was written down
  const char* test_limit;   // {0} at most
  const char* test_without_limit;
  const char* probe_place;  // {0} humidity, {1} depth, {2} time since drilling
  const char* photos_are_named;

  // Charts
  const char* charts_title;
  const char* charts_note;  // {0} = length of a bucket

  // Lists
  const char* excursions_title;
  const char* excursions_of;  // {0} shown, {1} all
  const char* excursions_none;
  const char* unknown_time_title;
  const char* unknown_time_of;
  const char* unknown_time_none;
  const char* list_number;
  const char* list_from;
  const char* list_to;
  const char* list_length;
  const char* list_channel;
  const char* list_worst;
  const char* lost_title;
  const char* lost_none;
  const char* lost_not_to_tell;  // imported rows have no numbering
  const char* lost_more;         // {0} ranges, {1} records
  const char* lost_box;
  const char* lost_sequences;
  const char* lost_count;
  const char* lost_reason;

  // Limits
  const char* limits_title;
  const char* limit;
  const char* limit_value;
  const char* limit_source;
  const char* limit_sources;  // {0} = lettered list
  const char* limit_air_temperature;
  const char* limit_air_rh;
  const char* limit_dwell;
  const char* limit_dwell_cumulative;
  const char* limit_longest_interval;
  const char* limit_grace;
  const char* limit_excursion_budget;
  const char* limit_longest_unknown;
  const char* limit_core_within;
  const char* limit_condensation;
  const char* limit_unknown_share;
  const char* limit_slab_rh;
  const char* limit_slab_settle;
  const char* limit_slab_averaging;
  const char* limit_slab_age;
  const char* limit_slab_probes;
  const char* limit_slab_service;
  const char* limit_emission;
  const char* limit_carbide;
  const char* limit_wood;
  const char* limit_flatness;
  const char* limit_decision;
  const char* decision_simple;
  const char* decision_guarded;
  const char* at_most;                 // {0}
  const char* at_least;                // {0}
  const char* emission_rate_imperial;  // {0} pounds
  const char* emission_rate;           // {0} grams
  const char* gap_in;                  // {0} mm under {1} m
  const char* gap_over;                // {0} with its unit, over {1} ft
  const char* carbide_share;           // {0} percent

  // Instruments
  const char* instruments_title;
  const char* instruments_none;
  const char* instrument_channel;
  const char* instrument_box;
  const char* instrument_measures;
  const char* instrument_placement;
  const char* instrument_calibration;
  const char* instrument_due;
  const char* instrument_uncertainty;
  const char* calibration_unknown;
  const char* calibration_overdue;  // {0} = due date

  // Cautions and proof
  const char* cautions_title;
  const char* proof_title;
  const char* proof_digest;
  const char* proof_readings;  // {0} records, {1} time error
  const char* proof_software;  // {0} = programs and versions
  const char* no_log;
  const char* log_entries;   // {0} entries, {1} root
  const char* log_anchored;  // {0} of {1} readings, {2} when, {3} by whom
  const char* log_not_anchored;
  const char* how_to_check;
  const char* check_digest;
  const char* check_verify;
  const char* check_key;
  const char* disclaimer;

  // HTML only: what a screen reader says of a picture
  const char* chart_described;     // {0} what, {1} unit, {2} from, {3} to, {4} lowest, {5} highest
  const char* chart_without_data;  // {0} what
  const char* code_described;
};

struct PagesTexts : PagesWords {
  drawing::ChartWords chart_words;

  // Names for people. A gate of an unknown id is printed as its id.
  std::string (*gate_label)(std::string_view gate_id);
  const char* (*role_label)(base::ChannelRole role);
  // Of a kind of note, as photos name it; the kind itself where it is unknown.
  std::string (*note_label)(std::string_view kind);
  // Why records are lost; the reason itself where it is unknown.
  std::string (*lost_reason_label)(std::string_view reason);
};

// Puts the values in the places of "{0}", "{1}" and so on.
[[nodiscard]] std::string filled(std::string_view pattern,
                                 std::initializer_list<std::string_view> values);

}  // namespace analysis::certificate
