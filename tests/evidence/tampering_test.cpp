#include <algorithm>
#include <catch2/catch.hpp>

#include "analysis/certificate/verify.hpp"
#include "tests/evidence/example_site.hpp"

using namespace analysis::certificate;
using example::lines_of;
using nlohmann::json;

namespace {

// As small as a whole certificate gets: two instruments, one hour.
const std::string& small_certificate() {
  static const std::string bytes = [] {
    CertificateFacts declared = example::declared(1);
    declared.instruments.resize(2);
    declared.site_gates.resize(1);
    declared.requirements.site_gates.resize(1);
    return example::issue(declared, example::readings(1)).certificate;
  }();
  return bytes;
}

void require_found(const std::string& altered, const std::string& what) {
  const VerificationStatus status = example::verify(altered).status;
  if (status != VerificationStatus::not_proved && status != VerificationStatus::unreadable) {
    FAIL(what << " changed unseen");
  }
}

void flip_and_require_found(std::size_t bit) {
  std::string flipped = small_certificate();
  flipped[bit / 8] = static_cast<char>(flipped[bit / 8] ^ static_cast<char>(1U << (bit % 8)));
  require_found(flipped, "bit " + std::to_string(bit));
}

// The failures of a certificate that the key holder signed again after `change`, checked with the
// readings.
std::string failures_of_resigned(const std::function<void(CertificateFacts&)>& change,
                                 const std::string& readings_text = example::good().readings_text,
                                 const CertificateFacts& from = example::good().facts) {
  CertificateFacts facts = from;
  change(facts);
  const auto bytes = issue_certificate(facts, example::key());
  INFO((bytes ? "" : bytes.error().text));
  REQUIRE(bytes);
  const Verification v = example::verify(bytes.value(), &readings_text);
  CHECK(v.status == VerificationStatus::not_proved);
  return example::lines_of(v, LineKind::failed);
}

// Every number, text, flag and null inside `value`, by its JSON pointer.
void collect_leaves(const json& value, const json::json_pointer& at,
                    std::vector<json::json_pointer>& leaves) {
  if (value.is_object()) {
    for (const auto& [key, member] : value.items()) {
      collect_leaves(member, at / key, leaves);
    }
  } else if (value.is_array()) {
    for (std::size_t i = 0; i < value.size(); ++i) {
      collect_leaves(value[i], at / i, leaves);
    }
  } else {
    leaves.push_back(at);
  }
}

json other_than(const json& leaf) {
  if (leaf.is_boolean()) {
    return !leaf.get<bool>();
  }
  if (leaf.is_number()) {
    return leaf.get<double>() + 1;
  }
  if (leaf.is_null()) {
    return 0;
  }
  const std::string text = leaf.get<std::string>();
  return text.empty() ? "x" : text.substr(0, text.size() - 1) + (text.back() == '0' ? '1' : '0');
}

}  // namespace

TEST_CASE("AFlippedBitInEveryByteOfACertificateIsFound") {
  REQUIRE(example::verify(small_certificate()).status == VerificationStatus::proved);
#ifdef __SANITIZE_ADDRESS__
  constexpr std::size_t kStride = 17;  // each takes several times as long there
#else
  constexpr std::size_t kStride = 1;
#endif
  for (std::size_t byte = 0; byte < small_certificate().size(); byte += kStride) {
    flip_and_require_found(8 * byte + byte % 8);
  }
}

// Every bit, not only one of each byte; run by tests/run.sh --long.
TEST_CASE("EveryFlippedBitOfACertificateIsFound", "[.long]") {
  for (std::size_t bit = 0; bit < 8 * small_certificate().size(); ++bit) {
    flip_and_require_found(bit);
  }
}

TEST_CASE("EveryTruncationOfACertificateIsUnreadable") {
  const std::string& bytes = small_certificate();
  for (std::size_t size = 0; size < bytes.size(); size += 7) {
    REQUIRE(example::verify(bytes.substr(0, size)).status == VerificationStatus::unreadable);
  }
}

TEST_CASE("EveryChangedValueIsFound") {
  std::vector<json::json_pointer> leaves;
  collect_leaves(json::parse(small_certificate()), json::json_pointer(), leaves);
  REQUIRE(leaves.size() > 200);
  for (const json::json_pointer& leaf : leaves) {
    require_found(
        example::changed(small_certificate(), [&](json& r) { r[leaf] = other_than(r.at(leaf)); }),
        leaf.to_string());
  }
}

TEST_CASE("AChangedFieldIsNamed") {
  const Verification v = example::verify(example::changed(example::good().certificate, [](json& r) {
    r["facts"]["dwell"]["value"]["in_band_s"] = 1e6;
    r["facts"]["note"] = r["facts"]["room.name"];
  }));
  CHECK(v.status == VerificationStatus::not_proved);
  CHECK(lines_of(v, LineKind::failed).find("altered after signing: dwell\n") != std::string::npos);
  CHECK(lines_of(v, LineKind::failed).find("added after signing: note\n") != std::string::npos);
}

