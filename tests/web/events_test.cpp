// Events: what is sent first, what after a break, and that patches give the whole document.
#include <catch2/catch.hpp>
#include <random>

#include "logger/web/handler/events/merge_patch.hpp"
#include "tests/web/web_rig.hpp"

namespace web_tests {
namespace {

using nlohmann::json;
using nlohmann::ordered_json;

std::shared_ptr<const SiteSnapshot> snapshot_with(std::uint64_t version, const ordered_json& doc) {
  auto snapshot = std::make_shared<SiteSnapshot>();
  snapshot->version = version;
  snapshot->status = doc;
  snapshot->shared_status = {{"shared", version}};
  return snapshot;
}

// A reader as the page's script is: takes events, keeps the document and the last id.
class Client {
 public:
  explicit Client(SnapshotFeed& feed, const std::string& last_id = {}, json held = {})
      : document(std::move(held)), id(last_id) {
    stream_ = feed.open(last_id, [this] { return may_read; });
    ask();
  }
  // Takes what was sent; false when nothing was.
  bool take() {
    if (!sent_) {
      return false;
    }
    const std::string text = std::move(*sent_);
    sent_.reset();
    ended = text.empty();
    texts.push_back(text);
    std::size_t from = 0;
    for (std::size_t end = text.find("\n\n"); end != std::string::npos;
         from = end + 2, end = text.find("\n\n", from)) {
      apply(text.substr(from, end - from));
    }
    if (!ended) {
      ask();
    }
    return true;
  }

  json document;
  std::string id;
  std::vector<std::string> kinds;
  std::vector<std::string> texts;
  bool may_read = true;
  bool ended = false;

