#include "analysis/certificate/content/texts.hpp"

#include <algorithm>
#include <array>
#include <span>
#include <utility>

namespace analysis::certificate {
namespace {

constexpr std::array<std::pair<std::string_view, std::string_view>, 18> kGateLabels{{
    {"delivery", "Cartons in the room"},
    {"dwell", "Hours in climate band"},
    {"stack_core", "Carton stack warmed through"},
    {"slab", "Slab moisture"},
    {"slab_emission", "Slab emission, dish test"},
    {"slab_carbide", "Slab moisture, carbide test"},
    {"slab_age", "Concrete age"},
    {"wood_subfloor", "Wooden subfloor dry"},
    {"condensation", "No condensation on the slab"},
    {"evidence", "Evidence good enough"},
    {"site.room_kind", "Room suitable for this floor"},
    {"site.heating_kind", "Heating suitable"},
    {"site.flat", "Subfloor flat"},
    {"site.clean", "Subfloor clean"},
    {"site.solid", "Subfloor solid"},
    {"site.old_glue_removed", "Old glue and staples removed"},
    {"site.vapour_barrier", "Vapour barrier"},
    {"site.conditioned", "Building closed and conditioned"},
}};

constexpr std::array<std::pair<std::string_view, std::string_view>, 12> kNoteLabels{{
    {"delivery", "Delivery of the cartons"},
    {"test-begun", "Test of the slab begun"},
    {"test-begun.rh", "Holes of the probe test drilled"},
    {"test-begun.dish", "Dishes set on the slab"},
    {"laying.began", "Laying began"},
    {"laying.finished", "Laying finished"},
    {"rh-test", "Probe test of the slab"},
    {"dish-test", "Dish test of the slab"},
    {"carbide-test", "Carbide test of the slab"},
    {"wood-test", "Test of the wooden subfloor"},
    {"laying", "Laying"},
    {"remark", "Remark"},
}};

constexpr std::array<std::pair<std::string_view, std::string_view>, 3> kLostReasonLabels{{
    {"overflow", "overflow"},
    {"corrupt", "corrupt"},
    {"missing", "missing"},
}};

const char* english_role_label(base::ChannelRole role) {
  switch (role) {
    case base::ChannelRole::room_air_temperature:
      return "Room air temperature";
    case base::ChannelRole::room_air_rh:
      return "Room air humidity";
    case base::ChannelRole::stack_core_temperature:
      return "Stack core temperature";
    case base::ChannelRole::slab_surface_temperature:
      return "Slab surface temperature";
    case base::ChannelRole::slab_rh:
      return "Slab humidity at depth";
    case base::ChannelRole::supply_voltage:
      return "Supply voltage";
    case base::ChannelRole::outdoor_temperature:
      return "Outdoor temperature";
    case base::ChannelRole::outdoor_rh:
      return "Outdoor humidity";
    case base::ChannelRole::slab_temperature:
      return "Slab temperature";
  }
  return "Unknown channel";
}

std::string label_from(std::span<const std::pair<std::string_view, std::string_view>> labels,
                       std::string_view id) {
  const auto found =
      std::ranges::find(labels, id, &std::pair<std::string_view, std::string_view>::first);
  return std::string(found == labels.end() ? id : found->second);
}

std::string english_gate_label(std::string_view gate_id) {
  return label_from(kGateLabels, gate_id);
}
std::string english_note_label(std::string_view kind) { return label_from(kNoteLabels, kind); }
std::string english_lost_reason_label(std::string_view reason) {
  return label_from(kLostReasonLabels, reason);
}

}  // namespace

const PagesTexts& english_texts() {
  static const PagesTexts texts{
      {
          .language = "en",

          .document_title = "Condition certificate",
          .number = "No. {0}",
          .simulated = "SIMULATED SITE",
          .simulated_banner =
              "Made by a simulator. No real room was measured; this proves nothing about one.",
          .page_of = "Page {0} of {1}",
          .digest_footer = "SHA-256 of the signed file: {0}",
          .continued = "{0} (continued)",
          .withheld = "(withheld)",
          .redacted = "(redacted)",
          .none_given = "none given",
          .times_are_utc = "All times are UTC.",

          .ready = "READY",
          .not_ready = "NOT READY",
          .cannot_tell = "CANNOT TELL",
          .gate_counts = "At {0}: {1} gates met, {2} not met, {3} unknown.",
          .wrong_ready =
              "Probability that errors of the sensors alone made this wrong: at most {0}.",
          .wrong_ready_unknown = "How likely errors of the sensors made this wrong is not known: "
                                 "an accuracy is missing.",
          .ready_means = "Every condition this job asks for before laying was met.",
          .not_ready_means = "At least one condition this job asks for before laying was not met.",
          .cannot_tell_means = "What was measured and noted is not enough to decide.",
          .conditions_met = "CONDITIONS MET",
          .conditions_not_met = "CONDITIONS NOT MET",
          .conditions_met_means =
              "Every condition this job asks for was met when this period ended.",
          .conditions_not_met_means =
              "At least one condition this job asks for was not met when this period ended.",
          .laying_had_begun = "Laying began {0}, before this period ended. This says how the room "
                              "was, not whether to "
                              "lay.",
          .supersedes = "Takes the place of certificate No. {0} (SHA-256 {1}). Reason: {2}",
          .redacted_copy = "Redacted copy: {0} fields were taken out of it; they show as {1}.",

          .what = "What",
          .where = "Where",
          .when = "When",
          .room = "Room",
          .floor = "Floor",
          .area = "Area",
          .job = "Job",
          .site = "Site",
          .installer = "Installer",
          .client = "Client",
          .period_from = "From",
          .period_to = "To",
          .delivered = "Delivered",
          .slab_poured = "Slab poured",
          .issued = "Issued",
          .not_noted = "not noted",
          .not_noted_of_this_time = "not noted by then",
          .laying = "Laying",
          .laying_began = "began {0}",
          .laying_lasted = "{0} to {1}",
          .laid_gaps = "Gaps left",
          .laid_gap_elsewhere = "elsewhere",
          .laid_joints = "Joints",
          .laid_more = "and {0} more in the signed file",
          .laid_rows = "Rows",
          .laid_rows_first = "{0}, the first {1}",
          .laid_first_row = "First row",
          .laid_cartons = "Cartons",
          .laid_cartons_used = "{0} used",
          .laid_cartons_left = "{0} left over",
          .place_in_time = "This period",
          .begins_after_delivery = "begins {0} after the delivery",
          .ended_before_issue = "ended {0} before the issue",
          .before_laying = "before laying",
          .during_laying = "during laying",
          .after_laying = "after laying",
          .before_and_during_laying = "before and during laying",
          .during_and_after_laying = "during and after laying",
          .before_during_and_after_laying = "before, during and after laying",

          .hours_title = "Hours in climate band, in one run",
          .hours_title_cumulative = "Hours in climate band, added up",
          .hours_done = "{0} h of {1} h",
          .hours_left = "Left",
          .hours_none_left = "none",
          .hours_completed_at = "First complete",
          .hours_expected_at = "Expected",
          .hours_not_foreseeable = "cannot be foreseen",
          .hours_expected_if = "{0}, if the room stays as it is",
          .run_began = "Run began",
          .run_not_begun = "not begun",
          .run_range = "In this run",
          .range_of = "{0} to {1}",
          .resets = "Restarts",
          .whole_log = "Since delivery",
          .whole_period = "In this period",
          .whole_log_shares = "{0} h in band, {1} h out, {2} h unknown",
          .unknown_share = "Unknown share",

          .gates_title = "Gates",
          .gates_imperial_note = "Findings are quoted as signed, in metric units.",
          .gate = "Gate",
          .gate_state = "State",
          .gate_reason = "Finding",
          .gate_action = "To do",
          .met = "met",
          .not_met = "not met",
          .unknown = "unknown",
          .observed_by = "Seen by {0}, {1}.",
          .observed_remark = "Seen by {0}, {1}: {2}",
          .written_down_later = "{0} (written down {1})",
          .superseded_note = "{0} (earlier, superseded)",
          .also_observed = "Also noted, not asked for: {0}, {1}, by {2}, {3}.",
          .actions_left_out = "What would have been to do before laying is left out, as laying "
                              "began {0}; it is in the "
                              "signed file.",
          .one_photo = "1 photo: {0}.",
          .photos = "{0} photos: {1}.",

          .site_notes_title = "Placements and photos",
          .site_note_at = "When",
          .site_note_what = "What",
          .site_note_by = "By",
          .site_note_photos = "Photos",
          .placed = "{0} put in its place",
          .calibrated = "Calibration of {0}",
          .values_set = "{0} from {1}: gain {2}, offset {3}",
          .set_aside = "{0}; does not count: another one does, or it can't be used",
          .noted_later = "Written down over a day after it was so: {0}.",
          .noted_when = "{0}, of {1}, on {2}",
          .test_limit = "limit {0}",
          .test_without_limit = "no limit set",
          .probe_place = "{0} at {1}, read {2} after drilling",
          .photos_are_named = "Photos are named by the first 8 digits of their SHA-256.",

          .charts_title = "What was measured",
          .charts_note =
              "Each point stands for {0}. Time in UTC. The line breaks where nothing was recorded.",

          .excursions_title = "Out of limits",
          .excursions_of = "Out of limits, the longest {0} of {1}",
          .excursions_none = "The room air was never out of its limits.",
          .unknown_time_title = "Room air unknown",
          .unknown_time_of = "Room air unknown, {0} of {1}",
          .unknown_time_none = "None: the room air was recorded throughout.",
          .list_number = "No.",
          .list_from = "From",
          .list_to = "To",
          .list_length = "Length",
          .list_channel = "What",
          .list_worst = "Worst",
          .lost_title = "Lost records",
          .lost_none = "Lost records: none. Every record of the boxes is there.",
          .lost_not_to_tell =
              "Lost records: none is known. Imported rows have no numbering, so that "
              "one left out can't be told.",
          .lost_more = "and {0} more ranges with {1} records, all in the signed file",
          .lost_box = "Box, boot",
          .lost_sequences = "Sequence",
          .lost_count = "Records",
          .lost_reason = "Reason",

          .limits_title = "Limits of this job",
          .limit = "Limit",
          .limit_value = "Value",
          .limit_source = "Source",
          .limit_sources = "Sources: {0}.",
          .limit_air_temperature = "Room air temperature",
          .limit_air_rh = "Room air humidity",
          .limit_dwell = "Hours in band, in one run",
          .limit_dwell_cumulative = "Hours in band, added up",
          .limit_longest_interval = "Between readings",
          .limit_grace = "Each short excursion",
          .limit_excursion_budget = "Short excursions in a run",
          .limit_longest_unknown = "Unknown time in a run",
          .limit_core_within = "Stack core, from mean air",
          .limit_condensation = "Slab above dew point",
          .limit_unknown_share = "Unknown share of the run",
          .limit_slab_rh = "Slab humidity at depth",
          .limit_slab_settle = "Slab probe settled",
          .limit_slab_averaging = "Slab reading, mean over",
          .limit_slab_age = "Concrete age",
          .limit_slab_probes = "Slab probes that measure",
          .limit_slab_service = "In band before slab reading",
          .limit_emission = "Slab emission, dish test",
          .limit_carbide = "Slab moisture, carbide test",
          .limit_wood = "Moisture of the wood",
          .limit_flatness = "Gap under a straightedge",
          .limit_decision = "Decision at a limit",
          .decision_simple = "as measured",
          .decision_guarded = "limit drawn in by U (k = 2)",
          .at_most = "at most {0}",
          .at_least = "at least {0}",
          .emission_rate_imperial = "{0} lb/1000 ft² in 24 h",
          .emission_rate = "{0} g/m² in 24 h",
          .gap_in = "{0} mm in {1} m",
          .gap_over = "{0} over {1} ft",
          .carbide_share = "{0} CM-%",

          .instruments_title = "Instruments",
          .instruments_none = "None named.",
          .instrument_channel = "Channel",
          .instrument_box = "Box, sensor",
          .instrument_measures = "Measures",
          .instrument_placement = "Placed",
          .instrument_calibration = "Calibration",
          .instrument_due = "Due",
          .instrument_uncertainty = "U (k = 2)",
          .calibration_unknown = "no date known",
          .calibration_overdue = "{0} (overdue)",

          .cautions_title = "Cautions",
          .proof_title = "Proof",
          .proof_digest = "Signed file",
          .proof_readings =
              "Readings: {0} records, time error at most ±{1} s, tree root (RFC 9162)",
          .proof_software = "Made with {0}",
          .no_log = "The readings are tied to no evidence log: self-declared.",
          .log_entries = "Evidence log at the issue: {0} entries, root {1}",
          .log_anchored =
              "{0} of {1} readings lie below a checkpoint stamped {2} by {3}; the rest is "
              "self-declared.",
          .log_not_anchored = "No checkpoint of the log was time-stamped: self-declared.",
          .how_to_check = "How to check this paper",
          .check_digest = "sha256sum CERTIFICATE.json  must print the digest above, as in the code "
                          "at the left.",
          .check_verify =
              "dwellog verify CERTIFICATE.json --key PUBLIC-KEY --readings READINGS.csv",
          .check_key = "Get the public key from another hand. The signed file proves; these pages "
                       "alone prove "
                       "nothing.",
          .disclaimer = "This certificate records conditions. It does not warrant a floor.",

          .chart_described = "Chart: {0} in {1}, {2} to {3}, from {4} to {5}.",
          .chart_without_data = "Chart: {0}, nothing was recorded.",
          .code_described = "QR code of the digest",
      },
      {.key_excursion = "out of limits, numbered as in the list"},
      english_gate_label,
      english_role_label,
      english_note_label,
      english_lost_reason_label};
  return texts;
}

std::string filled(std::string_view pattern, std::initializer_list<std::string_view> values) {
  std::string text;
  for (std::size_t i = 0; i < pattern.size(); ++i) {
    if (pattern[i] == '{' && i + 2 < pattern.size() && pattern[i + 2] == '}') {
      const auto index = static_cast<std::size_t>(pattern[i + 1] - '0');
      if (index < values.size()) {
        text += values.begin()[index];
        i += 2;
        continue;
      }
    }
    text += pattern[i];
  }
  return text;
}

}  // namespace analysis::certificate
