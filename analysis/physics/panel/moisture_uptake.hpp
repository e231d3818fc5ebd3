// How much of a change of moisture a panel has taken up after a time: through bare edges, through
// bare faces, or inside a carton. Pure functions. Answers are shares of the final change, as ranges
// over vapour resistances that are known to a factor of 2 at best; they never say that a panel has
// reached the room's RH. Left out: hysteresis, the decor's own resistance, moving air, and how
// diffusivity changes with moisture.
#pragma once

#include <cstdint>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/domain_error.hpp"

namespace analysis::physics {

using base::Celsius;
using base::Metres;
using base::Micros;
using base::MoistureUptake;
using base::SquareMetresPerSecond;
using base::VapourResistanceFactor;

struct BoardSorption {
  double density_kg_per_m3 = 850.0;  // high-density fibreboard (common practice); 100..1500
  // Moisture content per RH, both as fractions; 0.01..1. Default: 0.8 of wood's mean slope from 40
  // to 60 %RH at 20 deg C (panel/wood_moisture.hpp), our assumption.
  double sorption_slope_kg_per_kg = 0.131;
};

struct ResistanceRange {
  VapourResistanceFactor low;
  VapourResistanceFactor high;
};
// Source: EN ISO 10456 lists fibreboard of 800 kg/m3 with 30 dry and 20 wet, from memory; in the
// plane of the board about half, our assumption.
inline constexpr ResistanceRange kResistanceInPlane{VapourResistanceFactor{10.0},
                                                    VapourResistanceFactor{20.0}};
inline constexpr ResistanceRange kResistanceThroughThickness{VapourResistanceFactor{20.0},
                                                             VapourResistanceFactor{40.0}};

// D = (delta_air / factor) psat / (density slope), delta_air 1.95e-10 kg/(m s Pa) (EN ISO 10456 and
// 12572, from memory). 0..40 deg C; factor 1..1000.
// Errors: temperature_out_of_domain, material_out_of_domain.
[[nodiscard]] base::Result<SquareMetresPerSecond, DomainError> moisture_diffusivity(
    Celsius board, VapourResistanceFactor factor, const BoardSorption& sorption = {});

// Depth sqrt(D t) that a change has reached: there a thick board shows 48 % (erfc 1/2) of the
// change at its surface. Errors: material_out_of_domain (D not above 0), duration_out_of_domain
// (negative).
[[nodiscard]] base::Result<Metres, DomainError> moisture_front_depth(SquareMetresPerSecond d,
                                                                     Micros after);

// Share taken up by a sheet through both faces (or a plank through both edges), from a uniform
// start and with no film resistance. Source: Crank, The Mathematics of Diffusion (1975), eq. 4.18
// (long times) and 4.20 (short times), numbers from memory; the series agree to 1e-12. Errors as
// above and length_out_of_domain.
[[nodiscard]] base::Result<MoistureUptake, DomainError> sheet_uptake(SquareMetresPerSecond d,
                                                                     Metres half_thickness,
                                                                     Micros after);

// The time until then; `wanted` in 0..0.999, duration_out_of_domain otherwise or where the time is
// beyond 30 000 years. Inverse of sheet_uptake.
[[nodiscard]] base::Result<Micros, DomainError> duration_of_sheet_uptake(SquareMetresPerSecond d,
                                                                         Metres half_thickness,
                                                                         MoistureUptake wanted);

// Outer sizes, each up to 10 m, and how much of that space is board. Defaults are our assumption.
struct Carton {
  Metres length{1.29};
  Metres width{0.195};
  Metres height{0.09};
  double filled_share = 0.9;
};

enum class CartonWrap : std::uint8_t { film_closed, film_open_ends, cardboard_only };

// Thickness of the still air that resists as much as the wrap ("sd"): 50 m for polyethylene film
// all round, 0.5 m for the open ends of such a film, 0.3 m for cardboard alone. Our assumptions;
// ranges below take half and double.
[[nodiscard]] Metres wrap_resistance(CartonWrap wrap);

// Time constant of a wrapped carton whose wrap is the only resistance (through its two ends alone
// where only they are open): tau = sd density slope filled volume / (delta_air psat area). The
// board's own resistance is left out, so that a carton is slower than this says. Air resistance
// 0.001..2000 m. Errors as above.
[[nodiscard]] base::Result<Micros, DomainError> carton_time_constant(
    const Carton& carton, CartonWrap wrap, Metres air_resistance, Celsius board,
    const BoardSorption& sorption = {});

// 1 - exp(-after / time_constant). REQUIRES: time_constant > 0, after >= 0.
[[nodiscard]] MoistureUptake carton_uptake(Micros time_constant, Micros after);

struct UptakeRange {
  MoistureUptake low;  // at the highest resistance
  MoistureUptake high;
};

struct PanelPack {
  Metres plank_width{0.195};
  Metres board_thickness{0.008};
  Carton carton;
  BoardSorption sorption;
};

// The five cases: through the long edges of a plank (in plane), through both bare faces of a board
// (through its thickness), and a carton by its wrap. Errors as above.
[[nodiscard]] base::Result<UptakeRange, DomainError> plank_edge_uptake(const PanelPack& pack,
                                                                       Celsius board, Micros after);
[[nodiscard]] base::Result<UptakeRange, DomainError> raw_board_uptake(const PanelPack& pack,
                                                                      Celsius board, Micros after);
[[nodiscard]] base::Result<UptakeRange, DomainError> wrapped_uptake(const PanelPack& pack,
                                                                    CartonWrap wrap, Celsius board,
                                                                    Micros after);

// What a time in cartons has and has not done to the moisture of the planks in them.
struct CartonMoisture {
  UptakeRange taken_up;    // by the planks in their wrap
  UptakeRange bare_edges;  // what it would have been with bare edges
  Metres shallowest_rim;   // depth reached at bare edges
  Metres deepest_rim;
  Micros shortest_to_90_percent;  // until 90 % in that wrap
  Micros longest_to_90_percent;
};
[[nodiscard]] base::Result<CartonMoisture, DomainError> carton_moisture_after(const PanelPack& pack,
                                                                              CartonWrap wrap,
                                                                              Celsius board,
                                                                              Micros after);

}  // namespace analysis::physics
