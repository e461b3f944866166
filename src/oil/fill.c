// SPDX-License-Identifier: GPL-3.0-or-later
// Curves that follow from constants: surface tension, air release, crystals and their thickening.
#include "oil/curve.h"
#include "oil/fluids.h"

#include <math.h>
#include <stdio.h>

OwStatus ow_oil_fault(OwFaults *faults, OwStatus status, OwSeverity severity, const char *part,
                      const char *message, const char *remedy) {
    OwFault fault = {.status = status, .severity = severity};
    snprintf(fault.part, sizeof fault.part, "%s", part && *part ? part : "oil");
    snprintf(fault.message, sizeof fault.message, "%s", message);
    snprintf(fault.remedy, sizeof fault.remedy, "%s", remedy ? remedy : "");
    if (faults) {
        ow_faults_add(faults, &fault);
    }
    return status;
}

const char *ow_trust_text(OwTrust trust) {
    static const char *const text[] = {"measured", "published", "common practice", "assumed"};
    return (unsigned)trust < sizeof text / sizeof text[0] ? text[trust] : "?";
}

double ow_oil_density_slope(OwOilKind kind) {
    // Plant oils: Noureddini et al. 1992 (JAOCS 69:1184), -0.65 rapeseed to -0.68 coconut between 24 and 110
    // degC; Magne & Skau's cottonseed gives -0.67 from 0 to 101 degC. Diesel -0.70 and ester -0.73 from
    // memory.
    static const double slope[] = {-0.67, -0.70, -0.73};
    return slope[(unsigned)kind < 3 ? kind : 0];
}

void ow_oil_fill_log(OwFluid *fluid) {
    double values[OW_CURVE_POINTS];
    for (int i = 0; i < OW_CURVE_POINTS; ++i) {
        values[i] = log(fluid->kinematic_m2_s.c[i][0]);
    }
    ow_curve_fill(&fluid->log_kinematic, values);
}

/// Vapour pressure of water, Pa: Antoine's equation, 1 to 100 degC within 0.3 %, to 160 degC within 1 %
/// (NIST/Stull constants from memory).
static double water_pressure(double temperature_k) {
    const double t = fmax(temperature_k - OW_ZERO_CELSIUS_K, -50.0);
    return t < 100.0 ? 133.322 * pow(10.0, 8.07131 - 1730.63 / (233.426 + t))
                     : 133.322 * pow(10.0, 8.14019 - 1810.94 / (244.485 + t));
}

/// Water that dissolves, by mass. Plant oils: 0.1 % near 22 degC, 0.25 % near 80 degC (from memory: Hilder
/// 1968, JAOCS 45:703). Petroleum 80 mg/kg and ester 1500 mg/kg at 22 degC (from memory).
static double water_solubility(OwOilKind kind, double temperature_k) {
    static const double at_22[] = {1.0e-3, 8.0e-5, 1.5e-3}, steepness[] = {1664.0, 3500.0, 1664.0};
    const unsigned k = (unsigned)kind < 3 ? kind : 0;
    return at_22[k] * exp(-steepness[k] * (1.0 / temperature_k - 1.0 / 295.65));
}

/// Absolute pressure at which air in balance at one atmosphere fills 2 % of a suction (Henry's law, as
/// ow_flow_fill), or that of the dissolved water's vapour (activity = water over what would dissolve),
/// whichever is higher.
static double air_floor(const OwFluid *fluid, double temperature_k) {
    const double s = fluid->air_solubility, gas = 0.02 / 0.98;
    double floor_pa = OW_ATMOSPHERE_PA * s / (s + gas);
    if (fluid->water_share > 0.0) {
        const double activity = fmin(1.0, fluid->water_share / water_solubility(fluid->kind, temperature_k));
        floor_pa = fmax(floor_pa, activity * water_pressure(temperature_k));
    }
    return floor_pa;
}

void ow_oil_fill_rest(OwFluid *fluid) {
    // Fall of surface tension with temperature: 0.07 mN/m a kelvin for oils, 0.08 for petroleum (from
    // memory).
    static const double fall[] = {7.0e-5, 8.0e-5, 7.5e-5};
    double kinematic[OW_CURVE_POINTS], tension[OW_CURVE_POINTS], wax[OW_CURVE_POINTS], air[OW_CURVE_POINTS];
    for (int i = 0; i < OW_CURVE_POINTS; ++i) {
        const double t = ow_curve_knot(i);
        wax[i] = ow_wax_share(&fluid->wax, t);
        kinematic[i] = fmin(fluid->kinematic_m2_s.c[i][0] * ow_wax_thickening(&fluid->wax, wax[i]), 1.0);
        tension[i] = fmax(fluid->surface_tension_n_m -
                              fall[(unsigned)fluid->kind < 3 ? fluid->kind : 0] * (t - 293.15),
                          0.005);
        air[i] = air_floor(fluid, t);
    }
    // Readings far apart from the model can leave a dent; no liquid thickens as it warms.
    for (int i = OW_CURVE_POINTS - 2; i >= 0; i--) {
        kinematic[i] = fmax(kinematic[i], kinematic[i + 1]);
    }
    ow_curve_fill(&fluid->kinematic_m2_s, kinematic);
    ow_curve_fill(&fluid->surface_tension, tension);
    ow_curve_fill(&fluid->wax_share, wax);
    ow_curve_fill(&fluid->air_floor_pa, air);
    ow_oil_fill_log(fluid);
}

double ow_oil_liquid_knot(const OwFluid *fluid, int knot) {
    return fluid->kinematic_m2_s.c[knot][0] / ow_wax_thickening(&fluid->wax, fluid->wax_share.c[knot][0]);
}
