#include <fstream>
#include <nlohmann/json.hpp>

#include "logger/app/commands/export_rows.hpp"
#include "logger/app/commands/notes/record_note.hpp"
#include "logger/app/room/room_tracker.hpp"
#include "tests/site/site_bench.hpp"

using namespace site_tests;
using logger::store::ErrorCode;
using logger::web::ChartQuery;
using logger::web::NoteRequest;
using nlohmann::json;

namespace {

const std::string kJpeg = "\xFF\xD8\xFF\xE0 invented";

struct SiteUnderTest {
  SiteBench bench;
  JobSite site{(bench.add_minutes(0, 200), bench.open()), [](const std::string&) {}};
};

template <class T>
ErrorCode code_of(const logger::store::Result<T>& result) {
  REQUIRE_FALSE(result);
  return result.error().code;
}

std::size_t files_in(const std::filesystem::path& folder) {
  std::error_code error;
  std::size_t files = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder, error)) {
    files += entry.path().empty() ? 0 : 1;
  }
  return files;
}

}  // namespace

TEST_CASE("Before the first snapshot there is a document without rooms") {
  SiteUnderTest under;
  const auto snapshot = under.site.snapshot();
  REQUIRE(snapshot);
  CHECK(snapshot->version == 1);
  CHECK(snapshot->status["rooms"].empty());
  CHECK(snapshot->status["simulated"] == true);
  CHECK_FALSE(snapshot->shared_status.contains("job"));
}

TEST_CASE("A started site shows what is stored and follows what is noted") {
  SiteUnderTest under;
  under.site.start();
  while (under.site.snapshot()->version < 2) {
    std::this_thread::yield();
  }
  const auto snapshot = under.site.snapshot();
  CHECK(snapshot->status["rooms"].size() == 2);
  CHECK(snapshot->made_at == kBegin + Micros{200 * kMinuteMs * 1000});
  NoteRequest note;
  note.kind = "remark";
  note.room = "hall";
  note.remark = "swept";
  REQUIRE(under.site.add_note(note, kCrew));
  while (under.site.snapshot()->status["notes"].empty()) {
    std::this_thread::yield();
  }
  CHECK(under.site.snapshot()->status["notes"][0]["text"] == "swept");
}

TEST_CASE("A note over the page is the note of the command line") {
  SiteUnderTest under;
  const auto digest = under.site.keep_photo(kJpeg);
  REQUIRE(digest);
  NoteRequest note;
  note.kind = "gate";
  note.room = "hall";
  note.subject = "clean";
  note.answer = "met";
  note.remark = "swept twice";
  note.photo_sha256_hex = {digest.value()};
  note.at = kBegin + micros_from_hours(1);
  const auto by_page = under.site.add_note(note, kCrew);
  REQUIRE(by_page);
  {
    std::ofstream(under.bench.folder().root / "photo.jpg", std::ios::binary) << kJpeg;
    auto opened = under.bench.open(true);
    NoteOptions options;
    options.kind = "gate";
    options.subject = "clean";
    options.answer = "met";
    options.room = "hall";
    options.by = "Xcrew";
    options.at = "2026-03-02T10:00:00Z";
    options.remark = "swept twice";
    options.photos = {under.bench.folder().root / "photo.jpg"};
    REQUIRE(record_note(opened, options));
  }
  const auto opened = under.bench.open();
  const auto notes = opened.store->notes(0);
  REQUIRE(notes);
  REQUIRE(notes.value().size() == 2);
  const auto& [one, other] = std::pair(notes.value()[0], notes.value()[1]);
  CHECK(one.id == by_page.value().id);
  CHECK(one.content_json == other.content_json);
  CHECK(one.kind == other.kind);
  CHECK(one.room_id == other.room_id);
  CHECK(one.by == other.by);
  CHECK(one.at == other.at);
  CHECK(files_in(under.bench.folder().photos()) == 1);
}

TEST_CASE("The temperature of the cartons belongs to a delivery") {
  SiteUnderTest under;
  NoteRequest note;
  note.kind = "delivery";
  note.room = "hall";
  note.carton_celsius = 17.78;
  REQUIRE(under.site.add_note(note, kCrew));
  CHECK(under.site.notes_json(0, 10).value().find("cartons at 17.8 °C") != std::string::npos);
  note.carton_celsius = 64.0;  // of Fahrenheit, perhaps
  CHECK(code_of(under.site.add_note(note, kCrew)) == ErrorCode::invalid_input);
  note.kind = "laying";
  note.answer = "began";
  note.carton_celsius = 17.78;
  CHECK(code_of(under.site.add_note(note, kCrew)) == ErrorCode::invalid_input);
}

