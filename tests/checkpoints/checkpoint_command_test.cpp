// `dwellog checkpoint` and what inspect says of it: what is signed, what is refused, what is
// queued.
#include "logger/app/checkpoints/checkpoint_signing.hpp"
#include "logger/app/commands/keys/key_files.hpp"
#include "tests/checkpoints/signed_job.hpp"

using namespace checkpoint_tests;
using Catch::Contains;
using Names = std::vector<std::string>;
using timestamp_tests::bytes_of;
using timestamp_tests::write_bytes;

TEST_CASE("A checkpoint of the head is signed once, and copied to hand over") {
  const SignedJob job;
  const std::uint64_t size = job.log_size();
  const fs::path copy = job.file("copy.json");
  const Said first = job.checkpoint(copy);
  INFO(first.out << first.err);
  REQUIRE(first.status == kExitDone);
  CHECK_THAT(first.out, Contains(job.checkpoint_file(size).string()) &&
                            Contains("anchored     0 of 1") && Contains("names no"));
  const std::string text = bytes_of(job.checkpoint_file(size));
  const auto checkpoint = analysis::evidence::checkpoint_from_text(text);
  REQUIRE(checkpoint);
  CHECK(checkpoint.value().head == store_tests::head_of(job.store()));
  CHECK_FALSE(checkpoint.value().simulated);
  CHECK(bytes_of(copy) == text);

  const Said again = job.checkpoint(copy);
  CHECK(again.status == kExitInput);
  CHECK_THAT(again.err, Contains("is there already; expected a new file; nothing was signed"));
  CHECK(bytes_of(job.checkpoint_file(size)) == text);
  CHECK(job.files() == Names{"checkpoint-" + std::to_string(size) + ".json"});

  job.add_rounds(3, 5);
  CHECK(job.checkpoint().status == kExitDone);
  CHECK(job.kept().items.size() == 2);
}

TEST_CASE("Where nothing was read yet there is nothing to sign") {
  const SignedJob job;
  fs::remove(job.store());
  REQUIRE(logger::store::open_sqlite_store(job.store(), {.create = true}));
  const Said said = job.checkpoint();
  CHECK(said.status == kExitInput);
  CHECK_THAT(said.err, Contains("no readings yet"));
}

TEST_CASE("Nothing is signed over a log that was changed below a checkpoint") {
  const SignedJob job;
  REQUIRE(job.checkpoint().status == kExitDone);
  const std::uint64_t first = job.log_size();
  REQUIRE(job.inspect().status != kExitNot);
  job.add_rounds(3, 4);
  const std::uint64_t second = job.log_size();
  const auto refused = [&](const std::string& reason) {
    const Said said = job.checkpoint();
    CHECK(said.status == kExitNot);
    CHECK_THAT(said.err, Contains(reason) && Contains("nothing was signed"));
    CHECK_FALSE(fs::exists(job.checkpoint_file(second)));
    const Said inspected = job.inspect();
    CHECK(inspected.status == kExitNot);
    CHECK_THAT(inspected.out, Contains("NOT WHAT WAS LOGGED") && Contains(reason));
  };
  SECTION("a row was edited") {
    store_tests::tamper(job.store(), "UPDATE events SET detail_json = '{}' WHERE id = 1");
    refused("entr");
  }
  SECTION("an older copy was put back") {
    const fs::path older = job.file("older.sqlite");
    store_tests::add_rounds(older.string(), 0, 1);
    for (const char* end : {"", "-wal", "-shm"}) {
      fs::remove(job.store() + end);
    }
    fs::copy_file(older, job.store());
    refused("entries were cut off, or an older copy of the store was put back");
  }
  SECTION("the whole log was written anew, hashes and all") {
    for (const char* end : {"", "-wal", "-shm"}) {
      fs::remove(job.store() + end);
    }
    store_tests::add_rounds(job.store(), 7, 11);
    REQUIRE(job.log_size() >= first);
    refused("they were changed since");
  }
}

TEST_CASE("A checkpoint that is not of this job stands in the way") {
  const SignedJob job;
  REQUIRE(job.checkpoint().status == kExitDone);
  const std::uint64_t size = job.log_size();
  job.add_rounds(3, 4);
  const auto expect_refusal = [&](const std::string& reason) {
    const Said said = job.checkpoint();
    CHECK(said.status == kExitNot);
    CHECK_THAT(said.err, Contains(reason));
  };
  const auto sign = [&](bool simulated, const analysis::evidence::SigningKey& key) {
    const auto head = job.kept().items.front().checkpoint.head;
    fs::remove(job.checkpoint_file(size));
    write_bytes(job.checkpoint_file(size),
                sign_checkpoint(head, simulated, store_tests::kStart, key).value());
  };
  SECTION("of a key that is none of the job's") {
    sign(false, new_signing_key().value());
    expect_refusal("which is none of this job's");
  }
  SECTION("of a simulated site") {
    sign(true, open_signing_key(job.folder(), nullptr).value().key);
    expect_refusal("of a simulated site");
  }
  SECTION("under another name") {
    fs::rename(job.checkpoint_file(size), job.checkpoint_file(size + 1));
    expect_refusal("not what its name says");
  }
  SECTION("cut short") {
    fs::resize_file(job.checkpoint_file(size), 100);
    expect_refusal("checkpoint-" + std::to_string(size) + ".json: ");
  }
}

