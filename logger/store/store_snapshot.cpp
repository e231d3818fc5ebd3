#include "logger/store/store_snapshot.hpp"

namespace logger::store {
namespace {

// A writer commits every few seconds at most, a try takes well under a millisecond.
constexpr int kTries = 100;

}  // namespace

Result<StoreSnapshot> StoreSnapshot::hold(ReadingStore& store, const std::string& path) {
  Result<EvidenceLog> opened = EvidenceLog::open(path);
  if (!opened) {
    return Failure{opened.error()};
  }
  EvidenceLog log = std::move(opened).value();
  for (int tries = 0; tries < kTries; ++tries) {
    const Result<std::uint64_t> size = store.begin_snapshot();
    if (!size) {
      return Failure{size.error()};
    }
    const auto head = log.begin_snapshot();
    if (head && head.value().size == size.value()) {
      return StoreSnapshot(store, std::move(log));
    }
    log.end_snapshot();
    store.end_snapshot();
    if (!head) {
      return Failure{head.error()};
    }
  }
  return failure(ErrorCode::timeout, "store " + path +
                                         ": another program wrote each time its state was to be "
                                         "read at one moment; try again");
}

StoreSnapshot::~StoreSnapshot() {
  if (store_ != nullptr) {
    store_->end_snapshot();
  }
}

}  // namespace logger::store