TEST_CASE(
    "Each kind of note is taken, and what is not in order is refused without options' dashes") {
  SiteUnderTest under;
  const auto noted = [&](const std::string& kind, const std::string& subject,
                         const std::string& answer, const std::string& remark,
                         const std::string& room = "hall") {
    NoteRequest note;
    note.kind = kind;
    note.room = room;
    note.subject = subject;
    note.answer = answer;
    note.remark = remark;
    return under.site.add_note(note, kCrew);
  };
  CHECK(noted("delivery", "", "", ""));
  CHECK(noted("placement", "core", "", "in the middle"));
  CHECK(noted("laying", "", "began", ""));
  CHECK(noted("remark", "", "", "heater on"));
  CHECK(noted("gate", "flat", "not-met", ""));
  CHECK(code_of(noted("gate", "round", "met", "")) == ErrorCode::invalid_input);
  CHECK(code_of(noted("gate", "flat", "perhaps", "")) == ErrorCode::invalid_input);
  CHECK(code_of(noted("remark", "", "", "")) == ErrorCode::invalid_input);
  CHECK(code_of(noted("calibration", "t", "", "")) == ErrorCode::invalid_input);
  CHECK(code_of(noted("acknowledgement", "x", "", "")) == ErrorCode::invalid_input);
  const auto without_room = noted("delivery", "", "", "", "");
  CHECK(code_of(without_room) == ErrorCode::invalid_input);
  CHECK(without_room.error().context == "room is needed; job.json has hall, attic");
  CHECK(code_of(noted("delivery", "", "", std::string(501, 'x'))) == ErrorCode::invalid_input);
  const json page = json::parse(under.site.notes_json(0, 2).value());
  CHECK(page["notes"].size() == 2);
  CHECK(page["notes"][0]["kind"] == "gate");
  const json rest =
      json::parse(under.site.notes_json(page["next_before"].get<std::int64_t>(), 10).value());
  CHECK(rest["notes"].size() == 3);
  CHECK(rest["next_before"].is_null());
}

TEST_CASE("What a note or a question names wrongly is said on one line with what there is") {
  SiteUnderTest under;
  NoteRequest note;
  note.kind = "gate";
  note.room = "hall";
  note.subject = "round";
  note.answer = "met";
  const auto unknown = under.site.add_note(note, kCrew);
  REQUIRE_FALSE(unknown);
  CHECK(unknown.error().context.starts_with("gate round: expected one of "));
  CHECK(unknown.error().context.find(", flat") != std::string::npos);
  CHECK(unknown.error().context.find('\n') == std::string::npos);
  note.subject = "flat";
  for (const char* at : {"2019-12-31T23:59:59Z", "1970-01-01T00:00:00Z", "2999-01-01T00:00:00Z"}) {
    note.at = analysis::base::utc_from_rfc3339(at);
    CHECK(code_of(under.site.add_note(note, kCrew)) == ErrorCode::invalid_input);
  }
  note.at = analysis::base::utc_from_rfc3339("2020-01-01T00:00:00Z");
  CHECK(under.site.add_note(note, kCrew));
  CHECK(under.site.chart_svg({"cellar", "core", 72}).error().context ==
        "room cellar: expected one of hall, attic");
  CHECK(under.site.chart_svg({"hall", "cores", 72}).error().context ==
        "chart cores: expected one of climate-temperature, climate-rh, core, slab");
  logger::web::SeriesQuery series;
  series.room = "hall";
  series.channel = "none";
  CHECK(
      under.site.series_json(series).error().context.starts_with("channel none: expected one of "));
}

