// Answers every request of the page and the API: takes it apart, finds out who asks, holds back
// what they may not or ask too often, and has the rest done here or by the worker. Server's thread
// only.
//
// Whoever is not known learns nothing: 401 for all but the public routes, there or not; whoever has
// too little right 403, likewise.
#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "logger/web/handler/events/snapshot_feed.hpp"
#include "logger/web/handler/request/load_limit.hpp"
#include "logger/web/handler/routes.hpp"
#include "logger/web/http/server_loop.hpp"

namespace logger::web {

// Our assumptions: a page with its charts is some twenty requests at once.
struct HandlerSettings {
  Allowance per_address{400, 100};
  Allowance per_principal{120, 20};
  Allowance per_stranger{60, 2};  // an address, for what is not public and brings no right
  std::size_t sign_ins_waiting = 8;
  std::size_t streams = 300;
  // Of GET /api/v1/openapi.json.
  std::string_view openapi_json = "{}";
};

class PageHandler final : public RequestHandler {
 public:
  // All but the settings outlive it, and it outlives the run of the server. Made before the server
  // starts.
  PageHandler(Services services, ServerLoop& loop, HandlerSettings settings = {});
  ~PageHandler() override;

  [[nodiscard]] std::size_t body_limit(const Request& head) override;
  void handle(Request request, Answer answer) override;

 private:
  using CallPointer = std::shared_ptr<Call>;

  // Each gives the answer that ends the matter, or nothing.
  std::optional<Response> find_route(Call& call);
  std::optional<Response> find_out_who(Call& call);
  std::optional<Response> check_right(const CallPointer& call);
  std::optional<Response> check_it_is_meant(const Call& call);

  void do_quick(Call& call);
  void give_to_worker(const CallPointer& call);
  void finish(Call& call, Response response);

  [[nodiscard]] Response page(const Call& call);
  [[nodiscard]] Response log_out(const Call& call);
  [[nodiscard]] Response status(const Call& call);
  [[nodiscard]] Response events(const Call& call);
  void put_refusal_on_record(const CallPointer& call);
  SnapshotFeed& feed_for(const Call& call);  // with the newest snapshot in it
  void refresh();
  void tick();

  Services services_;
  ServerLoop& loop_;
  HandlerSettings settings_;
  LoadLimit per_address_;
  LoadLimit per_principal_;
  LoadLimit per_stranger_;
  LoadLimit refusals_on_record_;
  SnapshotFeed full_feed_;
  SnapshotFeed shared_feed_;
  std::size_t sign_ins_ = 0;
};

}  // namespace logger::web
