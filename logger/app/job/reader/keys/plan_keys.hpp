// The keys of a room's plan. Lengths are texts that carry their unit, since people measure in
// metres or in feet and inches (analysis/plan/room/length_text.hpp).
#pragma once

#include "logger/app/job/reader/keys/key_rules.hpp"

namespace logger::app::key_rules {

// A key whose text is a length, and what it may be: more or less is a slip of the pen.
struct LengthRule {
  std::string_view name;
  double low_m;
  double high_m;
};
inline constexpr LengthRule kSide{"size", 0.1, 1000};
inline constexpr LengthRule kCoordinate{"outline", -1000, 1000};
inline constexpr LengthRule kFromCorner{"from_corner", 0, 1000};
inline constexpr LengthRule kOpeningWidth{"width", 0.05, 100};
inline constexpr LengthRule kAdjoiningHeight{"adjoining_height", -0.5, 0.5};
inline constexpr LengthRule kPipeDiameter{"diameter", 0.003, 2};
inline constexpr LengthRule kPanelLength{"length", 0.1, 6};
inline constexpr LengthRule kPanelWidth{"width", 0.03, 2};
inline constexpr LengthRule kRollWidth{"roll_width", 0.1, 20};
inline constexpr LengthRule kRollLength{"roll_length", 0.1, 1000};
inline constexpr LengthRule kLap{"lap", 0.01, 2};
inline constexpr LengthRule kUpturn{"upturn", 0, 0.5};
inline constexpr LengthRule kTrimBar{"trim_bar", 0.2, 10};
inline constexpr LengthRule kProfileBar{"profile_bar", 0.2, 10};
inline constexpr LengthRule kTapeRoll{"tape_roll", 1, 1000};
inline constexpr LengthRule kWallGap{"wall_gap", 0.001, 0.1};
inline constexpr LengthRule kLeastPiece{"least_piece", 0.001, 6};
inline constexpr LengthRule kLeastOffset{"least_offset", 0.001, 6};
inline constexpr LengthRule kLeastRowWidth{"least_row_width", 0.001, 2};
inline constexpr LengthRule kJointBeyondWidth{"joint_beyond_width", 1, 1000};
inline constexpr LengthRule kJointBeyondLength{"joint_beyond_length", 1, 1000};
inline constexpr LengthRule kFromWalls{"from_walls", 0, 100};
inline constexpr LengthRule kFromItems{"from_items", 0, 100};
inline constexpr LengthRule kApart{"apart", 0, 100};

inline constexpr KeyRule kFixedItemKeys[] = {text("name", kRequired), text_list("outline", 100)};
inline constexpr ObjectKeys kFixedItem{kFixedItemKeys};
inline constexpr std::string_view kTransitions[] = {"same_level", "to_lower", "to_edge"};
inline constexpr KeyRule kDoorKeys[] = {whole_number("wall", kRequired, 1, 100),
                                        text("from_corner", kRequired),
                                        text("width", kRequired),
                                        choice("transition", kOptional, kTransitions),
                                        text("adjoining_height", kOptional),
                                        boolean("joint"),
                                        text("adjoins", kOptional)};
inline constexpr ObjectKeys kDoor{kDoorKeys};
inline constexpr KeyRule kHeaterKeys[] = {whole_number("wall", kRequired, 1, 100),
                                          text("from_corner", kRequired), text("width", kRequired)};
inline constexpr ObjectKeys kHeater{kHeaterKeys};
constexpr KeyRule price(std::string_view name) { return number(name, kOptional, 0, 1000000); }
inline constexpr KeyRule kPriceKeys[] = {
    text("currency", kRequired), price("pack"),     price("underlay_roll"), price("barrier_roll"),
    price("tape_roll"),          price("trim_bar"), price("profile_bar"),   price("spacer")};
inline constexpr ObjectKeys kPrices{kPriceKeys};
inline constexpr KeyRule kPipeKeys[] = {text("name", kRequired), text("at", kRequired),
                                        text("diameter", kRequired)};
inline constexpr ObjectKeys kPipe{kPipeKeys};
inline constexpr KeyRule kPanelKeys[] = {text("length", kRequired), text("width", kRequired),
                                         whole_number("per_pack", kRequired, 1, 100),
                                         number("pack_coverage_m2", kOptional, 0.1, 20)};
inline constexpr ObjectKeys kPanel{kPanelKeys};
inline constexpr KeyRule kUnderlayKeys[] = {text("roll_width", kRequired),
                                            text("roll_length", kRequired), boolean("has_barrier")};
inline constexpr ObjectKeys kUnderlay{kUnderlayKeys};
inline constexpr KeyRule kBarrierKeys[] = {text("roll_width", kRequired),
                                           text("roll_length", kRequired), text("lap", kOptional),
                                           text("upturn", kOptional)};
inline constexpr ObjectKeys kBarrier{kBarrierKeys};
inline constexpr KeyRule kSlabTestKeys[] = {
    text("from_walls", kOptional), text("from_items", kOptional), text("apart", kOptional),
    text("wettest_at", kOptional), text("wettest_because", kOptional)};
inline constexpr ObjectKeys kSlabTests{kSlabTestKeys};
inline constexpr KeyRule kPlanKeys[] = {text("size", kOptional),
                                        text_list("outline", 100),
                                        optional_list("fixed_items", 20, kFixedItem),
                                        optional_list("doors", 20, kDoor),
                                        optional_list("pipes", 50, kPipe),
                                        number("rows_degrees", kOptional, -180, 180),
                                        number("light_degrees", kOptional, -180, 180),
                                        boolean("begin_at_far_side"),
                                        object("panel", kRequired, kPanel),
                                        text("wall_gap", kOptional),
                                        text("least_piece", kOptional),
                                        text("least_offset", kOptional),
                                        text("least_row_width", kOptional),
                                        text("joint_beyond_width", kOptional),
                                        text("joint_beyond_length", kOptional),
                                        number("waste_percent", kOptional, 0, 50),
                                        object("underlay", kOptional, kUnderlay),
                                        object("barrier", kOptional, kBarrier),
                                        text("trim_bar", kOptional),
                                        text("profile_bar", kOptional),
                                        text("tape_roll", kOptional),
                                        object("prices", kOptional, kPrices),
                                        optional_list("heaters", 20, kHeater),
                                        moment("laying_on"),
                                        number("kept_at_celsius", kOptional, 5, 40),
                                        number("floor_bears_kg_per_m2", kOptional, 20, 5000),
                                        whole_number("packs_delivered", kOptional, 0, 10000),
                                        object("slab_tests", kOptional, kSlabTests),
                                        text("source", kRequired)};
inline constexpr ObjectKeys kPlan{kPlanKeys};

}  // namespace logger::app::key_rules