TEST_CASE("Only pictures are kept, under their digest, and given back whole") {
  SiteUnderTest under;
  for (const std::string& bytes :
       {kJpeg, std::string("\x89PNG\r\n\x1A\n..."), std::string("RIFF....WEBPVP8 ")}) {
    const auto digest = under.site.keep_photo(bytes);
    REQUIRE(digest);
    CHECK(digest.value() == sha256_hex_of(bytes));
    const auto given = under.site.photo(digest.value());
    REQUIRE(given);
    CHECK(given.value().bytes == bytes);
    CHECK(given.value().content_type.starts_with("image/"));
  }
  for (const char* bytes : {"<svg onload=x>", "%PDF-1.7", "GIF89a", "\xFF\xD8", "<html>"}) {
    CHECK(code_of(under.site.keep_photo(bytes)) == ErrorCode::invalid_input);
  }
  CHECK(files_in(under.bench.folder().photos()) == 3);
  for (const std::string& name : {std::string("../job.json"), std::string(64, 'a'), std::string(),
                                  std::string(64, '/'), std::string(63, 'a') + "*"}) {
    CHECK(code_of(under.site.photo(name)) == ErrorCode::not_found);
  }
  NoteRequest note;
  note.kind = "remark";
  note.room = "hall";
  note.remark = "see photo";
  note.photo_sha256_hex = {std::string(64, 'b')};
  CHECK(code_of(under.site.add_note(note, kCrew)) == ErrorCode::invalid_input);
  CHECK(json::parse(under.site.notes_json(0, 10).value())["notes"].empty());
}

TEST_CASE("A kept photo whose bytes were changed is not given out") {
  SiteUnderTest under;
  const auto digest = under.site.keep_photo(kJpeg);
  REQUIRE(digest);
  std::ofstream(under.bench.folder().photos() / (digest.value() + ".jpg"), std::ios::binary)
      << kJpeg << "more";
  CHECK(code_of(under.site.photo(digest.value())) == ErrorCode::corrupt);
}

TEST_CASE("Files of certificates are looked up by number and kind, never by path") {
  SiteUnderTest under;
  std::filesystem::create_directories(under.bench.folder().certificates());
  for (const char* name : {"hall-1.json", "hall-1.pdf", "hall-1.pdf.sha256", "hall-1.html.sha256",
                           "hall-1.readings.csv"}) {
    std::ofstream(under.bench.folder().certificates() / name) << name << '\n';
  }
  const auto given = under.site.certificate_file("hall-1", "csv");
  REQUIRE(given);
  CHECK(given.value().bytes == "hall-1.readings.csv\n");
  CHECK(given.value().file_name == "hall-1.readings.csv");
  CHECK(under.site.certificate_file("hall-1", "sha256s").value().bytes ==
        "hall-1.pdf.sha256\nhall-1.html.sha256\n");
  const std::pair<const char*, const char*> absent[] = {
      {"hall-2", "json"},         {"../job", "json"}, {"hall-1", "exe"},
      {"hall-1.readings", "csv"}, {"", "json"},       {"hall-1/../hall-1", "json"},
      {"hall-1", "log"}};
  for (const auto& [number, kind] : absent) {
    INFO(number << ' ' << kind);
    CHECK(code_of(under.site.certificate_file(number, kind)) == ErrorCode::not_found);
  }
}

TEST_CASE("Charts are one element in classes of colours; what is not measured is not drawn") {
  SiteUnderTest under;
  for (const char* chart : {"climate-temperature", "climate-rh", "core"}) {
    for (const int hours : {0, 1, 72, 336}) {
      const auto svg = under.site.chart_svg({"hall", chart, hours});
      REQUIRE(svg);
      CHECK(svg.value().starts_with("<svg"));
      CHECK(svg.value().find_last_of('<') == svg.value().rfind("</svg>"));
      CHECK(svg.value().find(" id=") == std::string::npos);
      CHECK(svg.value().find("style=") == std::string::npos);
      CHECK(svg.value().find("s-curve") != std::string::npos);
    }
  }
  CHECK(under.site.chart_svg({"hall", "core", 1}).value() !=
        under.site.chart_svg({"hall", "core", 72}).value());
  CHECK(code_of(under.site.chart_svg({"attic", "core", 72})) == ErrorCode::not_found);
  CHECK(code_of(under.site.chart_svg({"hall", "slab", 72})) == ErrorCode::not_found);
  CHECK(code_of(under.site.chart_svg({"cellar", "core", 72})) == ErrorCode::not_found);
  CHECK(code_of(under.site.chart_svg({"hall", "../core", 72})) == ErrorCode::not_found);
  CHECK(code_of(under.site.chart_svg({"hall", "core", -1})) == ErrorCode::invalid_input);
}

