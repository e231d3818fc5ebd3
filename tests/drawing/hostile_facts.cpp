#include "tests/drawing/pages_fixture.hpp"

namespace tests {

using analysis::certificate::CertificateFacts;

namespace {

// Ends its element, its attribute and its comment, runs something, and turns its neighbours round.
const std::string kHostile =
    "</td></style><script>alert(1)</script>\"' onload='x' & &amp; <!-- \xE2\x80\xAE"
    "evil\xE2\x80\xAC \xE2\x81\xA6 \x07 \xFF ]]>";

}  // namespace

CertificateFacts hostile_facts() {
  CertificateFacts f = invented_facts_with_much_to_say();
  for (std::string* text :
       {&f.parties.job_name, &f.parties.site_address, &f.parties.installer, &f.parties.client,
        &f.room.room_name, &f.room.floor_product, &f.software, &f.supersedes->reason,
        &f.requirements.dwell.source, &f.readings.root_sha256_hex}) {
    *text = kHostile;
  }
  for (auto& gate : f.assessment.gates) {
    gate.id = gate.reason = gate.action = kHostile;
  }
  for (auto& note : f.site_gates) {
    note.by = note.remark = kHostile;
  }
  for (auto& instrument : f.instruments) {
    instrument.channel.channel_id = instrument.box_serial = instrument.sensor_serial =
        instrument.placement = instrument.calibration_reference = kHostile;
  }
  for (auto& placement : f.placements) {
    placement.channel_id = placement.by = placement.remark = kHostile;
  }
  for (auto& photo : f.photos) {
    photo.subject = kHostile;
  }
  for (auto& series : f.chart.series) {
    series.channel_id = kHostile;
  }
  for (auto& lost : f.lost_records) {
    lost.box_id = lost.reason = kHostile;
  }
  f.cautions = {kHostile};
  return f;
}

}  // namespace tests
