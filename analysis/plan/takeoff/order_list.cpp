#include "analysis/plan/takeoff/order_list.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/plan/room/length_text.hpp"
#include "analysis/plan/takeoff/bar_cutting.hpp"
#include "analysis/plan/takeoff/shared_doorways.hpp"
#include "analysis/readiness/reason_texts.hpp"

namespace analysis::plan {
namespace {

using readiness::text_from_number;

constexpr Metres kBarSawCut{0.003};
constexpr double kSquareFeetOfMetre = 10.763910416709722;  // (1 / 0.3048)^2

std::string counted(int number, const std::string& what) {
  return std::to_string(number) + " " + what + (number == 1 ? "" : "s");
}

std::string money(double amount, const std::string& currency) {
  return text_from_number(amount, 2) + " " + currency;
}

// Rooms of which all say the same of a thing.
template <class Key>
struct SameThing {
  Key key;
  std::vector<const OrderedRoom*> rooms;
};
template <class Key, class Of>
std::vector<SameThing<Key>> grouped(const std::vector<OrderedRoom>& rooms, Of key_of) {
  std::vector<SameThing<Key>> groups;
  for (const OrderedRoom& room : rooms) {
    const std::optional<Key> key = key_of(room);
    if (!key) {
      continue;
    }
    auto group = std::find_if(groups.begin(), groups.end(),
                              [&](const SameThing<Key>& each) { return each.key == *key; });
    if (group == groups.end()) {
      group = groups.insert(groups.end(), {*key, {}});
    }
    group->rooms.push_back(&room);
  }
  return groups;
}

struct PackKey {
  std::string product;
  int panels;
  double coverage_m2;
  double length_m;  // of a panel
  double width_m;
  bool operator==(const PackKey&) const = default;
};
struct RollKey {
  double width_m;
  double length_m;
  bool operator==(const RollKey&) const = default;
};

// One kind of profile of a floor's edges.
struct ProfileKind {
  const char* item;
  Transition transition;
  bool between_parts;  // joints inside the floor take it too
};
constexpr std::array<ProfileKind, 3> kProfiles{
    {{"T-moulding with its track", Transition::same_level, true},
     {"Reducer with its track, to a lower floor", Transition::to_lower, false},
     {"Edge profile with its track, to a sill or edge", Transition::to_edge, false}}};

class OrderMaker {
 public:
  OrderMaker(const std::vector<OrderedRoom>& rooms, bool imperial)
      : rooms_(rooms), imperial_(imperial) {}

  OrderList made() {
    for (const OrderedRoom& room : rooms_) {
      if (list_.currency.empty()) {
        list_.currency = room.terms.prices.currency;
      }
    }
    add_cartons();
    add_sheets("Underlay, roll of ", &RoomPlan::underlay, &RoomPlanRequest::underlay,
               &Prices::underlay_roll);
    add_sheets("Vapour barrier, PE of 0.15 mm (6 mil) or more, roll of ", &RoomPlan::barrier,
               &RoomPlanRequest::barrier, &Prices::barrier_roll);
    add_tape();
    add_trim();
    for (const ProfileKind& kind : kProfiles) {
      add_profile(kind);
    }
    add_spacers();
    add_up();
    return std::move(list_);
  }

 private:
  [[nodiscard]] std::string least(Metres metres) const {
    return imperial_ ? gap_text_from(metres, true) : length(metres);
  }
  [[nodiscard]] std::string length(Metres metres) const {
    return length_text_from(metres, imperial_);
  }
  // Of a sum, which need not be told to the millimetre.
  [[nodiscard]] std::string sum(double metres) const {
    return text_from_number(shown(metres), sum_decimals()) + (imperial_ ? " ft" : " m");
  }
  [[nodiscard]] double shown(double metres) const {
    return imperial_ ? metres / kMetresPerFoot : metres;
  }
  [[nodiscard]] int sum_decimals() const { return imperial_ ? 1 : 2; }
  [[nodiscard]] std::string area(double square_metres) const {
    return imperial_ ? text_from_number(square_metres * kSquareFeetOfMetre, 1) + " ft²"
                     : text_from_number(square_metres, 2) + " m²";
  }
  // So that the quotient that is shown can be reckoned again.
  [[nodiscard]] std::string coverage(SquareMetres of_pack) const {
    return imperial_ ? text_from_number(of_pack.value() * kSquareFeetOfMetre, 2) + " ft²"
                     : text_from_number(of_pack.value(), 3) + " m²";
  }
  static std::optional<double> price_of(const std::vector<const OrderedRoom*>& rooms,
                                        std::optional<double> Prices::*price) {
    for (const OrderedRoom* room : rooms) {
      if (room->terms.prices.*price) {
        return room->terms.prices.*price;
      }
    }
    return std::nullopt;
  }
  void add(OrderLine line) {
    if (line.quantity > 0) {
      list_.lines.push_back(std::move(line));
    }
  }

