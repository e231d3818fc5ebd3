// The order as one list over all rooms: what, how much, how reckoned, what it costs. Text, JSON and
// the job pack all show this list. Pure.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/plan/room_plan.hpp"
#include "analysis/plan/takeoff/order_terms.hpp"

namespace analysis::plan {

// What one room takes. REQUIRES: both pointers outlive the call; `plan` is of `request`.
struct OrderedRoom {
  std::string name;  // as the order calls it, and as doors of other rooms name it (adjoins)
  std::string product;
  PackSize pack;
  int packs_delivered = 0;
  double waste_rule_fraction = 0.10;
  const RoomPlanRequest* request = nullptr;
  const RoomPlan* plan = nullptr;
  OrderTerms terms;
};

struct OrderLine {
  std::string item;       // "Underlay, roll of 1.00 m x 15.00 m"
  int quantity = 0;       // to order, what came already counted off
  std::string unit;       // "carton", "roll", "bar", "piece"; of one
  std::string reckoning;  // in words, with the arithmetic
  std::optional<double> unit_price;
  [[nodiscard]] std::optional<double> price() const;  // to whole hundredths
};

struct OrderList {
  std::vector<OrderLine> lines;
  std::string currency;                    // empty = no room gives prices
  double total = 0.0;                      // of the lines with a price
  std::vector<std::string> without_price;  // items with a quantity that the total leaves out
};

// Things of one kind and size are ordered once over all rooms and rounded up once: packs of one
// product, rolls and bars of one size. Lines of nothing are left out, but for cartons that have all
// come. A price that several rooms give is the first room's (the job's check wants them equal).
// Lengths in the words are feet and inches where `imperial`. Common practice, no source: 10 % of
// wall trim for mitres. Our assumptions: spacers are taken out and used again, so the room with the
// most decides; a doorway that both its rooms name is one, with the profile of the room listed
// first; a saw takes 3 mm between two lengths of one bar.
[[nodiscard]] OrderList order_list_from(const std::vector<OrderedRoom>& rooms, bool imperial);

// "12 rolls"
[[nodiscard]] std::string quantity_text(const OrderLine& line);
// "124.50 EUR" and "3 x 41.50"; empty without a price.
[[nodiscard]] std::string price_text(const OrderLine& line, const std::string& currency);
[[nodiscard]] std::string unit_price_text(const OrderLine& line);
// "312.40 EUR; no price is given for: Seam tape, ..."; empty where no room gives prices.
[[nodiscard]] std::string total_text(const OrderList& order);

}  // namespace analysis::plan