 private:
  void ask() {
    stream_->next([this](std::string text) { sent_ = std::move(text); });
  }
  static std::string field(const std::string& event, const std::string& name) {
    const std::size_t at = event.find(name + ": ");
    return at == std::string::npos
               ? std::string{}
               : event.substr(at + name.size() + 2, event.find('\n', at) - at - name.size() - 2);
  }
  void apply(const std::string& event) {
    if (event.starts_with(":")) {
      kinds.emplace_back("comment");
      return;
    }
    kinds.push_back(field(event, "event"));
    id = field(event, "id");
    const json data = json::parse(field(event, "data"));
    if (kinds.back() == "patch") {
      document.merge_patch(data);
    } else {
      document = data;
    }
  }
  std::shared_ptr<EventFeed> stream_;
  std::optional<std::string> sent_;
};

// Objects, arrays and nulls to a small depth over few names, so that members come, go and change.
ordered_json random_value(std::mt19937& random, int depth) {
  const auto pick = [&](unsigned below) { return static_cast<int>(random() % below); };
  switch (pick(depth > 0 ? 8U : 5U)) {
    case 0:
      return nullptr;
    case 1:
      return pick(3);
    case 2:
      return "text " + std::to_string(pick(3));
    case 3:
      return pick(2) == 0;
    case 4:
      return ordered_json::array();
    case 5: {
      ordered_json list = ordered_json::array();
      for (int i = pick(4); i > 0; --i) {
        list.push_back(random_value(random, depth - 1));
      }
      return list;
    }
    default: {
      ordered_json object = ordered_json::object();
      for (int i = pick(5); i > 0; --i) {
        object[std::string(1, static_cast<char>('a' + pick(5)))] = random_value(random, depth - 1);
      }
      return object;
    }
  }
}

ordered_json random_document(std::mt19937& random) {
  ordered_json document = ordered_json::object();
  for (const char* name : {"p", "q", "r"}) {
    document[name] = random_value(random, 3);
  }
  return document;
}

}  // namespace

TEST_CASE("AMergePatchGivesTheWholeDocument") {
  const std::uint32_t seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937 random{seed};
  int patched = 0;
  for (int i = 0; i < 3000; ++i) {
    const ordered_json before = random_document(random);
    const ordered_json after = random_document(random);
    if (const auto patch = merge_patch_between(before, after)) {
      ++patched;
      json applied = json::parse(before.dump());
      applied.merge_patch(json::parse(patch->dump()));
      INFO(before << " to " << after << " by " << *patch);
      REQUIRE(applied == json::parse(after.dump()));
    }
  }
  CHECK(patched > 300);
}

TEST_CASE("AMergePatchSaysOnlyWhatChanged") {
  const ordered_json before = {{"a", {{"x", 1}, {"y", nullptr}}}, {"b", 2}, {"c", {1, 2}}};
  ordered_json after = before;
  CHECK(merge_patch_between(before, after) == ordered_json::object());
  after["a"]["x"] = 3;
  after.erase("b");
  after["c"] = {1, nullptr};
  CHECK(merge_patch_between(before, after)->dump() == R"({"a":{"x":3},"c":[1,null],"b":null})");
  after["a"]["x"] = nullptr;
  CHECK_FALSE(merge_patch_between(before, after));
}

TEST_CASE("ReadersFollowTheDocumentWheneverTheyCome") {
  const std::uint32_t seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937 random{seed};
  SnapshotFeed feed{Audience::full, "run1"};
  std::vector<std::unique_ptr<Client>> clients;
  ordered_json document = random_document(random);
  std::uint64_t version = 1;
  int patches = 0;
  for (int step = 0; step < 400; ++step) {
    feed.update(snapshot_with(version, document));
    feed.tick();
    for (auto& client : clients) {
      if (random() % 3 != 0) {  // the others are slow
        client->take();
      }
      if (client->id == feed.id()) {
        REQUIRE(client->document == json::parse(document.dump()));
      }
      if (random() % 20 == 0) {  // a break in the line
        client = std::make_unique<Client>(feed, client->id, client->document);
        client->take();
        REQUIRE(client->document == json::parse(document.dump()));
      }
    }
    if (step % 50 == 0) {
      clients.push_back(std::make_unique<Client>(feed));
      REQUIRE(clients.back()->take());
      CHECK(clients.back()->kinds == std::vector<std::string>{"status"});
    }
    document["p"] = random_value(random, 2);
    document["filler"] = std::string(200, 'x');
    ++version;
  }
  for (auto& client : clients) {
    feed.tick();
    client->take();
    feed.tick();
    client->take();
    CHECK(client->document == json::parse(feed.text()));
    patches += static_cast<int>(std::count(client->kinds.begin(), client->kinds.end(), "patch"));
  }
  CHECK(patches > 20);
}

TEST_CASE("ASlowReaderGetsWhatItMissedAtOnce") {
  SnapshotFeed feed{Audience::full, "run1"};
  ordered_json document = {{"n", 0}, {"filler", std::string(4000, 'x')}};
  feed.update(snapshot_with(1, document));
  Client slow{feed};
  slow.take();
  for (std::uint64_t version = 2; version <= 6; ++version) {
    document["n"] = version;
    feed.update(snapshot_with(version, document));
    feed.tick();
  }
  CHECK(slow.take());  // the first patch, sent when it was the only one
  feed.tick();
  CHECK(slow.take());
  CHECK_FALSE(slow.take());
  CHECK(slow.texts.size() == 3);
  CHECK(slow.kinds ==
        std::vector<std::string>{"status", "patch", "patch", "patch", "patch", "patch"});
  CHECK(slow.document.at("n") == 6);
}

TEST_CASE("AnIdTooOldOrOfAnotherRunGetsTheWhole") {
  SnapshotFeed feed{Audience::full, "run1"};
  ordered_json document = {{"n", 0}, {"filler", std::string(9000, 'x')}};
  for (std::uint64_t version = 1; version <= 80; ++version) {
    document["n"] = version;
    feed.update(snapshot_with(version, document));
  }
  const auto first_kind = [&](const std::string& id) {
    Client client{feed, id};
    return client.take() ? client.kinds.front() : "nothing";
  };
  CHECK(first_kind("79.run1") == "patch");
  CHECK(first_kind("30.run1") == "patch");
  CHECK(first_kind("29.run1") == "status");
  CHECK(first_kind("80.run1") == "nothing");
  CHECK(first_kind("81.run1") == "status");
  for (const char* id :
       {"79.run2", "79", "", "x", "-1.run1", "79.run1.", "99999999999999999999.run1"}) {
    INFO(id);
    CHECK(first_kind(id) == "status");
  }
}

TEST_CASE("ALineWithNothingNewIsKeptAlive") {
  SnapshotFeed feed{Audience::shared, "run1"};
  feed.update(snapshot_with(1, ordered_json::object()));
  Client client{feed};
  client.take();
  CHECK(client.document == json{{"shared", 1}});
  for (int second = 0; second < 20; ++second) {
    CHECK_FALSE(client.take());
    feed.tick();
  }
  CHECK(client.take());
  CHECK(client.kinds.back() == "comment");
}

TEST_CASE("WhoMayNoLongerReadIsCutOff") {
  SnapshotFeed feed{Audience::full, "run1"};
  feed.update(snapshot_with(1, {{"n", 1}}));
  Client client{feed};
  client.take();
  client.may_read = false;
  for (int second = 0; second < SnapshotFeed::kTicksOfTrust; ++second) {
    feed.tick();
  }
  CHECK(client.take());
  CHECK(client.ended);
}

TEST_CASE("AStreamEndsWithItsSession") {
  WebRig rig;
  const Response response = rig.ask_from_page(Role::viewer, {"GET", "/events"});
  REQUIRE(response.feed);
  CHECK(header_in(response, "content-type") == "text/event-stream");
  std::vector<std::string> sent;
  const auto take = [&](std::string text) { sent.push_back(std::move(text)); };
  response.feed->next(take);
  REQUIRE(sent.size() == 1);
  CHECK(sent[0].starts_with("event: status\nid: 1."));
  response.feed->next(take);
  rig.loop.tick();
  CHECK(sent.size() == 1);
  rig.site.current = snapshot_of(2, 99.5);
  rig.loop.tick();
  REQUIRE(sent.size() == 2);
  CHECK(sent[1].find("99.5") != std::string::npos);
  response.feed->next(take);
  rig.access->end_session(rig.person(Role::viewer).cookie);
  for (int second = 0; second < 6; ++second) {
    rig.loop.tick();
  }
  REQUIRE(sent.size() == 3);
  CHECK(sent[2].empty());
}

TEST_CASE("StreamsAreCountedAndFreedWithTheirConnection") {
  HandlerSettings settings;
  settings.streams = 2;
  WebRig rig{settings};
  auto first = rig.ask(Role::viewer, {"GET", "/events"}).feed;
  const auto second = rig.ask(Role::owner, {"GET", "/events"}).feed;
  CHECK(rig.ask(Role::crew, {"GET", "/events"}).status == 503);
  first.reset();
  CHECK(rig.ask(Role::crew, {"GET", "/events"}).status == 200);
}

}  // namespace web_tests