  void add_cartons() {
    const auto groups = grouped<PackKey>(rooms_, [](const OrderedRoom& room) {
      const PanelSize& panel = room.request->panel;
      return std::optional(PackKey{room.product, room.pack.panels, room.pack.coverage.value(),
                                   panel.length.value(), panel.width.value()});
    });
    for (const auto& group : groups) {
      std::vector<RoomPanels> panels;
      int delivered = 0;
      for (const OrderedRoom* room : group.rooms) {
        panels.push_back({room->plan->floor_area, room->plan->panels, room->waste_rule_fraction});
        delivered += room->packs_delivered;
      }
      const PackSize& pack = group.rooms.front()->pack;
      const CartonNeed need = carton_need_from(panels, pack, delivered);
      const auto same_name = std::count_if(groups.begin(), groups.end(), [&](const auto& other) {
        return other.key.product == group.key.product;
      });
      list_.lines.push_back({group.key.product + (same_name > 1 ? panel_words(group.key) : ""),
                             need.cartons_to_order, "carton", carton_words(need, pack, group.rooms),
                             price_of(group.rooms, &Prices::pack)});
    }
  }
  [[nodiscard]] std::string panel_words(const PackKey& key) const {
    return ", panels of " + length(Metres{key.length_m}) + " x " + length(Metres{key.width_m}) +
           ", " + std::to_string(key.panels) + " in a carton";
  }
  // "10 %", or "10 % in hall, 20 % in study" where rooms differ.
  static std::string waste_words(const std::vector<const OrderedRoom*>& rooms) {
    const auto percent = [](const OrderedRoom& room) {
      return text_from_number(room.waste_rule_fraction * 100.0, 0) + " %";
    };
    const bool same = std::all_of(rooms.begin(), rooms.end(), [&](const OrderedRoom* room) {
      return room->waste_rule_fraction == rooms.front()->waste_rule_fraction;
    });
    if (same) {
      return percent(*rooms.front());
    }
    std::string words;
    for (const OrderedRoom* room : rooms) {
      words += (words.empty() ? "" : ", ") + percent(*room) + " in " + room->name;
    }
    return words;
  }
  [[nodiscard]] std::string carton_words(const CartonNeed& need, const PackSize& pack,
                                         const std::vector<const OrderedRoom*>& rooms) const {
    std::string words = area(need.floor.value()) + " and " + waste_words(rooms) + " = " +
                        area(need.with_waste.value()) + ", / " + coverage(pack.coverage) + " = " +
                        text_from_number(need.with_waste.value() / pack.coverage.value(), 2) +
                        ": " + counted(need.cartons_by_rule, "carton") +
                        " by the rule of thumb; by the rows " +
                        counted(need.panels_by_layout, "panel") + " (" +
                        text_from_number(need.waste_by_layout_fraction * 100.0, 1) +
                        " % more than the floor), / " + std::to_string(pack.panels) + ": " +
                        std::to_string(need.cartons_by_layout) + "; the greater one";
    if (need.delivered > 0) {
      words += ", less " + std::to_string(need.delivered) + " that came";
    }
    if (need.over > 0) {
      words += ": " + std::to_string(need.over) + " over";
    }
    return words;
  }

