// SPDX-License-Identifier: GPL-3.0-or-later
// The lumped engine: Willans line, full-load curve, thermostat, radiator, bay air and cranking. Pure
// functions, SI.
#ifndef OW_MORNING_ENGINE_H
#define OW_MORNING_ENGINE_H

#include "oilwright/oil.h"
#include "oilwright/rig.h"

/// Energy in a litre-for-litre reference diesel at 40 degC, J/m3: 42.8 MJ/kg (from memory) times 815 kg/m3,
/// which is the middle of the EN 590 band (820-845 kg/m3 at 15 degC) less 0.7 kg/m3 a kelvin.
#define OW_ENGINE_DIESEL_J_M3 (42.8e6 * 815.0)
/// Temperature at which a fluid's density turns volume into energy, K: warm fuel at the injection pump is
/// metered by volume.
#define OW_ENGINE_METER_K 313.15
/// The governor has shut the fuel off at this share of rated speed. Common practice, no source.
#define OW_ENGINE_RUN_OUT 1.08
/// First-order lag of the engine-bay air behind its target, s. Common practice, no source.
#define OW_ENGINE_BAY_LAG_S 60.0

/// Net energy in a cubic metre of the fluid at 40 degC, J/m3. A useless fluid (zero, NaN) counts as reference
/// diesel.
double ow_engine_energy_j_m3(const OwFluid *fluid);
/// Friction power, W: friction_pa * displacement * speed / (4 pi), four-stroke. Zero at and below standstill.
/// The FMEP is that of a warm engine; a cold one burns more, which is left out.
double ow_engine_friction_w(const OwEngine *engine, double speed_rad_s);
/// Full-load brake power on diesel, W, >= 0: rated torque rising 18 % towards 57.5 % of rated speed, falling
/// to 0.85 at a fifth of it, and run out by the governor between rated speed and OW_ENGINE_RUN_OUT. Common
/// practice, no source.
double ow_engine_full_w(const OwEngine *engine, double speed_rad_s);
/// Fuel at full load, m3/s. The pump meters volume, so this holds for every fuel: what it gives follows
/// energy per litre.
double ow_engine_full_fuel_m3_s(const OwEngine *engine, double speed_rad_s);
/// Fuel for a brake power, m3/s, >= 0. Willans line: (brake + friction) / (indicated efficiency * energy).
/// Not limited.
double ow_engine_fuel_m3_s(const OwEngine *engine, double speed_rad_s, double brake_w, double energy_j_m3);
/// Brake power that a fuel flow gives, W (the Willans line backwards; -friction without fuel).
double ow_engine_brake_w(const OwEngine *engine, double speed_rad_s, double fuel_m3_s, double energy_j_m3);
/// Heat into the coolant, W: coolant_heat_share of the fuel power.
double ow_engine_coolant_heat_w(const OwEngine *engine, double fuel_m3_s, double energy_j_m3);

/// Opening of the coolant thermostat, 0..1: a smoothstep from thermostat_open_k to thermostat_full_k (at
/// least 1 K apart), and its slope per kelvin when `slope` is not NULL. Common practice, no source; its
/// hysteresis is left out.
double ow_engine_thermostat(const OwEngine *engine, double coolant_k, double *slope);
/// Radiator conductance at a road speed with the thermostat fully open, W/K: radiator_w_k holds at 100 km/h,
/// and the air side goes with (v^2 + fan^2)^0.3, fan 4 m/s (31 % standing). Exponent 0.6 of air speed as in
/// tube banks; from memory.
double ow_engine_radiator_w_k(const OwEngine *engine, double speed_m_s);
/// What the engine-bay air tends to, K: ambient plus bay_share of the coolant's rise, less as ram air sweeps
/// the bay (60 % is left at high speed). Common practice, no source.
double ow_engine_bay_k(const OwEngine *engine, double ambient_k, double coolant_k, double speed_m_s);
/// Coolant flow over that at rated speed, 0..1: the pump turns with the engine; 2 % by thermosiphon when it
/// stands. Common practice, no source.
double ow_engine_coolant_share(const OwEngine *engine, double speed_rad_s);
/// Cranking speed, rad/s: crank_speed_rad_s at and above 20 degC falling straight to 60 % at -20 degC (thick
/// oil, weak battery), half at the least. Common practice, no source.
double ow_engine_crank_rad_s(const OwEngine *engine, double block_k);

#endif