TEST_CASE("What was done and refused lies in the evidence log") {
  SiteUnderTest under;
  REQUIRE(under.site.audit({kBegin, "u3", "note", "gate 4", "192.0.2.1"}));
  REQUIRE(under.site.audit({kBegin, "", "login-refused", "password", "192.0.2.9"}));
  REQUIRE(under.site.audit({kBegin, "", "login-refused", "password", "192.0.2.9"}));
  CHECK(json::parse(under.site.audit_json(0, 10).value())["entries"].size() == 2);
  under.site.stop();  // writes what is counted
  const json entries = json::parse(under.site.audit_json(0, 10).value())["entries"];
  REQUIRE(entries.size() == 3);
  CHECK(entries[0]["count"] == 1);
  CHECK(entries[2]["principal"] == "u3");
  CHECK(entries[2]["detail"] == "gate 4");
}

namespace {

NoteRequest gate_request(const std::string& gate) {
  NoteRequest note;
  note.kind = "gate";
  note.room = "hall";
  note.subject = gate;
  return note;
}

std::string refusal_of(SiteUnderTest& under, const NoteRequest& note) {
  const auto added = under.site.add_note(note, kCrew);
  REQUIRE_FALSE(added);
  CHECK(added.error().code == ErrorCode::invalid_input);
  CHECK(added.error().context.find('\n') == std::string::npos);
  CHECK(added.error().context.find("--") == std::string::npos);
  return added.error().context;
}

json newest_content(SiteUnderTest& under) {
  const auto opened = under.bench.open();
  return json::parse(opened.store->notes(0).value().back().content_json);
}

}  // namespace

TEST_CASE("Gates are answered over the page with the words and grounds of the command line") {
  SiteUnderTest under;
  NoteRequest heating = gate_request("heating_kind");
  heating.choice = "water";
  REQUIRE(under.site.add_note(heating, kCrew));
  const json by_page = newest_content(under);
  CHECK(by_page["state"] == "open");
  {
    auto opened = under.bench.open(true);
    NoteOptions options;
    options.kind = "gate";
    options.subject = "heating_kind";
    options.gate.heating = "water";
    options.room = "hall";
    options.by = "Xcrew";
    REQUIRE(record_note(opened, options));
  }
  CHECK(newest_content(under) == by_page);
  heating.approval = "supplier's letter, 2026-03-01";
  REQUIRE(under.site.add_note(heating, kCrew));
  CHECK(newest_content(under)["state"] == "met");
  NoteRequest barrier = gate_request("vapour_barrier");
  barrier.choice = "none";
  CHECK(refusal_of(under, barrier).starts_with("below ``: expected what lies below, one of"));
  barrier.below = "concrete";
  REQUIRE(under.site.add_note(barrier, kCrew));
  CHECK(newest_content(under)["answers"]["below"] == "concrete");
}

TEST_CASE("An answer of another gate, an unknown one and one of no gate are refused by name") {
  SiteUnderTest under;
  NoteRequest note = gate_request("heating_kind");
  note.choice = "warm";
  CHECK(refusal_of(under, note) ==
        "heating `warm`: expected heating none|radiators|air|water|electric");
  note.choice = "";
  note.approval = "somebody";
  CHECK(refusal_of(under, note).starts_with("approval goes with an answer that it opens"));
  note = gate_request("flat");
  note.choice = "level";
  CHECK(refusal_of(under, note).starts_with("choice `level`: gate flat takes lines"));
  note = gate_request("");
  note.kind = "delivery";
  note.choice = "water";
  CHECK(refusal_of(under, note) == "choice `water`: belongs to a note of gate, not of delivery");
  note.choice = "";
  note.lines = {"0 cm=0 mm, 50 cm=2 mm"};
  CHECK(refusal_of(under, note).starts_with("line belongs to a note of gate"));
}