  void add_sheets(const std::string& item, std::optional<SheetNeed> RoomPlan::*need,
                  std::optional<RollSize> RoomPlanRequest::*roll,
                  std::optional<double> Prices::*price) {
    const auto groups = grouped<RollKey>(rooms_, [&](const OrderedRoom& room) {
      const auto& size = room.request->*roll;
      return size && room.plan->*need
                 ? std::optional(RollKey{size->width.value(), size->length.value()})
                 : std::nullopt;
    });
    for (const auto& group : groups) {
      const Metres roll_length{group.key.length_m};
      std::vector<Metres> strips;
      double total = 0.0;
      for (const OrderedRoom* room : group.rooms) {
        const SheetNeed& sheet = *(room->plan->*need);
        strips.insert(strips.end(), sheet.cut_lengths.begin(), sheet.cut_lengths.end());
      }
      for (const Metres strip : strips) {
        total += strip.value();
      }
      const bool lapped = need == &RoomPlan::barrier;
      const int rolls = lapped ? least_bars_from(strips, roll_length, Metres{0.0})
                               : rounded_up(total / roll_length.value());
      add({item + length(Metres{group.key.width_m}) + " x " + length(roll_length), rolls, "roll",
           counted(static_cast<int>(strips.size()), "strip") + ", " + sum(total) +
               " in all, cut from rolls of " + length(roll_length) + "; " +
               (lapped ? "seams lapped " + least(group.rooms.front()->request->barrier_rules.lap) +
                             ", turned up " +
                             least(group.rooms.front()->request->barrier_rules.upturn) +
                             " at the walls"
                       : "the rest of a roll begins the next strip; seams butted, not lapped"),
           price_of(group.rooms, price)});
    }
  }

  // Of each room, in their order; a roll of underlay goes on from room to room.
  [[nodiscard]] std::vector<double> seams_of_rooms() const {
    std::vector<double> seams(rooms_.size(), 0.0);
    std::vector<std::pair<RollKey, double>> laid;
    for (std::size_t i = 0; i < rooms_.size(); ++i) {
      const auto& barrier = rooms_[i].plan->barrier;
      seams[i] = barrier ? barrier->seams.value() : 0.0;
      const auto& underlay = rooms_[i].plan->underlay;
      if (!underlay || !rooms_[i].request->underlay) {
        continue;
      }
      const RollSize& roll = *rooms_[i].request->underlay;
      const RollKey key{roll.width.value(), roll.length.value()};
      auto before = std::find_if(laid.begin(), laid.end(),
                                 [&](const auto& each) { return each.first == key; });
      if (before == laid.end()) {
        before = laid.insert(laid.end(), {key, 0.0});
      }
      const auto ends = [&](double from) {
        return roll_end_seams_of(*underlay, roll.length, Metres{from}).value();
      };
      seams[i] += underlay->seams.value() - ends(0.0) + ends(before->second);
      for (const Metres strip : underlay->cut_lengths) {
        before->second += strip.value();
      }
    }
    return seams;
  }

  void add_tape() {
    const std::vector<double> seams_m = seams_of_rooms();
    for (const auto& group :
         by_length([](const OrderedRoom& room) { return room.terms.tape_roll; })) {
      double seams = 0.0;
      std::string words;
      for (const OrderedRoom* room : group.rooms) {
        const double of_room = seams_m[static_cast<std::size_t>(room - rooms_.data())];
        seams += of_room;
        words += (words.empty() ? "" : " + ") + text_from_number(shown(of_room), sum_decimals());
      }
      const double rolls = seams / group.key;
      const bool several = group.rooms.size() > 1;
      add({"Seam tape, roll of " + length(Metres{group.key}), rounded_up(rolls), "roll",
           (several ? words + " = " : "") + sum(seams) + " of seams" +
               (several ? ", room by room, a roll of underlay going on from one to the next,"
                        : "") +
               " / " + length(Metres{group.key}) + " = " + text_from_number(rolls, 2),
           price_of(group.rooms, &Prices::tape_roll)});
    }
  }

  void add_trim() {
    for (const auto& group :
         by_length([](const OrderedRoom& room) { return room.request->trim_bar; })) {
      double wall = 0.0;
      for (const OrderedRoom* room : group.rooms) {
        wall += room->plan->trim.wall.value();
      }
      const double bars = wall * kMitreShare / group.key;
      add({"Wall trim, bar of " + length(Metres{group.key}), rounded_up(bars), "bar",
           sum(wall) + " of wall without doors, and 10 % for mitres = " + sum(wall * kMitreShare) +
               ", / " + length(Metres{group.key}) + " = " + text_from_number(bars, 2),
           price_of(group.rooms, &Prices::trim_bar)});
    }
  }

