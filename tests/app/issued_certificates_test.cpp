// What people see of certificates: notes with photos and of laying, a certificate that takes the
// place of another, pages of copies. One job folder, as its commands see it.
#include "logger/app/commands/certificates/issued_certificates.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/commands/notes/photo_files.hpp"
#include "logger/verify/verify_files.hpp"
#include "tests/app/scratch_folder.hpp"

using namespace logger::app;
using analysis::base::UtcMicros;
namespace store = logger::store;

namespace {

constexpr UtcMicros kStart{1'772'348'400'000'000};  // 2026-03-01T07:00:00Z
constexpr int kHours = 3;

std::string text_of(const path& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

void write(const path& file, const std::string& text) {
  std::ofstream(file, std::ios::binary | std::ios::trunc) << text;
}

bool holds(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

std::string at_hour(double hour) {
  return analysis::base::rfc3339_from_utc(kStart + analysis::base::micros_from_hours(hour));
}

struct Said {
  int status = -1;
  std::string out;
  std::string err;
};

template <class Command, class Options>
Said said_by(Command command, const Options& options) {
  std::ostringstream out, err;
  const int status = command(options, Console{out, err});
  return {status, out.str(), err.str()};
}

void check_refused(const Said& said, int status, const std::string& part) {
  INFO(said.out << said.err);
  CHECK(said.status == status);
  CHECK(std::ranges::count(said.err, '\n') == 1);
  CHECK(holds(said.err, part));
}

// A room with three hours of readings every ten minutes, of a simulated box.
class RecordedJob {
 public:
  RecordedJob() {
    NewOptions options;
    options.job_dir = dir();
    REQUIRE(said_by(new_job, options).status == kExitDone);
    auto opened = open_job(dir(), true);
    REQUIRE(opened);
    REQUIRE(opened.value().store->mark_simulated(true));
    store::BoxBatch batch{opened.value().job.boxes.front().id};
    for (int i = 0; i <= kHours * 6; ++i) {
      store::Record record;
      record.id = {1, i + 1};
      record.ticks_ms = 600'000LL * i;
      record.raw_counts.fill(2000);
      record.raw_counts[1] = 5200;
      batch.records.push_back(record);
    }
    for (const std::int64_t ticks : {0LL, 3'600'000LL * kHours}) {
      batch.exchanges.push_back(
          {1, {ticks, kStart + std::chrono::milliseconds(ticks), std::chrono::milliseconds(20)}});
    }
    REQUIRE(opened.value().store->commit(
        {.boxes = {batch}, .seen_at = kStart + std::chrono::hours(kHours + 1)}));
  }

  [[nodiscard]] path dir() const { return scratch_.path() / "job"; }
  [[nodiscard]] path outside(const std::string& name) const { return scratch_.path() / name; }
  [[nodiscard]] path certificate(const std::string& number) const {
    return JobFolder{dir()}.certificates() / (number + ".json");
  }

  [[nodiscard]] Said note(NoteOptions options) const {
    options.job_dir = dir();
    options.by = "Ada Invented";
    return said_by(logger::app::note, options);
  }
  [[nodiscard]] Said laying(const std::string& step, double hour) const {
    NoteOptions options;
    options.kind = "laying";
    options.subject = step;
    options.at = at_hour(hour);
    return note(options);
  }
  [[nodiscard]] Said certify(const std::string& supersedes = "",
                             const std::string& reason = "") const {
    CertifyOptions options;
    options.job_dir = dir();
    options.room = "living-room";
    options.to = at_hour(kHours);
    options.supersedes = supersedes;
    options.reason = reason;
    return said_by(logger::app::certify, options);
  }
  [[nodiscard]] Said verify(const std::string& number, const std::vector<path>& newer,
                            const path& photos = {}) const {
    logger::verify::VerifyOptions options;
    options.certificate = certificate(number);
    options.key = JobFolder{dir()}.public_key();
    options.newer = newer;
    options.photos = photos;
    std::ostringstream out, err;
    const int status = verify_files(options, {"dwellog", out, err});
    return {status, out.str(), err.str()};
  }
  [[nodiscard]] std::vector<store::Event> issues() const {
    auto opened = open_job(dir(), false);
    REQUIRE(opened);
    std::vector<store::Event> events = opened.value().store->events(0).value();
    std::erase_if(events,
                  [](const store::Event& event) { return event.kind != "certificate_issued"; });
    return events;
  }

 private:
  ScratchFolder scratch_;
};

const std::string kJpeg = "\xFF\xD8\xFF\xE0 invented";
const std::string kPng = "\x89PNG\r\n\x1A\n invented";

}  // namespace

TEST_CASE("AnIssueIsAnEventAndItsFilesLieBesideEachOther") {
  const RecordedJob job;
  const Said said = job.certify();
  INFO(said.err);
  REQUIRE(said.status == kExitDone);
  CHECK(holds(said.out, "living-room-1.html"));
  const std::string base = job.certificate("living-room-1").replace_extension("").string();
  for (const char* kind : {".json", ".pdf", ".pdf.sha256", ".html", ".html.sha256"}) {
    INFO(kind);
    CHECK(std::filesystem::file_size(base + kind) > 60);
  }
  CHECK(holds(text_of(base + ".html.sha256"), "  living-room-1.html\n"));
  const auto issues = job.issues();
  REQUIRE(issues.size() == 1);
  CHECK(issues[0].subject == "living-room-1");
  const auto detail = nlohmann::json::parse(issues[0].detail_json);
  const auto read = analysis::certificate::read_certificate(text_of(base + ".json"));
  REQUIRE(read);
  CHECK(detail["sha256"] == read.value().sha256_hex);
  CHECK(detail["supersedes"].is_null());
  // A number whose certificate is gone is not given again.
  std::filesystem::remove(base + ".json");
  REQUIRE(job.certify().status == kExitDone);
  CHECK(job.issues().back().subject == "living-room-2");
}

TEST_CASE("ACertificateTakesThePlaceOfAnotherOnceAndForAReason") {
  const RecordedJob job;
  REQUIRE(job.certify().status == kExitDone);
  const std::string before = text_of(job.certificate("living-room-1"));
  check_refused(job.certify("living-room-1"), kExitInput, "--reason");
  check_refused(job.certify("", "why"), kExitInput, "--supersedes");
  check_refused(job.certify("living-room-9", "why"), kExitInput, "living-room-9");
  check_refused(job.certify("../living-room-1", "why"), kExitInput, "expected a number");
  check_refused(job.certify("living-room-1", "two\nlines"), kExitInput, "--reason");
  const Said said = job.certify("living-room-1", "the client was named wrongly");
  INFO(said.err);
  REQUIRE(said.status == kExitDone);
  CHECK(holds(said.out, "supersedes   living-room-1"));
  check_refused(job.certify("living-room-1", "again"), kExitInput,
                "living-room-2 took its place already");
  CHECK(text_of(job.certificate("living-room-1")) == before);
  CHECK(nlohmann::json::parse(job.issues().back().detail_json)["supersedes"] == "living-room-1");
  const std::string html = text_of(job.certificate("living-room-2").replace_extension(".html"));
  CHECK(holds(html, "Takes the place of certificate No. living-room-1"));
  CHECK(holds(html, "the client was named wrongly"));

  const Said newer = job.verify("living-room-1", {job.certificate("living-room-2")});
  CHECK(newer.status == kExitDone);
  CHECK(holds(newer.out, "proved: SUPERSEDED: certificate living-room-2, issued"));
  CHECK(holds(newer.out, "the client was named wrongly"));
  CHECK(holds(job.verify("living-room-2", {job.certificate("living-room-1")}).out,
              "note: certificate living-room-1, issued"));
  const auto issued = certificates_in(JobFolder{job.dir()}.certificates());
  REQUIRE(issued.size() == 2);
  CHECK(newest_of_room(issued, "living-room")->read.facts.number == "living-room-2");
  CHECK(newest_of_room(issued, "kitchen") == nullptr);
}

TEST_CASE("OnlyAnIntactCertificateOfTheRoomIsSuperseded") {
  const RecordedJob job;
  REQUIRE(job.certify().status == kExitDone);
  std::string text = text_of(job.certificate("living-room-1"));
  text.replace(text.find("Installer's name"), 9, "Installed");
  write(job.certificate("living-room-1"), text);
  check_refused(job.certify("living-room-1", "why"), kExitInput, "altered after it was signed");
}

TEST_CASE("PhotosAreKeptUnderTheirDigestAndListedInTheCertificate") {
  const RecordedJob job;
  write(job.outside("a.JPG"), kJpeg);
  write(job.outside("b.jpg"), kPng);  // by its content, not by its name
  NoteOptions gate;
  gate.kind = "gate";
  gate.subject = "flat";
  gate.answer = "met";
  gate.at = at_hour(1.0);
  gate.photos = {job.outside("a.JPG"), job.outside("b.jpg")};
  const Said said = job.note(gate);
  INFO(said.err);
  REQUIRE(said.status == kExitDone);
  CHECK(holds(said.out, "2 photos"));
  NoteOptions remark;
  remark.kind = "remark";
  remark.subject = "the window was open";
  remark.at = at_hour(1.5);
  remark.photos = {job.outside("a.JPG")};
  REQUIRE(job.note(remark).status == kExitDone);
  const path photos = JobFolder{job.dir()}.photos();
  CHECK(std::ranges::count_if(std::filesystem::directory_iterator(photos),
                              [](const auto&) { return true; }) == 2);
  REQUIRE(job.certify().status == kExitDone);
  const auto read =
      analysis::certificate::read_certificate(text_of(job.certificate("living-room-1")));
  REQUIRE(read);
  const auto& listed = read.value().facts.photos;
  REQUIRE(listed.size() == 3);
  CHECK(listed[0].subject == "gate.flat");
  CHECK(listed[2].subject == "remark");
  CHECK(text_of(photos / (listed[0].sha256_hex + ".jpg")) == kJpeg);
  CHECK(text_of(photos / (listed[1].sha256_hex + ".png")) == kPng);
  CHECK(listed[1].bytes == static_cast<std::int64_t>(kPng.size()));

  Said verified = job.verify("living-room-1", {}, photos);
  CHECK(verified.status == kExitDone);
  CHECK(holds(verified.out, "proved: photo " + listed[0].sha256_hex.substr(0, 8)));
  CHECK_FALSE(holds(verified.out, "is not there"));
  std::string changed = kJpeg;
  changed.back() = 'D';
  write(photos / (listed[0].sha256_hex + ".jpg"), changed);
  write(photos / "other.png", "something else");
  verified = job.verify("living-room-1", {}, photos);
  CHECK(verified.status == kExitDone);
  CHECK(holds(verified.out,
              "not proved: photo " + listed[0].sha256_hex.substr(0, 8) + " of gate.flat, "));
  CHECK(holds(verified.out, ".jpg differs from the photo that it is named after"));
  CHECK(holds(verified.out, "file other.png is none of the photos"));
  // What was changed is not taken for the photo again, and nothing is noted.
  check_refused(job.note(gate), kExitCouldNotDo, "holds other bytes than its name says");
}

TEST_CASE("FilesThatAreNoPhotosOfANoteAreRefusedBeforeAnythingIsNoted") {
  const RecordedJob job;
  write(job.outside("empty.jpg"), "");
  write(job.outside("a.jpg"), kJpeg);
  const auto with = [&](const std::string& kind, std::vector<path> photos) {
    NoteOptions options;
    options.kind = kind;
    options.subject = kind == "calibration" ? "air-temperature" : "text";
    options.photos = std::move(photos);
    return job.note(options);
  };
  check_refused(with("remark", {job.outside("none.jpg")}), kExitInput, "none.jpg");
  check_refused(with("remark", {job.outside("empty.jpg")}), kExitInput, "0 bytes");
  write(job.outside("notes.jpg"), "only called a photo");
  check_refused(with("remark", {job.outside("a.jpg"), job.outside("notes.jpg")}), kExitInput,
                "notes.jpg is no photo by its first bytes; expected JPEG, PNG, WebP, HEIC or TIFF");
  check_refused(with("remark", {job.outside("a.jpg"), job.outside("a.jpg")}), kExitInput, "twice");
  check_refused(with("calibration", {job.outside("a.jpg")}), kExitInput, "--photo");
  auto opened = open_job(job.dir(), false);
  REQUIRE(opened);
  CHECK(opened.value().store->notes(0).value().empty());
  std::filesystem::resize_file(job.outside("a.jpg"), 50'000'001);
  check_refused(with("remark", {job.outside("a.jpg")}), kExitInput, "50000001 bytes");
}

TEST_CASE("AKindOfPhotoIsToldByItsFirstBytes") {
  CHECK(photo_kind_from(kJpeg) == "jpg");
  CHECK(photo_kind_from(kPng) == "png");
  CHECK(photo_kind_from(std::string("\0\0\0\x18", 4) + "ftypheic") == "heic");
  CHECK(photo_kind_from("RIFF....WEBP") == "webp");
  CHECK(photo_kind_from(std::string("II*\0\x08\0\0\0", 8)) == "tif");
  CHECK(photo_kind_from(std::string("MM\0*\0\0\0\x08", 8)) == "tif");
  for (const char* bytes : {"%PDF-1.7", "something", "", "II*", "\xFF\xD8", "GIF89a", "<svg>"}) {
    CHECK_FALSE(photo_kind_from(bytes));
  }
}

TEST_CASE("LayingIsNotedInItsOrderAndTheCertificateSaysWhereItsPeriodLies") {
  const RecordedJob job;
  check_refused(job.laying("finished", 2.0), kExitInput, "note first when it began");
  check_refused(job.laying("halved", 2.0), kExitInput, "expected began or finished");
  REQUIRE(job.laying("began", 1.0).status == kExitDone);
  check_refused(job.laying("finished", 0.5), kExitInput, "expected a time after that");
  REQUIRE(job.laying("finished", 2.0).status == kExitDone);
  const Said said = job.certify();
  REQUIRE(said.status == kExitDone);
  CHECK(holds(said.out, "conditions   cannot tell (laying had begun)"));
  const std::string html = text_of(job.certificate("living-room-1").replace_extension(".html"));
  CHECK(holds(html, "not whether to lay"));
  CHECK(holds(html, "before, during and after laying"));
  CHECK(holds(job.verify("living-room-1", {}).out, "note: laying had begun"));
}

TEST_CASE("PagesAreDrawnFromAnyIntactCertificateAndOverNoFile") {
  const RecordedJob job;
  REQUIRE(job.certify().status == kExitDone);
  RedactOptions taken;
  taken.certificate = job.certificate("living-room-1");
  taken.personal = true;
  taken.output = job.outside("copy.json");
  REQUIRE(said_by(redact, taken).status == kExitDone);
  PrintOptions options;
  options.certificate = taken.output;
  const Said said = said_by(print_certificate, options);
  INFO(said.err);
  REQUIRE(said.status == kExitDone);
  CHECK(holds(said.out, "prove nothing by themselves"));
  const std::string html = text_of(job.outside("copy.html"));
  CHECK(holds(html, "Redacted copy: "));
  CHECK(holds(html, "(redacted)"));
  CHECK_FALSE(holds(html,
                    "Installer"  // the label is ours
                    "&#39;s name"));
  CHECK(text_of(job.outside("copy.pdf")).starts_with("%PDF-"));
  check_refused(said_by(print_certificate, options), kExitInput, "is there already");

  // The same facts and options give the bytes that certify gave.
  options.certificate = job.certificate("living-room-1");
  options.pdf = job.outside("again.pdf");
  REQUIRE(said_by(print_certificate, options).status == kExitDone);
  CHECK(text_of(options.pdf) ==
        text_of(job.certificate("living-room-1").replace_extension(".pdf")));

  std::string text = text_of(taken.output);
  text.replace(text.find("living-room-1"), 13, "living-room-7");
  write(job.outside("altered.json"), text);
  options.certificate = job.outside("altered.json");
  options.pdf = job.outside("altered.pdf");
  check_refused(said_by(print_certificate, options), kExitNot, "no pages were drawn");
  CHECK_FALSE(std::filesystem::exists(options.pdf));
}

TEST_CASE("PrintNamesTheCertificateThatTookThePlace") {
  const RecordedJob job;
  REQUIRE(job.certify().status == kExitDone);
  REQUIRE(job.certify("living-room-1", "why").status == kExitDone);
  PrintOptions options;
  options.certificate = job.certificate("living-room-1");
  options.html = job.outside("old.html");
  CHECK(holds(said_by(print_certificate, options).out, "superseded   by living-room-2"));
}