TEST_CASE("Gaps typed on the page decide flatness, and a line that can't be read says which") {
  SiteUnderTest under;
  NoteRequest note = gate_request("flat");
  // 9 mm under a straightedge of 1 m (the rest is 0) is far beyond the usual 3 mm.
  note.lines = {"0 cm=0 mm, 50 cm=9 mm, 100 cm=0 mm"};
  REQUIRE(under.site.add_note(note, kCrew));
  CHECK(newest_content(under)["state"] == "not met");
  CHECK(newest_content(under)["readings"]["lines"][0][1]["gap_mm"] == Approx(9.0));
  note.lines = {"0 cm=0 mm, 50 cm"};
  CHECK(refusal_of(under, note) ==
        "line 0 cm=0 mm, 50 cm: `50 cm`; expected PLACE=GAP with units, such as 50 cm=2 mm");
}

TEST_CASE("Every question has the answers that a note takes, and no other gate is asked") {
  SiteUnderTest under;
  const json asked = json::parse(under.site.questions_json().value());
  REQUIRE(asked["rooms"].size() == 2);
  std::size_t answered = 0;
  for (const json& question : asked["questions"]) {
    for (const json& choice : question.value("choices", json::array())) {
      NoteRequest note = gate_request(question["gate"]);
      note.choice = choice["word"];
      note.below = question.contains("below") ? "tile" : "";
      INFO(question["gate"] << " " << choice["word"]);
      REQUIRE(under.site.add_note(note, kCrew));
      const json& source = question.contains("below") ? question["below"]["choices"][2] : question;
      const auto& changed = source["approval_for"];
      note.approval = "maker, 2026-03-01";
      const bool counts =
          std::find(changed.begin(), changed.end(), choice["word"]) != changed.end();
      CHECK(under.site.add_note(note, kCrew).has_value() == counts);
      ++answered;
    }
  }
  CHECK(answered > 20);
  for (const json& room : asked["rooms"]) {
    for (const json& gate : room["gates"]) {
      const auto& all = asked["questions"];
      CHECK(std::any_of(all.begin(), all.end(),
                        [&](const json& question) { return question["gate"] == gate; }));
    }
  }
}

TEST_CASE("A reading of probes over the page is the reading of the command line") {
  SiteUnderTest under;
  NoteRequest note;
  note.kind = "rh-test";
  note.room = "hall";
  note.holes = {"40,74.5,19.5"};
  note.service_hours = 72.0;
  note.thickness_mm = 100.0;
  CHECK(refusal_of(under, note).starts_with("an rh-test needs drilled"));
  note.drilled_at = kBegin - micros_from_hours(100);
  REQUIRE(under.site.add_note(note, kCrew));
  const json content = newest_content(under);
  CHECK(content["holes"][0]["rh_percent"] == 74.5);
  CHECK(content["thickness_mm"] == 100.0);
  note.holes = {"40;74.5"};
  CHECK(refusal_of(under, note).starts_with("hole 40;74.5: expected DEPTH,RH"));
  note = {};
  note.kind = "test-begun";
  note.room = "hall";
  note.subject = "rh";
  CHECK(under.site.add_note(note, kCrew));
}

TEST_CASE("A request that comes again under its key stores nothing more, also after a restart") {
  SiteUnderTest under;
  NoteRequest note;
  note.kind = "remark";
  note.room = "hall";
  note.remark = "heater on";
  note.idempotency_key = "8e03978e";
  note.body = R"({"kind":"remark"})";
  const auto first = under.site.add_note(note, kCrew);
  REQUIRE(first);
  CHECK_FALSE(first.value().was_there);
  JobSite restarted{under.bench.open(), [](const std::string&) {}};
  const auto again = restarted.add_note(note, kCrew);
  REQUIRE(again);
  CHECK(again.value().id == first.value().id);
  CHECK(again.value().was_there);
  CHECK(under.bench.open().store->notes(0).value().size() == 1);
  note.body = R"({"kind":"remark" })";
  CHECK(refusal_of(under, note).starts_with("idempotency-key: note 1 was stored by it"));
  auto other = kCrew;
  other.id = "u99";
  const auto of_other = under.site.add_note(note, other);
  REQUIRE(of_other);
  CHECK(of_other.value().id != first.value().id);
}

TEST_CASE("A key under which a note was refused is free still") {
  SiteUnderTest under;
  NoteRequest note = gate_request("flat");
  note.idempotency_key = "k";
  note.lines = {"?"};
  note.body = "one";
  refusal_of(under, note);
  note.lines = {"0 cm=0 mm, 50 cm=0 mm, 100 cm=0 mm"};
  note.body = "other";
  CHECK(under.site.add_note(note, kCrew));
}