  void add_profile(const ProfileKind& kind) {
    for (const auto& group :
         by_length([](const OrderedRoom& room) { return room.terms.profile_bar; })) {
      std::vector<Metres> lengths;
      std::string words;
      const auto take = [&](const OrderedRoom& room, Metres metres, const std::string& where) {
        if (metres.value() > 0.0) {
          lengths.push_back(metres);
          words += (words.empty() ? "" : "; ") + sum(metres.value()) + where + room.name;
        }
      };
      for (const OrderedRoom* room : group.rooms) {
        for (const DoorPlace& place : room->request->doors) {
          const OrderedRoom* other = room_beyond(rooms_, *room, place);
          const bool is_counted_before = other != nullptr && other < room;
          if (place.door.transition == kind.transition && !is_counted_before) {
            take(*room, place.door.width,
                 other != nullptr ? " in a doorway, once, of " + place.adjoins + " and "
                                  : " in a door of ");
          }
        }
        take(*room, kind.between_parts ? room->plan->joints : Metres{0.0}, " of joints in ");
      }
      add({std::string(kind.item) + ", bar of " + length(Metres{group.key}),
           least_bars_from(lengths, Metres{group.key}, kBarSawCut), "bar",
           words + "; cut from the least bars", price_of(group.rooms, &Prices::profile_bar)});
    }
  }
  void add_spacers() {
    const auto most = std::max_element(rooms_.begin(), rooms_.end(),
                                       [](const OrderedRoom& a, const OrderedRoom& b) {
                                         return a.plan->trim.spacers < b.plan->trim.spacers;
                                       });
    if (most == rooms_.end()) {
      return;
    }
    std::vector<const OrderedRoom*> all;
    for (const OrderedRoom& room : rooms_) {
      all.push_back(&room);
    }
    add({"Spacers of the gap's width", most->plan->trim.spacers, "piece",
         sum(most->plan->trim.wall.value()) + " of wall / " + length(kSpacerStep) + " in " +
             most->name +
             (rooms_.size() > 1 ? ", which takes the most; the others use them again" : ""),
         price_of(all, &Prices::spacer)});
  }

  template <class Of>
  [[nodiscard]] std::vector<SameThing<double>> by_length(Of length_of) const {
    return grouped<double>(
        rooms_, [&](const OrderedRoom& room) { return std::optional(length_of(room).value()); });
  }
  // Sums to whole hundredths, line by line, as a bill does.
  void add_up() {
    long long hundredths = 0;
    for (const OrderLine& line : list_.lines) {
      if (const auto price = line.price()) {
        hundredths += std::llround(*price * 100.0);
      } else if (line.quantity > 0) {
        list_.without_price.push_back(line.item);
      }
    }
    list_.total = static_cast<double>(hundredths) / 100.0;
  }

  const std::vector<OrderedRoom>& rooms_;
  bool imperial_;
  OrderList list_;
};

}  // namespace

std::optional<double> OrderLine::price() const {
  return unit_price ? std::optional(std::round(*unit_price * quantity * 100.0) / 100.0)
                    : std::nullopt;
}

OrderList order_list_from(const std::vector<OrderedRoom>& rooms, bool imperial) {
  return OrderMaker(rooms, imperial).made();
}

std::string quantity_text(const OrderLine& line) { return counted(line.quantity, line.unit); }

std::string price_text(const OrderLine& line, const std::string& currency) {
  const auto price = line.price();
  return price ? money(*price, currency) : "";
}

std::string unit_price_text(const OrderLine& line) {
  if (!line.unit_price) {
    return "";
  }
  const double hundredths = *line.unit_price * 100.0;
  const bool is_whole = std::abs(hundredths - std::round(hundredths)) < 1e-6;
  return std::to_string(line.quantity) + " x " +
         text_from_number(*line.unit_price, is_whole ? 2 : 4);
}

std::string total_text(const OrderList& order) {
  const bool has_price =
      std::any_of(order.lines.begin(), order.lines.end(),
                  [](const OrderLine& line) { return line.unit_price.has_value(); });
  if (order.currency.empty() || !has_price) {
    return "";
  }
  std::string words = money(order.total, order.currency);
  for (std::size_t i = 0; i < order.without_price.size(); ++i) {
    words += (i == 0 ? "; no price is given for: " : "; ") + order.without_price[i];
  }
  return words;
}

}  // namespace analysis::plan