TEST_CASE("AnySpellingButTheCanonicalOneIsUnreadable") {
  const std::string& bytes = example::good().certificate;
  const auto unreadable = [](const std::string& other) {
    return example::verify(other).status == VerificationStatus::unreadable;
  };
  CHECK(unreadable(bytes + "\n"));
  CHECK(unreadable(" " + bytes));
  CHECK(unreadable(json::parse(bytes).dump(1)));
  const auto replaced = [&](const std::string& from, const std::string& to) {
    std::string other = bytes;
    return other.replace(other.find(from), from.size(), to);
  };
  CHECK(unreadable(replaced("{\"facts\":", "{\"facts\":{},\"facts\":")));
  CHECK(unreadable(replaced("\"simulated\":true", "\"simulated\":true,\"simulated\":true")));
  CHECK(unreadable(replaced("\"signature\":", "\"signature\": ")));
  std::string upper = bytes;
  const std::size_t signature_at = upper.rfind("\"signature\":\"") + 13;
  std::transform(upper.begin() + static_cast<std::ptrdiff_t>(signature_at), upper.end(),
                 upper.begin() + static_cast<std::ptrdiff_t>(signature_at),
                 [](char c) { return c >= 'a' && c <= 'f' ? static_cast<char>(c - 32) : c; });
  CHECK(unreadable(upper));
}

TEST_CASE("HoursInflatedByTheKeyHolderAreFoundFromTheReadings") {
  const std::string failures =
      failures_of_resigned([](CertificateFacts& f) { f.dwell.in_band_seconds += 3600; });
  CHECK(failures ==
        "dwell accounting (61.00 h in the current run): not what the readings give: "
        "dwell.in_band_s: signed 219600, recomputed 216000\n");
}

TEST_CASE("AVerdictTheReadingsDoNotGiveIsFound") {
  auto readings = example::readings();
  for (std::size_t i = 200; i < 220; ++i) {
    readings[i].record.raw_counts[0] = 1200;  // a cold night
  }
  const auto issued = example::issue(example::declared(), readings);
  REQUIRE(issued.facts.assessment.verdict == analysis::readiness::Verdict::not_ready);
  const std::string failures = failures_of_resigned(
      [](CertificateFacts& f) {
        f.assessment.verdict = analysis::readiness::Verdict::ready;
        for (auto& gate : f.assessment.gates) {
          gate.state = analysis::readiness::GateState::met;
        }
      },
      issued.readings_text, issued.facts);
  CHECK(failures.starts_with("verdict \"ready\" with its gates: not what the readings give: "));
  const std::string hidden = failures_of_resigned(
      [](CertificateFacts& f) {
        f.excursions.clear();
        f.excursions_total = 0;
      },
      issued.readings_text, issued.facts);
  CHECK(hidden.starts_with("excursions (0): not what the readings give: "));
}

TEST_CASE("AnExpiredCalibrationBehindAMetGateIsFound") {
  const std::string failures = failures_of_resigned(
      [](CertificateFacts& f) { f.instruments[0].channel.calibration_due_at = example::kStart; });
  CHECK(failures.starts_with("verdict \"ready\" with its gates: not what the readings give: "));
}

TEST_CASE("ChartsTimeErrorsAndUnknownTimeAreRecomputed") {
  CHECK(
      failures_of_resigned([](CertificateFacts& f) { f.chart.series[1].buckets[7]->high += 0.01; })
          .starts_with("numbers of the charts: not what the readings give: "
                       "chart.series.1.buckets.7.2: signed"));
  CHECK(failures_of_resigned([](CertificateFacts& f) {
          f.largest_time_error = analysis::base::Micros{1000};
        }).starts_with("largest time error: not what the readings give"));
  CHECK(failures_of_resigned([](CertificateFacts& f) {
          f.unknown_time_total += 1;
        }).starts_with("unknown time (1 stretches): not what"));
}

TEST_CASE("ARowLeftOutByTheKeyHolderIsFound") {
  auto readings = example::readings();
  readings.erase(readings.begin() + 99);
  const auto issued = example::issue(example::declared(), readings);
  REQUIRE(issued.facts.lost_records.size() == 1);
  const std::string failures = failures_of_resigned(
      [](CertificateFacts& f) { f.lost_records.clear(); }, issued.readings_text, issued.facts);
  CHECK(failures.starts_with("readings, line 101: box box-1, boot 1: sequence 100 to 100"));
}

TEST_CASE("ReadingsSwappedForOthersNeedANewSignature") {
  auto warmer = example::readings();
  warmer[50].record.raw_counts[0] += 1;
  const auto other = example::issue(example::declared(), warmer);
  const Verification v = example::verify(example::good().certificate, &other.readings_text);
  CHECK(v.status == VerificationStatus::not_proved);
  const std::string mixed = example::changed(example::good().certificate, [&](json& r) {
    r["facts"]["readings"] = json::parse(other.certificate)["facts"]["readings"];
  });
  CHECK(example::verify(mixed, &other.readings_text).status == VerificationStatus::not_proved);
}
