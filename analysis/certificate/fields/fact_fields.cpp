#include "analysis/certificate/fields/fact_fields.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "analysis/certificate/fields/describe_subfloor_tests.hpp"
#include "analysis/evidence/canonical_json.hpp"

namespace analysis::certificate {
namespace {

using base::Failure;
using evidence::Fault;
using evidence::FieldValues;
using nlohmann::json;

template <class Io>
void describe_calibration(Io& io, readiness::DatedCalibration& c) {
  io.time("valid_from", c.valid_from);
  io.time("due_at", c.due_at);
  io.number("gain", c.gain);
  io.number("offset", c.offset);
  io.number("expanded_uncertainty", c.expanded_uncertainty);
}

template <class Io>
void describe_accuracy(Io& io, readiness::SensorSpecification& s) {
  io.number("limits", s.accuracy);
  io.number("drift_per_year", s.drift_per_year);
  io.number("placement", s.placement);
  io.text("source", s.source);
}

template <class Io>
void describe_instrument(Io& io, InstrumentFacts& i) {
  io.text("box_id", i.channel.box_id);
  io.text("box_serial", i.box_serial);
  io.integer("channel_index", i.channel.channel_index);
  io.text("channel_id", i.channel.channel_id);
  describe_role(io, i.channel.scale.role);
  io.number("units_per_count", i.channel.scale.units_per_count);
  io.later_number("value_at_zero", i.channel.scale.value_at_zero, 0.0);
  io.later_optional("frozen_after_s", i.channel.scale.frozen_after, kSeconds);
  io.number("low", i.channel.scale.low);
  io.number("high", i.channel.scale.high);
  io.optional("accuracy", i.channel.specification,
              in_object([](auto& inner, auto& v) { describe_accuracy(inner, v); }));
  io.text("sensor_serial", i.sensor_serial);
  io.list("calibrations", i.channel.calibrations,
          [](auto& inner, auto& c) { describe_calibration(inner, c); });
  io.optional("calibration_due_at", i.channel.calibration_due_at, kTime);
  io.text("calibration_reference", i.calibration_reference);
  io.optional("placed_at", i.channel.placed_at, kTime);
}

template <class Io>
void describe_stack(Io& io, readiness::StackSetup& s) {
  io.number("length_m", s.geometry.length);
  io.number("width_m", s.geometry.width);
  io.number("height_m", s.geometry.height);
  io.named("bottom", s.geometry.bottom,
           std::span<const EnumName<physics::StackBottom>>(kStackBottomNames));
  io.optional("delivered_celsius", s.delivered, kNumber);
}

template <class Io>
void describe_gap(Io& io, GapFacts& g) {
  io.text("box_id", g.box_id);
  io.integer("boot", g.boot);
  io.integer("first_sequence", g.first_sequence);
  io.integer("last_sequence", g.last_sequence);
  io.text("reason", g.reason);
}

void describe_buckets(FieldWriter& io, std::vector<std::optional<ChartBucket>>& buckets) {
  json array = json::array();
  for (const auto& bucket : buckets) {
    array.push_back(
        bucket ? json::array({rounded_computed(bucket->low), rounded_computed(bucket->mean),
                              rounded_computed(bucket->high)})
               : json(nullptr));
  }
  io.json()["buckets"] = std::move(array);
}

void describe_buckets(FieldReader& io, std::vector<std::optional<ChartBucket>>& buckets) {
  buckets.clear();
  const json* found = io.find_array("buckets");
  for (std::size_t i = 0; found != nullptr && i < found->size(); ++i) {
    const json& bucket = (*found)[i];
    const bool numbers = bucket.is_array() && bucket.size() == 3 &&
                         std::ranges::all_of(bucket, [](const json& n) { return n.is_number(); });
    if (!bucket.is_null() && !numbers) {
      io.refuse("buckets", "null or [lowest, mean, highest]");
      return;
    }
    buckets.emplace_back();
    if (numbers) {
      buckets.back() =
          ChartBucket{bucket[0].get<double>(), bucket[1].get<double>(), bucket[2].get<double>()};
    }
  }
}

template <class Io>
void describe_chart(Io& io, ChartFacts& chart) {
  io.time("from", chart.from);
  io.seconds("bucket_s", chart.bucket);
  io.list("series", chart.series, [](auto& inner, auto& series) {
    inner.text("channel_id", series.channel_id);
    describe_role(inner, series.role);
    describe_buckets(inner, series.buckets);
  });
}

template <class Io>
void describe_readings(Io& io, ReadingsFacts& r) {
  io.derived_text("format", "dwellog-readings-1");
  io.integer("records", r.records);
  io.text("root_sha256", r.root_sha256_hex);
  io.integer("block_records", r.block_records);
  io.texts("block_roots_sha256", r.block_roots_sha256_hex);
}

template <class Io>
void describe_anchor(Io& io, AnchorFacts& a) {
  io.text("checkpoint", a.checkpoint);
  io.time("stamped_at", a.stamped_at);
  io.text("authority", a.authority);
  io.text("token_base64", a.token_base64);
}

template <class Io>
void describe_log(Io& io, LogFacts& log) {
  io.text("checkpoint", log.checkpoint);
  io.optional("anchor", log.anchor,
              in_object([](auto& inner, auto& v) { describe_anchor(inner, v); }));
  io.integer("readings_anchored", log.readings_anchored);
}

template <class Io>
void describe_superseded(Io& io, SupersededFacts& s) {
  io.text("number", s.number);
  io.text("certificate_sha256", s.certificate_sha256_hex);
}

template <class Io>
void describe_photo(Io& io, PhotoFacts& p) {
  io.text("subject", p.subject);
  io.time("at", p.at);
  io.text("sha256", p.sha256_hex);
  io.integer("bytes", p.bytes);
}

template <class Io>
void describe_laid(Io& io, readiness::LaidFloor& laid) {
  constexpr auto kCount = [](auto& inner, const std::string& key, auto& v) {
    inner.integer(key, v);
  };
  io.later_list("laying.gaps", laid.gaps, [](auto& inner, auto& v) {
    inner.text("wall", v.wall);
    inner.number("gap_m", v.gap);
  });
  io.later_list("laying.joints", laid.joints, [](auto& inner, auto& v) {
    inner.text("place", v.place);
    inner.text("kind", v.kind);
  });
  io.later_optional("laying.rows", laid.rows, kCount);
  io.later_optional("laying.first_row_m", laid.first_row, kNumber);
  io.later_optional("laying.cartons_used", laid.cartons_used, kCount);
  io.later_optional("laying.cartons_left", laid.cartons_left, kCount);
}

// What was done on site besides the gates.
template <class Io>
void describe_work(Io& io, CertificateFacts& f) {
  io.object("laying", f.laying, [](auto& inner, auto& v) {
    inner.optional("began_at", v.began_at, kTime);
    inner.optional("finished_at", v.finished_at, kTime);
  });
  describe_laid(io, f.laying.laid);
  io.list("placements", f.placements, [](auto& inner, auto& v) {
    inner.text("channel_id", v.channel_id);
    inner.time("at", v.at);
  });
  io.list("photos", f.photos, [](auto& inner, auto& v) { describe_photo(inner, v); });
  io.later_list("noted", f.noted, [](auto& inner, auto& v) {
    inner.text("subject", v.subject);
    inner.time("at", v.at);
    inner.optional("noted_at", v.noted_at, kTime);
    inner.text("set_aside", v.set_aside);
  });
}

std::string indexed(const char* list, std::size_t index, const char* member) {
  return std::string(list) + "." + std::to_string(index) + "." + member;
}

// Texts that may name a person or a place, or that are wording only: fields of their own.
template <class Io>
void describe_redactable(Io& io, CertificateFacts& f) {
  io.redactable_text("parties.job_name", f.parties.job_name);
  io.redactable_text("parties.site_address", f.parties.site_address);
  io.redactable_text("parties.installer", f.parties.installer);
  io.redactable_text("parties.client", f.parties.client);
  io.redactable_text("room.name", f.room.room_name);
  for (std::size_t i = 0; i < f.instruments.size(); ++i) {
    io.redactable_text(indexed("instruments", i, "placement"), f.instruments[i].placement);
  }
  for (std::size_t i = 0; i < f.placements.size(); ++i) {
    io.redactable_text(indexed("placements", i, "by"), f.placements[i].by);
    io.redactable_text(indexed("placements", i, "remark"), f.placements[i].remark);
  }
  if (f.supersedes) {
    io.redactable_text("supersedes.reason", f.supersedes->reason);
  }
  for (const auto& [list, notes] :
       {std::pair{"site_gates", &f.site_gates}, std::pair{"open_answers", &f.open_answers}}) {
    for (std::size_t i = 0; i < notes->size(); ++i) {
      readiness::SiteGateNote& note = (*notes)[i];
      io.redactable_text(indexed(list, i, "by"), note.by);
      io.redactable_text(indexed(list, i, "remark"), note.remark);
      io.later_redactable_text(indexed(list, i, "grounds"), note.grounds);
    }
  }
  const auto tester = [&io](const char* path, auto& test) {
    if (test) {
      io.redactable_text(path, test->by);
    }
  };
  tester("subfloor_tests.dish.by", f.subfloor_tests.dish);
  tester("subfloor_tests.carbide.by", f.subfloor_tests.carbide);
  tester("subfloor_tests.wood.by", f.subfloor_tests.wood);
  tester("subfloor_tests.rh.by", f.subfloor_tests.rh);
  for (std::size_t i = 0; i < f.assessment.gates.size(); ++i) {
    io.redactable_text(indexed("assessment.gates", i, "reason"), f.assessment.gates[i].reason);
    io.redactable_text(indexed("assessment.gates", i, "action"), f.assessment.gates[i].action);
  }
}

template <class Io>
void describe_facts(Io& io, CertificateFacts& f) {
  io.object("period", f.period, [](auto& inner, auto& v) { describe_range(inner, v); });
  io.text("room.id", f.room.room_id);
  io.number("room.floor_area_m2", f.room.floor_area_m2);
  io.text("room.floor_product", f.room.floor_product);
  io.object("requirements", f.requirements,
            [](auto& inner, auto& v) { describe_requirements(inner, v); });
  io.optional("delivered_at", f.delivered_at, kTime);
  io.optional("slab_poured_at", f.slab_poured_at, kTime);
  io.optional("stack", f.stack, in_object([](auto& inner, auto& v) { describe_stack(inner, v); }));
  io.optional("subfloor_tests.dish", f.subfloor_tests.dish,
              in_object([](auto& inner, auto& v) { describe_dish_test(inner, v); }));
  io.optional("subfloor_tests.carbide", f.subfloor_tests.carbide,
              in_object([](auto& inner, auto& v) { describe_carbide_test(inner, v); }));
  io.optional("subfloor_tests.wood", f.subfloor_tests.wood,
              in_object([](auto& inner, auto& v) { describe_wood_test(inner, v); }));
  io.later_optional("subfloor_tests.rh", f.subfloor_tests.rh,
                    in_object([](auto& inner, auto& v) { describe_rh_test(inner, v); }));
  io.list("instruments", f.instruments,
          [](auto& inner, auto& v) { describe_instrument(inner, v); });
  io.list("site_gates", f.site_gates, [](auto& inner, auto& v) {
    describe_site_gate(inner, "gate", v.gate);
    inner.flag("met", v.met);
    inner.time("at", v.at);
    inner.optional("noted_at", v.noted_at, kTime);
  });
  io.later_list("open_answers", f.open_answers, [](auto& inner, auto& v) {
    v.open = true;
    describe_site_gate(inner, "gate", v.gate);
    inner.text("to_do", v.to_do);
    inner.time("at", v.at);
    inner.optional("noted_at", v.noted_at, kTime);
  });
  describe_work(io, f);
  io.optional("supersedes", f.supersedes,
              in_object([](auto& inner, auto& v) { describe_superseded(inner, v); }));
  io.object("assessment", f.assessment,
            [](auto& inner, auto& v) { describe_assessment(inner, v); });
  io.object("dwell", f.dwell, [](auto& inner, auto& v) { describe_dwell(inner, v); });
  io.object("excursions", f, [](auto& inner, auto& v) {
    inner.integer("total", v.excursions_total);
    inner.list("longest", v.excursions, [](auto& item, auto& e) { describe_excursion(item, e); });
  });
  io.object("unknown_time", f, [](auto& inner, auto& v) {
    inner.integer("total", v.unknown_time_total);
    inner.list("longest", v.unknown_time, [](auto& item, auto& e) { describe_range(item, e); });
  });
  io.list("lost_records", f.lost_records, [](auto& inner, auto& v) { describe_gap(inner, v); });
  io.seconds("largest_time_error_s", f.largest_time_error);
  io.object("chart", f.chart, [](auto& inner, auto& v) { describe_chart(inner, v); });
  io.object("readings", f.readings, [](auto& inner, auto& v) { describe_readings(inner, v); });
  io.optional("log", f.log, in_object([](auto& inner, auto& v) { describe_log(inner, v); }));
  io.texts("cautions", f.cautions);
  io.text("software", f.software);
  describe_redactable(io, f);  // last: it needs the lengths of the lists
}

}  // namespace

FieldValues fields_from_facts(CertificateFacts facts) {
  FieldWriter writer;
  describe_facts(writer, facts);
  FieldValues fields;
  for (auto& [path, value] : writer.json().items()) {
    fields.emplace(path, std::move(value));
  }
  return fields;
}

base::Result<CertificateFacts, Fault> facts_from_fields(const evidence::SealedHeader& header,
                                                        const FieldValues& fields,
                                                        const std::vector<std::string>& redacted) {
  const json object(fields);
  const std::set<std::string> may_lack(redacted.begin(), redacted.end());
  std::string fault;
  FieldReader reader(object, may_lack, "", fault);
  CertificateFacts facts;
  facts.number = header.number;
  facts.issued_at = header.issued_at;
  facts.simulated = header.simulated;
  describe_facts(reader, facts);
  if (!fault.empty()) {
    return Failure{Fault{fault}};
  }
  for (const auto& [path, value] : fields_from_facts(facts)) {
    const auto found = fields.find(path);
    if (found != fields.end() && found->second != value) {
      return Failure{Fault{"field \"" + path + "\" is not written as the format says"}};
    }
  }
  return facts;
}

namespace {

bool numbers_agree(double a, double b) { return std::abs(a - b) < 1.5 / kComputedSteps; }

bool texts_agree(const std::string& a, const std::string& b) {
  if (a == b) {
    return true;
  }
  const auto at_a = base::utc_from_rfc3339(a);
  const auto at_b = base::utc_from_rfc3339(b);
  return at_a && at_b && std::abs((*at_a - *at_b).count()) <= kComputedTimeStepUs;
}

bool leaves_agree(const json& a, const json& b) {
  if (a.is_number() && b.is_number()) {
    return numbers_agree(a.get<double>(), b.get<double>());
  }
  if (a.is_string() && b.is_string()) {
    return texts_agree(a.get_ref<const std::string&>(), b.get_ref<const std::string&>());
  }
  return a == b;
}

std::string shown(const json& value) {
  constexpr std::size_t kMost = 60;
  const auto text = evidence::canonical_from_json(value);
  if (!text) {
    return "?";
  }
  return text.value().size() <= kMost ? text.value() : text.value().substr(0, kMost) + "...";
}

}  // namespace

std::optional<std::string> first_difference(const json& signed_value, const json& recomputed) {
  const bool lists = signed_value.is_array() && recomputed.is_array();
  const bool objects = signed_value.is_object() && recomputed.is_object();
  if (!lists && !objects) {
    return leaves_agree(signed_value, recomputed)
               ? std::nullopt
               : std::optional<std::string>(": signed " + shown(signed_value) + ", recomputed " +
                                            shown(recomputed));
  }
  if (signed_value.size() != recomputed.size()) {
    return ": signed " + std::to_string(signed_value.size()) + " entries, recomputed " +
           std::to_string(recomputed.size());
  }
  auto other = recomputed.begin();
  for (const auto& [key, value] : signed_value.items()) {
    if (objects && other.key() != key) {
      return "." + key + ": signed, not recomputed";
    }
    if (const auto difference = first_difference(value, *other)) {
      return "." + key + *difference;
    }
    ++other;
  }
  return std::nullopt;
}

}  // namespace analysis::certificate