TEST_CASE("Checkpoints signed before a change of keys still count") {
  const SignedJob job;
  REQUIRE(job.checkpoint().status == kExitDone);
  std::ostringstream out, err;
  KeysOptions rotate;
  rotate.job_dir = job.folder().root;
  rotate.action = "rotate";
  REQUIRE(keys(rotate, {out, err}) == kExitDone);
  job.add_rounds(3, 4);
  const Said said = job.checkpoint();
  INFO(said.err);
  CHECK(said.status == kExitDone);
  CHECK(job.kept().items.size() == 2);
}

TEST_CASE("Every checkpoint without a token is stamped, and openssl agrees") {
  const SignedJob job;
  REQUIRE(job.checkpoint().status == kExitDone);
  job.add_rounds(3, 4);
  job.use(job.settings("/good"));
  const Said said = job.checkpoint();
  INFO(said.out << said.err);
  REQUIRE(said.status == kExitDone);
  CHECK_THAT(said.out, Contains("anchored     2 of 2"));
  const KeptCheckpoints kept = job.kept(job.settings("/good"));
  REQUIRE(kept.items.size() == 2);
  for (const KeptCheckpoint& item : kept.items) {
    REQUIRE(item.token);
    CHECK(item.token->verified);
    CHECK(item.token->authority == "CN=Stamper,O=Invented test authority");
    CHECK_THAT(timestamp_tests::output_of("openssl ts -verify -in " + item.token_file().string() +
                                          " -data " + item.file.string() + " -CAfile " +
                                          (job.folder().root / "authority.pem").string()),
               Contains("Verification: OK"));
  }
  REQUIRE(newest_anchored(kept) != nullptr);
  CHECK(newest_anchored(kept)->checkpoint.head.size == job.log_size());
  CHECK_THAT(job.inspect().out, Contains("time stamps: 2 of 2"));
}

TEST_CASE("What can't be stamped is signed all the same and waits, with the reason") {
  const SignedJob job;
  const auto queued = [&](const JobCheckpoints& settings, const std::string& reason) {
    job.use(settings);
    const Said said = job.checkpoint();
    CHECK(said.status == kExitDone);
    CHECK_THAT(said.out, Contains("queued       1: ") && Contains(reason));
    CHECK(job.kept().queued() == 1);
  };
  queued(job.settings("/error"), "HTTP status 500");
  queued(job.settings("/wrong-digest"), "it stamps 0000");
  queued(job.settings("/other"), "does not lead to a given authority");
  queued(job.settings("/expired"), "had expired");
  {
    const Offline offline;
    queued(job.settings("/good"), "HTTP status 503");
  }
  job.use(job.settings("/other", ""));
  const Said unverified = job.checkpoint();
  CHECK_THAT(unverified.out, Contains("anchored     1 of 1") && Contains(", unverified"));
}

TEST_CASE("A token that is not the checkpoint's own does not anchor it") {
  const SignedJob job;
  job.use(job.settings("/good"));
  REQUIRE(job.checkpoint().status == kExitDone);
  const std::uint64_t first = job.log_size();
  job.add_rounds(3, 4);
  REQUIRE(job.checkpoint().status == kExitDone);
  const fs::path second = job.checkpoint_file(job.log_size(), ".tsr");
  SECTION("another checkpoint's") {
    write_bytes(second, bytes_of(job.checkpoint_file(first, ".tsr")));
    CHECK_THAT(job.kept().items.back().token_fault, Contains("it stamps something else than"));
  }
  SECTION("garbage") {
    write_bytes(second, "hello");
    CHECK_THAT(job.kept().items.back().token_fault, Contains("neither a TimeStampResp nor"));
  }
  SECTION("of an authority that is not the one named") {
    CHECK_THAT(job.kept(job.settings("/good", "other-ca")).items.back().token_fault,
               Contains("does not lead to a given authority"));
    return;
  }
  CHECK(job.kept().anchored() == 1);
  CHECK(job.kept().queued() == 0);
  CHECK(newest_anchored(job.kept())->checkpoint.head.size == first);
  CHECK_THAT(job.inspect().out, Contains("WRONG: " + second.string()));
}

TEST_CASE("Where the authority's certificates can't be read no stamp counts, and signing goes on") {
  const SignedJob job;
  job.use(job.settings("/good"));
  REQUIRE(job.checkpoint().status == kExitDone);
  job.add_rounds(3, 4);
  fs::remove(job.folder().root / "authority.pem");
  const Said said = job.checkpoint();
  CHECK(said.status == kExitDone);
  CHECK_THAT(said.out, Contains("anchored     0 of 2") && Contains("queued       1: job.json: ") &&
                           Contains("not read     job.json: checkpoints.authority_certificates: "
                                    "cannot read "));
  CHECK_THAT(job.inspect().out, Contains("time stamps not read: job.json: "));
}

TEST_CASE("A file is made whole once, never over another") {
  const SignedJob job;
  const fs::path file = job.file("made");
  CHECK(store_tests::must(write_new_file(file, "first")));
  CHECK_FALSE(store_tests::must(write_new_file(file, "second")));
  CHECK(bytes_of(file) == "first");
  CHECK_FALSE(write_new_file(job.file("no-folder/made"), "x"));
}

TEST_CASE("check says when the authority's certificates are missing or none") {
  const SignedJob job;
  JobCheckpoints settings = job.settings("/good");
  const auto check = [&] {
    std::ostringstream out, err;
    CHECK(check_job(job.folder().root, {out, err}) == kExitInput);
    return err.str();
  };
  settings.authority_certificates = "absent.pem";
  job.use(settings);
  CHECK_THAT(check(), Contains("checkpoints.authority_certificates: cannot read ") &&
                          Contains("absent.pem"));
  write_bytes(job.folder().root / "absent.pem", "nothing");
  CHECK_THAT(check(), Contains("no certificate in it"));
}
