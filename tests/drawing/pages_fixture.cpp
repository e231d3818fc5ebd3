#include "tests/drawing/pages_fixture.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>

namespace tests {
namespace {

using analysis::base::Celsius;
using analysis::base::ChannelRole;
using analysis::base::Micros;
using analysis::base::micros_from_hours;
using analysis::base::RelativeHumidity;
using analysis::base::TimeRange;
using analysis::base::UtcMicros;
using analysis::certificate::CertificateFacts;
using analysis::certificate::ChartBucket;
using analysis::certificate::ChartSeries;
using analysis::certificate::InstrumentFacts;
using analysis::readiness::GateState;
using analysis::readiness::SiteGate;

constexpr UtcMicros kStart{1763193600LL * 1000000};  // 2025-11-15T08:00:00Z
constexpr int kBuckets = 240;
constexpr double kHoursPerBucket = 0.6;
constexpr double kUnpluggedFrom = 52.4;
constexpr double kUnpluggedTo = 53.5;
constexpr double kHeaterFailsAt = 66.0;
constexpr double kHeaterBackAt = 74.0;

UtcMicros at_hour(double hour) { return kStart + micros_from_hours(hour); }

double daily(double hour) { return std::sin(2.0 * std::numbers::pi * (hour - 3.0) / 24.0); }

double heater_dip(double hour) {
  if (hour < kHeaterFailsAt) {
    return 0.0;
  }
  if (hour < kHeaterBackAt) {
    return -6.5 * (1.0 - std::exp(-(hour - kHeaterFailsAt) / 3.5));
  }
  return -6.5 * (1.0 - std::exp(-8.0 / 3.5)) * std::exp(-(hour - kHeaterBackAt) / 1.8);
}

double air_temperature(double hour) { return 20.0 + 0.7 * daily(hour) + heater_dip(hour); }
double air_rh(double hour) {
  return 54.0 - 2.2 * daily(hour) - 1.5 * heater_dip(hour) - 4.0 * hour / 144.0;
}
double core_temperature(double hour) {
  return 19.9 - 13.0 * std::exp(-hour / 9.0) + 0.25 * daily(hour - 5.0) +
         0.55 * heater_dip(hour - 4.0);
}
double slab_rh(double hour) { return 72.6 + 4.8 * std::exp(-hour / 60.0); }
double slab_surface(double hour) {
  return 18.2 + 0.3 * daily(hour - 3.0) + 0.4 * heater_dip(hour - 2.0);
}

ChartSeries series_from(const char* id, ChannelRole role, double spread,
                        const std::function<double(double)>& value) {
  ChartSeries series{id, role, {}};
  for (int i = 0; i < kBuckets; ++i) {
    const double hour = kHoursPerBucket * (i + 0.5);
    if (hour > kUnpluggedFrom && hour < kUnpluggedTo) {
      series.buckets.emplace_back(std::nullopt);
      continue;
    }
    const double ripple = spread * (0.7 + 0.3 * std::sin(i * 1.7));
    series.buckets.emplace_back(
        ChartBucket{value(hour) - ripple, value(hour), value(hour) + ripple});
  }
  return series;
}

InstrumentFacts instrument(const char* id, ChannelRole role, const char* serial,
                           const char* placement) {
  InstrumentFacts made;
  made.channel.box_id = "box-1";
  made.channel.channel_id = id;
  made.channel.scale.role = role;
  made.channel.calibration_due_at = at_hour(24.0 * 200);
  made.box_serial = "PB-000417";
  made.sensor_serial = serial;
  made.placement = placement;
  made.calibration_reference = "salts, 2025-10-30";
  return made;
}

void add_instruments(CertificateFacts& facts) {
  facts.instruments = {
      instrument("air-t", ChannelRole::room_air_temperature, "T-1182",
                 "on the carton stack, 0.9 m above the floor"),
      instrument("air-rh", ChannelRole::room_air_rh, "T-1182",
                 "on the carton stack, 0.9 m above the floor"),
      instrument("core-t", ChannelRole::stack_core_temperature, "K-0311",
                 "middle carton, between packs 4 and 5"),
      instrument("slab-rh", ChannelRole::slab_rh, "S-2207", "sleeve, 26 mm deep of 65 mm"),
      instrument("surface-t", ChannelRole::slab_surface_temperature, "",
                 "taped under insulation, north corner")};
}

void add_gates(CertificateFacts& facts) {
  auto& gates = facts.assessment.gates;
  gates = {
      {"delivery", GateState::met, "The cartons have been in the room since 2025-11-15T10:00:00Z.",
       ""},
      {"dwell", GateState::met,
       "The room air has been in its band for 67.4 h of the 48.0 h required (common practice).",
       ""},
      {"stack_core", GateState::met,
       "Stack core core-t is at 20.1 °C beside room air at 20.3 °C: within 1.0 K of it and not "
       "below "
       "16.0 °C (common practice).",
       ""},
      {"slab", GateState::met,
       "Slab RH slab-rh is at 73.1 % (mean of the last 24 h 0 min), the limit is 75.0 % (floor's "
       "instructions, p. 4).",
       ""},
      {"slab_age", GateState::met,
       "The slab is 96 d 0 h old, at least 60 d 0 h are required (common practice).", ""},
      {"condensation", GateState::met,
       "Slab surface surface-t at its coldest, 18.0 °C, is 8.3 K above the dew point 9.7 °C of the "
       "room air; at least 3.0 K are required (common practice).",
       ""},
      {"evidence", GateState::met,
       "Of the time since 2025-11-18T12:36:00Z 0.0 % is unknown, at most 10.0 % is allowed (common "
       "practice); every sensor used is in calibration.",
       ""}};
  struct Seen {
    SiteGate gate;
    const char* id;
    const char* remark;
  };
  const Seen seen[] = {
      {SiteGate::room_kind, "site.room_kind", ""},
      {SiteGate::heating_kind, "site.heating_kind", "radiators"},
      {SiteGate::flat, "site.flat", "worst 2 mm in 1 m, by the window"},
      {SiteGate::clean, "site.clean", ""},
      {SiteGate::solid, "site.solid", ""},
      {SiteGate::old_glue_removed, "site.old_glue_removed", "none there"},
      {SiteGate::vapour_barrier, "site.vapour_barrier", "0.2 mm film, seams taped"},
      {SiteGate::conditioned, "site.conditioned", ""}};
  double hour = 2.0;
  for (const Seen& one : seen) {
    gates.push_back({one.id, GateState::met, "Noted as met by Ada Invented on 2025-11-15.", ""});
    facts.site_gates.push_back({one.gate, true, "Ada Invented", one.remark, at_hour(hour)});
    hour += 0.1;
  }
}

void add_dwell(CertificateFacts& facts) {
  facts.assessment.at = at_hour(144.0);
  facts.assessment.verdict = analysis::readiness::Verdict::ready;
  facts.assessment.dwell_done_hours = 67.4;
  facts.assessment.dwell_left_hours = 0.0;
  facts.assessment.dwell_done_at = at_hour(124.6);
  facts.dwell.in_band_seconds = 67.4 * 3600.0;
  facts.dwell.total_in_seconds = 133.0 * 3600.0;
  facts.dwell.total_out_seconds = 7.9 * 3600.0;
  facts.dwell.total_unknown_seconds = 1.1 * 3600.0;
  facts.dwell.run_started_at = at_hour(76.6);
  facts.dwell.run_temperature_min = Celsius{17.3};
  facts.dwell.run_temperature_max = Celsius{20.9};
  facts.dwell.run_rh_min = RelativeHumidity{0.478};
  facts.dwell.run_rh_max = RelativeHumidity{0.571};
  facts.dwell.resets = 1;
}

const char* const kLongReason =
    "The value that was measured here stayed on the wrong side of the limit for longer than the "
    "job allows, at several places and on several days, and the last reading of 61.3 %RH was taken "
    "while the windows stood open, so that the mean of the last 24 h can't stand for the room";
const char* const kLongAction =
    "Close the windows, run the dehumidifier at about 4 litres a day, and wait until the mean of "
    "24 h is below the limit for a whole day";

// Superseded, laid in the period, every sensor placed by someone, ten photos.
void add_site_work(CertificateFacts& facts) {
  facts.supersedes = {"kitchen-2",
                      "7b3c0a5be2d94786a1b0c9d8e7f60514233241506f7e8d9cabbac9d8e7f60777",
                      "the slab probe of the bay window was named after the wrong sleeve"};
  for (int i = 0; i < 4; ++i) {
    facts.placements.push_back(
        {facts.instruments[static_cast<std::size_t>(i)].channel.channel_id, at_hour(1.0 + i),
         "Ada Invented", i % 2 == 0 ? "depth measured twice, cap pressed down by hand" : ""});
  }
  const auto photo = [&](const std::string& subject, double hour) {
    const std::string start = std::to_string(10000000 + 7919 * (facts.photos.size() + 1));
    facts.photos.push_back({subject, at_hour(hour), start + std::string(56, 'e'), 812345});
  };
  for (const double hour : {1.0, 1.0, 3.0}) {
    photo("placement." + facts.instruments[hour < 2.0 ? 0 : 2].channel.channel_id, hour);
  }
  for (int i = 0; i < 4; ++i) {
    photo("gate.flat", 2.2);
  }
  photo("delivery", 2.0);
  photo("delivery", 2.0);
  photo("carbide-test", 2.5);
  // The example of docs/evidence-log.md.
  const std::string checkpoint =
      "{\"checkpoint\":{\"format\":\"dwellog-checkpoint-1\",\"issued_at\":\"2026-01-05T06:00:00Z\","
      "\"public_key\":\"cecc1507dc1ddd7295951c290888f095adb9044d1b73d696e6df065d683bd4fc\","
      "\"root\":\"b6748f6ed7a99de7da84fd97e1a3bac6fab8999f4a43695cab9528a2de431147\","
      "\"simulated\":true,\"size\":5},\"signature\":"
      "\"6d1370b80c91e12c60088893fb58d2291aa9eb8958df1e50ddb697c309632f9a3bc5d9d0ee9407d0e01205e66e"
      "24"
      "f68933e0cd0110846bef0c79e83e9c57e703\"}";
  facts.log = analysis::certificate::LogFacts{
      checkpoint,
      analysis::certificate::AnchorFacts{checkpoint, at_hour(140.0),
                                         "Invented Time Stamping Authority of Inventham", ""},
      8211};
}

}  // namespace

CertificateFacts invented_facts() {
  CertificateFacts facts;
  facts.number = "kitchen-3";
  facts.issued_at = at_hour(144.05);
  facts.period = {at_hour(0.0), at_hour(144.0)};
  facts.parties = {"Invented house, ground floor", "7 Nowhere Lane, 00000 Inventham",
                   "Floors by Ada Invented", "B. Madeup"};
  facts.room = {"kitchen", "Kitchen", 18.5, "Laminate click panel, 8 mm (invented)"};
  facts.requirements.slab = analysis::readiness::SlabRequirements{};
  facts.requirements.slab->rh_high.source = "floor's instructions, p. 4";
  facts.requirements.temperature_low.source = "floor's instructions, p. 2";
  facts.requirements.temperature_high.source = "floor's instructions, p. 2";
  facts.delivered_at = at_hour(2.0);
  facts.slab_poured_at = at_hour(-24.0 * 90);
  add_instruments(facts);
  add_gates(facts);
  add_dwell(facts);
  facts.excursions = {{{at_hour(68.4), at_hour(75.3)}, ChannelRole::room_air_temperature, 14.2},
                      {{at_hour(68.9), at_hour(74.9)}, ChannelRole::room_air_rh, 61.4}};
  facts.excursions_total = 2;
  facts.unknown_time = {{at_hour(kUnpluggedFrom), at_hour(kUnpluggedTo)}};
  facts.unknown_time_total = 1;
  facts.largest_time_error = Micros{420000};
  facts.chart.from = at_hour(0.0);
  facts.chart.bucket = micros_from_hours(kHoursPerBucket);
  facts.chart.series = {
      series_from("air-t", ChannelRole::room_air_temperature, 0.45, air_temperature),
      series_from("air-rh", ChannelRole::room_air_rh, 1.6, air_rh),
      series_from("core-t", ChannelRole::stack_core_temperature, 0.15, core_temperature),
      series_from("slab-rh", ChannelRole::slab_rh, 0.12, slab_rh),
      series_from("surface-t", ChannelRole::slab_surface_temperature, 0.1, slab_surface)};
  facts.readings.records = 8574;
  facts.readings.root_sha256_hex =
      "9d0c7ab1e2f3041526374859607182930a1b2c3d4e5f60718293a4b5c6d7e8f9";
  facts.cautions = {
      "A certificate records conditions; it does not warrant a floor.",
      "The manufacturer's instructions, local codes and licensed trades come first.",
      "Sanding, grinding or drilling concrete raises silica dust: extract it and wear a mask.",
      "Before drilling probe holes, locate heating pipes, cables and tensioned tendons.",
      "Fuel-burning heaters give off carbon monoxide and water, and can start a fire.",
      "Old resilient floors and black adhesive may hold asbestos: test before disturbing them.",
      "Mains-powered heaters and dryers: licensed electrician, residual-current device.",
      "Carton stacks are heavy and can tip: spread the weight, keep stacks low."};
  facts.software =
      "dwellog 0.1.0, cairo 1.16.0, pango 1.50.12, harfbuzz 6.0.0, qrencode 4.1.1, DejaVu Sans "
      "2.37";
  return facts;
}

CertificateFacts invented_facts_with_much_to_say() {
  CertificateFacts facts = invented_facts();
  facts.parties = {
      "Refurbishment of the invented guest house with its two annexes and the long corridor "
      "between "
      "them, ground floor and first floor",
      "Rear building, staircase C, third floor left, 1234 Extraordinarily Long Invented Street "
      "Name "
      "North-West Extension, District of Nowhere-upon-Nothing, 00000 Inventham-by-the-Sea, Utopia",
      "Invented Floor Laying and Subfloor Preparation Partnership of Ada Invented and Bert Madeup, "
      "successors",
      "Association of the Owners of the Flats of the Invented Guest House, represented by its "
      "manager"};
  facts.room.room_name =
      "Living room with open kitchen, winter garden and the passage to the stairs";
  facts.room.floor_product =
      "Laminate click panel 8 mm with attached underlay, class 33, decor invented oak rustic, lot "
      "000123-A and lot 000124-B";
  facts.assessment.verdict = analysis::readiness::Verdict::not_ready;
  int rank = 0;
  for (auto& gate : facts.assessment.gates) {
    gate.state = rank % 3 == 0   ? GateState::not_met
                 : rank % 3 == 1 ? GateState::unknown
                                 : gate.state;
    if (rank++ < 8) {
      gate.reason = kLongReason;
      gate.action = kLongAction;
    }
  }
  for (auto& note : facts.site_gates) {
    note.remark = "seen together with the site manager, photographs taken from all four corners";
  }
  facts.excursions.clear();
  facts.unknown_time.clear();
  for (int i = 0; i < 20; ++i) {
    const double hour = 4.0 + 6.9 * i;
    const bool rh = i % 2 == 1;
    facts.excursions.push_back({{at_hour(hour), at_hour(hour + 1.3)},
                                rh ? ChannelRole::room_air_rh : ChannelRole::room_air_temperature,
                                rh ? 63.2 : 16.1});
    facts.unknown_time.push_back({at_hour(hour + 2.0), at_hour(hour + 2.9)});
  }
  facts.excursions_total = 57;
  facts.unknown_time_total = 31;
  for (std::uint32_t boot = 1; boot <= 30; ++boot) {
    facts.lost_records.push_back({"box-1", boot, 100, 160, "overflow"});
  }
  for (int i = 2; i <= 4; ++i) {
    facts.instruments.push_back(
        instrument("slab-rh-extra", ChannelRole::slab_rh, "S-2208",
                   "sleeve in the bay window beside the heating pipe, 26 mm deep of 65 mm"));
  }
  facts.instruments.back().channel.calibration_due_at = at_hour(10.0);
  facts.instruments.back().calibration_reference.clear();
  add_site_work(facts);
  facts.requirements.dwell.source =
      "the floor's laying instructions, edition of the delivery, page 2";
  return facts;
}

}  // namespace tests
