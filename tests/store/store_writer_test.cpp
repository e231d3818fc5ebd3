#include "logger/store/store_writer.hpp"

#include <future>

#include "tests/store/store_folder.hpp"

using namespace store_tests;

namespace {

// A job that holds the writer thread until it is let go.
struct Blocker {
  std::promise<void> started;
  std::promise<void> let_go;
  StoreWriter::Job job() {
    return [this](ReadingStore&) {
      started.set_value();
      let_go.get_future().wait();
    };
  }
};

}  // namespace

TEST_CASE("JobsRunInOrderOnTheWriterThread") {
  const StoreFolder folder;
  std::vector<std::int64_t> order;  // read after stop()
  std::vector<std::thread::id> threads;
  {
    StoreWriter writer{open_marked(folder.file()), 100};
    for (std::int64_t number = 0; number < 50; ++number) {
      REQUIRE(writer.try_submit([&, number](ReadingStore& store) {
        const auto done = store.commit(batch_of("box-a", {sample(number)}));
        order.push_back(done && done.value().inserted == 1 ? number : -1);
        threads.push_back(std::this_thread::get_id());
      }));
    }
    writer.stop();
    CHECK(writer.pending() == 0);
  }
  REQUIRE(order.size() == 50);
  for (std::size_t index = 0; index < order.size(); ++index) {
    CHECK(order[index] == static_cast<std::int64_t>(index));
    CHECK(threads[index] == threads[0]);
  }
  CHECK(threads[0] != std::this_thread::get_id());
  CHECK(all_records(*must(open_sqlite_store(folder.file(), {})), "box-a") == samples(0, 49));
}

TEST_CASE("AFullQueueRefusesAndLeavesTheJobUntouched") {
  const StoreFolder folder;
  StoreWriter writer{open_marked(folder.file()), 2};
  Blocker blocker;
  REQUIRE(writer.try_submit(blocker.job()));
  blocker.started.get_future().wait();
  int ran = 0;
  StoreWriter::Job job = [&](ReadingStore&) { ++ran; };
  REQUIRE(writer.try_submit(StoreWriter::Job{job}));
  REQUIRE(writer.try_submit(StoreWriter::Job{job}));
  CHECK(writer.pending() == 3);
  CHECK_FALSE(writer.try_submit(std::move(job)));
  CHECK(job != nullptr);  // can be offered again
  blocker.let_go.set_value();
  writer.stop();
  CHECK(ran == 2);
}

TEST_CASE("StopRunsWhatWasAcceptedAndRefusesTheRest") {
  const StoreFolder folder;
  StoreWriter writer{open_marked(folder.file()), 10};
  Blocker blocker;
  REQUIRE(writer.try_submit(blocker.job()));
  std::int64_t note_id = 0;
  REQUIRE(writer.try_submit(
      [&](ReadingStore& store) { note_id = store.append_note({}).value_or(-1); }));
  blocker.let_go.set_value();
  writer.stop();
  CHECK(note_id == 1);
  CHECK_FALSE(writer.try_submit([](ReadingStore&) {}));
  writer.stop();  // again is harmless
  // The store is closed: the log was folded into the file.
  CHECK_FALSE(std::filesystem::exists(folder.file() + "-wal"));
}

TEST_CASE("AFailedJobIsToldAndTheNextOneRuns") {
  const StoreFolder folder;
  StoreWriter writer{must(open_sqlite_store(folder.file(), {.create = true})), 10};
  std::vector<bool> succeeded;
  const auto commit = [&](ReadingStore& store) {
    succeeded.push_back(store.commit(batch_of("box-a", samples(1, 1))).has_value());
  };
  REQUIRE(writer.try_submit(commit));  // not marked yet
  REQUIRE(writer.try_submit(
      [](ReadingStore& store) { static_cast<void>(store.mark_simulated(false)); }));
  REQUIRE(writer.try_submit(commit));
  writer.stop();
  CHECK(succeeded == std::vector{false, true});
}

TEST_CASE("ManyThreadsSubmitWithoutLoss") {
  const StoreFolder folder;
  StoreWriter writer{open_marked(folder.file()), 4};
  std::vector<std::thread> submitters;
  for (std::uint32_t boot = 1; boot <= 4; ++boot) {
    submitters.emplace_back([&writer, boot] {
      for (std::int64_t sequence = 1; sequence <= 25;) {
        const bool taken = writer.try_submit([=](ReadingStore& store) {
          static_cast<void>(store.commit(batch_of("box-a", {sample(sequence, boot)})));
        });
        sequence += taken ? 1 : 0;
        if (!taken) {
          std::this_thread::yield();
        }
      }
    });
  }
  for (std::thread& submitter : submitters) {
    submitter.join();
  }
  writer.stop();
  const auto store = must(open_sqlite_store(folder.file(), {}));
  CHECK(all_records(*store, "box-a").size() == 100);
}
