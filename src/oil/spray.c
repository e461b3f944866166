// SPDX-License-Identifier: GPL-3.0-or-later
// Spray and energy of a fluid against diesel: indicators, not engine results.
#include "oilwright/oil.h"

#include <math.h>

#define AIR_PA_S 3.6e-5 // air near 800 K in a cylinder at injection (from memory: Sutherland's law)

/// Elkotb 1982, Prog. Energy Combust. Sci. 8:61: SMD = 3.08e6 v^0.385 (sigma rho)^0.737 rho_a^0.06 dp^-0.54
/// in um, SI inside (dp in Pa).
static double elkotb(const OwOilState *s, double drop_pa, double air) {
    return 3.08 * pow(s->kinematic_m2_s, 0.385) * pow(s->surface_tension_n_m * s->density_kg_m3, 0.737) *
           pow(air, 0.06) * pow(drop_pa, -0.54);
}

/// Hiroyasu, Arai & Tabata 1989, SAE 890464: the larger of the incomplete and the complete spray's diameter.
static double hiroyasu(const OwOilState *s, double drop_pa, double bore_m, double air) {
    const double speed = 0.7 * sqrt(2.0 * drop_pa / s->density_kg_m3); // nozzle discharge 0.7
    const double reynolds = speed * bore_m / s->kinematic_m2_s;
    const double weber = s->density_kg_m3 * speed * speed * bore_m / s->surface_tension_n_m;
    const double viscosity = s->dynamic_pa_s / AIR_PA_S, density = s->density_kg_m3 / air;
    const double slow =
        4.12 * pow(reynolds, 0.12) * pow(weber, -0.75) * pow(viscosity, 0.54) * pow(density, 0.18);
    const double fast =
        0.38 * pow(reynolds, 0.25) * pow(weber, -0.32) * pow(viscosity, 0.37) * pow(density, -0.47);
    return bore_m * fmax(slow, fast);
}

OwStatus ow_oil_spray(const OwFluid *fluid, const OwFluid *diesel, double temperature_k, double drop_pa,
                      double bore_m, double air_kg_m3, OwSpray *spray) {
    if (!fluid || !diesel || !spray) {
        return OW_ERROR_USE;
    }
    if (!(temperature_k > 200.0 && temperature_k < 500.0) || !(drop_pa > 0.0 && drop_pa < 1e9) ||
        !(bore_m > 0.0 && bore_m < 0.01) || !(air_kg_m3 > 0.0 && air_kg_m3 < 500.0)) {
        return OW_ERROR_VALUE;
    }
    OwOilState a, b;
    ow_oil_state(fluid, temperature_k, &a);
    ow_oil_state(diesel, 313.15, &b); // diesel at its usual 40 degC
    spray->elkotb_m = elkotb(&a, drop_pa, air_kg_m3);
    spray->elkotb_ratio = spray->elkotb_m / elkotb(&b, drop_pa, air_kg_m3);
    spray->hiroyasu_m = hiroyasu(&a, drop_pa, bore_m, air_kg_m3);
    spray->hiroyasu_ratio = spray->hiroyasu_m / hiroyasu(&b, drop_pa, bore_m, air_kg_m3);
    const double energy = 1e-3 * ow_curve_value(&fluid->density_kg_m3, 288.15) * fluid->net_heat_j_kg;
    const double other = 1e-3 * ow_curve_value(&diesel->density_kg_m3, 288.15) * diesel->net_heat_j_kg;
    spray->energy_j_l = energy;
    spray->energy_ratio = other > 0.0 ? energy / other : 0.0;
    spray->fuel_use_ratio = energy > 0.0 ? other / energy : 0.0;
    return OW_OK;
}
