#include "tests/evidence/example_site.hpp"

#include <cmath>
#include <stdexcept>

#include "analysis/evidence/canonical_json.hpp"

namespace example {

using namespace analysis;
using base::ChannelRole;
using base::ChannelStatus;

namespace {

certificate::InstrumentFacts instrument(int index, ChannelRole role, const char* id) {
  certificate::InstrumentFacts i;
  i.channel.box_id = "box-1";
  i.channel.channel_index = index;
  i.channel.channel_id = id;
  i.channel.scale.role = role;
  const bool rh = base::file_unit_of(role) == "percent_rh";
  i.channel.scale.low = rh ? 0.0 : -40.0;
  i.channel.scale.high = 100.0;
  i.channel.calibrations = {{kStart - std::chrono::hours(24 * 30),
                             kStart + std::chrono::hours(24 * 300), 1.001, rh ? 0.25 : -0.1,
                             rh ? 1.6 : 0.3}};
  i.channel.specification = readiness::SensorSpecification{rh ? 2.0 : 0.3, rh ? 0.5 : 0.05,
                                                           rh ? 1.0 : 0.2, "the sensor's paper"};
  i.channel.calibration_due_at = i.channel.calibrations.back().due_at;
  i.channel.placed_at = kStart - std::chrono::hours(2);
  i.box_serial = "1001";
  i.sensor_serial = std::string("s-") + id;
  i.placement = std::string("placement of ") + id;
  i.calibration_reference = "reference 7";
  return i;
}

void require(bool held, const std::string& fault) {
  if (!held) {
    throw std::logic_error("the example can't be made: " + fault);
  }
}

}  // namespace

readiness::RhTestNote probe_test() {
  readiness::RhTestNote note{{}, "Tester D", kStart};
  note.test.thickness = base::Metres{0.1};
  note.test.floor = base::SquareMetres{24.5};
  note.test.service_conditions_held = std::chrono::hours(72);
  note.test.places.assign(
      3, {base::Metres{0.04}, base::RelativeHumidity{0.742}, std::chrono::hours(26), {}});
  note.test.places[1].slab = base::Celsius{19.5};
  return note;
}

CertificateFacts declared(int hours) {
  CertificateFacts f;
  f.number = "room-1-1";
  f.period = {kStart, kStart + std::chrono::hours(hours)};
  f.issued_at = f.period.to + std::chrono::minutes(5);
  f.simulated = true;
  f.parties = {"Job \"north\"", "1 Example Row", "Installer A", "Client B"};
  f.room = {"room-1", "Living room", 24.5, "laminate 8 mm"};
  f.delivered_at = kStart;
  f.stack = readiness::StackSetup{
      {base::Metres{1.29}, base::Metres{0.2}, base::Metres{0.36}, physics::StackBottom::on_battens},
      base::Celsius{18.5}};
  f.subfloor_tests.dish = readiness::DishTestNote{
      {base::SquareMetres{24.5},
       std::chrono::hours(72),
       {{base::Kilograms{0.0061}, base::SquareMetres{0.0427}, std::chrono::hours(66)}},
       {}},
      "Tester D",
      kStart};
  f.subfloor_tests.carbide = readiness::CarbideTestNote{
      {base::SquareMetres{24.5}, true, {readiness::carbide_from_percent(1.7)}, {}},
      "Tester D",
      kStart};
  f.subfloor_tests.wood =
      readiness::WoodTestNote{{{base::MoistureContent{0.11}, base::Celsius{16.0}}},
                              physics::MeterCompensation::temperature,
                              {1.1, 0.002},
                              "Tester D",
                              kStart};
  f.instruments = {instrument(0, ChannelRole::room_air_temperature, "air-t"),
                   instrument(1, ChannelRole::room_air_rh, "air-rh"),
                   instrument(2, ChannelRole::stack_core_temperature, "core-t"),
                   instrument(3, ChannelRole::slab_surface_temperature, "surface-t"),
                   instrument(5, ChannelRole::outdoor_temperature, "out-t")};
  for (const readiness::SiteGate gate : readiness::all_site_gates()) {
    f.site_gates.push_back({gate, true, "Observer C", "seen", kStart + std::chrono::hours(1),
                            kStart + std::chrono::hours(2)});
  }
  f.cautions = {"records conditions, does not warrant a floor"};
  f.software = kSoftware;
  return f;
}

std::vector<Reading> readings(int hours, int reboot_after) {
  std::vector<Reading> all;
  const int count = hours * 4 + 1;
  for (int i = 0; i < count; ++i) {
    const int in_boot = i < reboot_after ? i : i - reboot_after;
    Reading r;
    r.box_id = "box-1";
    r.record.id = {i < reboot_after ? 1U : 2U, in_boot + 1};
    r.record.ticks_ms = 900'000LL * in_boot + 5000;
    r.record.statuses.fill(ChannelStatus::not_fitted);
    for (const std::size_t fitted : {0U, 1U, 2U, 3U, 5U}) {
      r.record.statuses[fitted] = ChannelStatus::ok;
    }
    const double wave = std::sin(i / 9.0);
    r.record.raw_counts = {2000 + static_cast<int>(80 * wave),
                           5200 - static_cast<int>(200 * wave),
                           2000 + static_cast<int>(40 * wave),
                           1950,
                           0,
                           500 + 10 * (i % 50),
                           0,
                           0};
    r.dated = {kStart + i * kInterval, Micros{200'000 + 10 * i}};
    all.push_back(r);
  }
  return all;
}

std::string readings_text_from(const std::vector<Reading>& readings) {
  std::string text(certificate::kReadingsHeader);
  text += '\n';
  for (const Reading& reading : readings) {
    text += certificate::line_from_reading(reading).value() + '\n';
  }
  return text;
}

Issued issue(CertificateFacts facts, const std::vector<Reading>& readings) {
  certificate::FactsBuilder builder(std::move(facts));
  for (const Reading& reading : readings) {
    const auto added = builder.add(reading);
    require(added.has_value(), added ? "" : added.error().text);
  }
  Issued issued{builder.facts(), readings_text_from(readings), {}};
  const auto bytes = certificate::issue_certificate(issued.facts, key());
  require(bytes.has_value(), bytes ? "" : bytes.error().text);
  issued.certificate = bytes.value();
  return issued;
}

const Issued& good() {
  static const Issued issued = issue(declared(), readings());
  return issued;
}

evidence::SigningKey key(std::uint8_t first_byte) {
  evidence::SecretBytes seed;
  seed.span()[0] = first_byte;
  return evidence::SigningKey(std::move(seed));
}

Verification verify(const std::string& certificate, const std::string* readings_text) {
  certificate::VerifyInput input;
  input.certificate = certificate;
  input.outside_key = key().public_key();
  input.software = kSoftware;
  if (readings_text != nullptr) {
    input.readings = certificate::byte_source_from(*readings_text);
  }
  return certificate::verify_certificate(input);
}

std::string lines_of(const Verification& verification, certificate::LineKind kind) {
  std::string text;
  for (const auto& line : verification.lines) {
    if (line.kind == kind) {
      text += line.text + '\n';
    }
  }
  return text;
}

std::string changed(const std::string& certificate,
                    const std::function<void(nlohmann::json&)>& change) {
  nlohmann::json root = nlohmann::json::parse(certificate);
  change(root);
  return evidence::canonical_from_json(root).value();
}

}  // namespace example
