// SPDX-License-Identifier: GPL-3.0-or-later
// The lumped engine. Every assumption stands beside its function in engine.h.
#include "morning/engine.h"

#include <math.h>

#define PI 3.14159265358979323846
#define PEAK_TORQUE 1.18 // over rated torque
#define PEAK_SHARE 0.575 // of rated speed
#define LOW_TORQUE 0.85  // over rated torque, at LOW_SHARE
#define LOW_SHARE 0.2    // of rated speed
#define FLOOR_TORQUE 0.4 // at standstill: only reached below any idle speed
#define RADIATOR_M_S (100.0 / 3.6)
#define FAN_M_S 4.0
#define BAY_SWEPT 0.4     // share of the bay's rise that ram air takes away
#define BAY_HALF_M_S 12.0 // road speed at which half of that is gone

static double positive(double value) {
    return value > 0.0 ? value : 0.0; // NaN too becomes zero
}

static double clamp01(double value) {
    return value > 1.0 ? 1.0 : positive(value);
}

double ow_engine_energy_j_m3(const OwFluid *fluid) {
    const double density = ow_curve_value(&fluid->density_kg_m3, OW_ENGINE_METER_K);
    const double energy = fluid->net_heat_j_kg * density;
    return energy > 0.0 && isfinite(energy) ? energy : OW_ENGINE_DIESEL_J_M3;
}

double ow_engine_friction_w(const OwEngine *engine, double speed_rad_s) {
    return engine->friction_pa * engine->displacement_m3 * positive(speed_rad_s) / (4.0 * PI);
}

static double full_torque(double share) {
    if (share >= PEAK_SHARE) {
        const double s = (share - PEAK_SHARE) / (1.0 - PEAK_SHARE);
        const double torque = PEAK_TORQUE - (PEAK_TORQUE - 1.0) * s * s;
        const double governor =
            share <= 1.0 ? 1.0 : clamp01((OW_ENGINE_RUN_OUT - share) / (OW_ENGINE_RUN_OUT - 1.0));
        return positive(torque) * governor;
    }
    const double s = (PEAK_SHARE - share) / (PEAK_SHARE - LOW_SHARE);
    return fmax(PEAK_TORQUE - (PEAK_TORQUE - LOW_TORQUE) * s * s, FLOOR_TORQUE);
}

double ow_engine_full_w(const OwEngine *engine, double speed_rad_s) {
    const double share = positive(speed_rad_s) / engine->rated_speed_rad_s;
    return engine->rated_power_w * share * full_torque(share);
}

double ow_engine_full_fuel_m3_s(const OwEngine *engine, double speed_rad_s) {
    const double share = positive(speed_rad_s) / engine->rated_speed_rad_s;
    const double governor =
        share <= 1.0 ? 1.0 : clamp01((OW_ENGINE_RUN_OUT - share) / (OW_ENGINE_RUN_OUT - 1.0));
    const double work =
        ow_engine_full_w(engine, speed_rad_s) + ow_engine_friction_w(engine, speed_rad_s) * governor;
    return work / (engine->indicated_efficiency * OW_ENGINE_DIESEL_J_M3);
}

double ow_engine_fuel_m3_s(const OwEngine *engine, double speed_rad_s, double brake_w, double energy_j_m3) {
    const double work = brake_w + ow_engine_friction_w(engine, speed_rad_s);
    return positive(work) / (engine->indicated_efficiency * energy_j_m3);
}

double ow_engine_brake_w(const OwEngine *engine, double speed_rad_s, double fuel_m3_s, double energy_j_m3) {
    return positive(fuel_m3_s) * energy_j_m3 * engine->indicated_efficiency -
           ow_engine_friction_w(engine, speed_rad_s);
}

double ow_engine_coolant_heat_w(const OwEngine *engine, double fuel_m3_s, double energy_j_m3) {
    return engine->coolant_heat_share * positive(fuel_m3_s) * energy_j_m3;
}

double ow_engine_thermostat(const OwEngine *engine, double coolant_k, double *slope) {
    const double width = fmax(engine->thermostat_full_k - engine->thermostat_open_k, 1.0);
    const double x = (coolant_k - engine->thermostat_open_k) / width;
    const double s = clamp01(x);
    if (slope != NULL) {
        *slope = 6.0 * s * (1.0 - s) / width;
    }
    return s * s * (3.0 - 2.0 * s);
}

double ow_engine_radiator_w_k(const OwEngine *engine, double speed_m_s) {
    const double speed = positive(speed_m_s);
    const double air = speed * speed + FAN_M_S * FAN_M_S;
    const double reference = RADIATOR_M_S * RADIATOR_M_S + FAN_M_S * FAN_M_S;
    return engine->radiator_w_k * pow(air / reference, 0.3);
}

double ow_engine_bay_k(const OwEngine *engine, double ambient_k, double coolant_k, double speed_m_s) {
    const double speed = positive(speed_m_s);
    const double left = 1.0 - BAY_SWEPT * speed / (speed + BAY_HALF_M_S);
    return ambient_k + engine->bay_share * (coolant_k - ambient_k) * left;
}

double ow_engine_coolant_share(const OwEngine *engine, double speed_rad_s) {
    return fmax(clamp01(speed_rad_s / engine->rated_speed_rad_s), 0.02);
}

double ow_engine_crank_rad_s(const OwEngine *engine, double block_k) {
    const double cold = positive((OW_ZERO_CELSIUS_K + 20.0 - block_k) / 40.0);
    return engine->crank_speed_rad_s * fmax(1.0 - 0.4 * cold, 0.5);
}
