// SPDX-License-Identifier: GPL-3.0-or-later
// Temperature of a wire: steady balance, ampacity, and the time to a limit under overload.
#include "power/wire.h"

#include <math.h>

#define INSULATION_W_MK 0.17 // PVC and XLPE, from memory 0.16..0.19
#define EMISSIVITY 0.9       // matt plastic
#define STEFAN 5.670374419e-8
#define MELTED_K 1400.0

/// Loss of one metre from a surface: Churchill & Chu 1975 (Int. J. Heat Mass Transfer 18:1049) for a
/// horizontal cylinder in still air, plus radiation. Air properties at the film temperature, power laws
/// fitted to tables, good to 2 % from 250 to 700 K.
static double surface_loss(double surface_k, double air_k, double diameter) {
    const double rise = surface_k - air_k;
    if (rise <= 0.0) {
        return 0.0;
    }
    const double film = 0.5 * (surface_k + air_k), ratio = film / 300.0;
    const double nu = 15.9e-6 * pow(ratio, 1.77), k = 0.0263 * pow(ratio, 0.82), prandtl = 0.707;
    const double ra = OW_GRAVITY_M_S2 / film * rise * diameter * diameter * diameter / (nu * nu) * prandtl;
    const double root =
        0.60 + 0.387 * pow(ra, 1.0 / 6.0) / pow(1.0 + pow(0.559 / prandtl, 9.0 / 16.0), 8.0 / 27.0);
    const double h = root * root * k / diameter;
    const double s2 = surface_k * surface_k, a2 = air_k * air_k;
    return M_PI_OW * diameter * rise * (h + EMISSIVITY * STEFAN * (s2 + a2) * (surface_k + air_k));
}

/// Heat that one metre sheds with its conductor at a temperature.
static double wire_loss(double area_m2, double conductor_k, const OwWirePlace *place) {
    if (conductor_k <= place->air_k) {
        return 0.0;
    }
    const double d = ow_power_conductor_diameter(area_m2), outer = d + 2.0 * ow_power_wall(area_m2);
    const double through = 2.0 * M_PI_OW * INSULATION_W_MK / log(outer / d);
    const double share = fmin(fmax(place->bundle, 0.05), 1.0);
    double low = place->air_k, high = conductor_k;
    for (int i = 0; i < 40; i++) {
        const double mid = 0.5 * (low + high);
        if (share * surface_loss(mid, place->air_k, outer) < through * (conductor_k - mid)) {
            low = mid;
        } else {
            high = mid;
        }
    }
    return share * surface_loss(0.5 * (low + high), place->air_k, outer);
}

double ow_wire_steady_k(double area_m2, double current_a, const OwWirePlace *place) {
    const double i2 = current_a * current_a;
    if (!(i2 < 1e16) || i2 * ow_wire_ohm_m(area_m2, MELTED_K) >= wire_loss(area_m2, MELTED_K, place)) {
        return MELTED_K;
    }
    double low = place->air_k, high = MELTED_K;
    for (int i = 0; i < 50; i++) {
        const double mid = 0.5 * (low + high);
        if (i2 * ow_wire_ohm_m(area_m2, mid) > wire_loss(area_m2, mid, place)) {
            low = mid;
        } else {
            high = mid;
        }
    }
    return 0.5 * (low + high);
}

double ow_wire_ampacity(double area_m2, double limit_k, const OwWirePlace *place) {
    return sqrt(wire_loss(area_m2, limit_k, place) / ow_wire_ohm_m(area_m2, limit_k));
}

double ow_wire_time_to(double area_m2, double current_a, double start_k, double limit_k,
                       const OwWirePlace *place) {
    if (start_k >= limit_k) {
        return 0.0;
    }
    const double mid = fmax(0.5 * (start_k + limit_k), place->air_k + 1.0);
    const double conductance = wire_loss(area_m2, mid, place) / (mid - place->air_k);
    const double i2 = current_a * current_a;
    const double first = i2 * ow_wire_ohm_m(area_m2, start_k) - conductance * (start_k - place->air_k);
    const double last = i2 * ow_wire_ohm_m(area_m2, limit_k) - conductance * (limit_k - place->air_k);
    if (!(first > 0.0) || !(last > 0.0)) {
        return INFINITY;
    }
    // copper that is really there: strands are drawn to the resistance, not to the nominal section
    const double copper = 1.02 * 17.241e-9 / ow_wire_ohm_m(area_m2, 293.15);
    const double heat = OW_COPPER_J_M3K * fmin(copper, area_m2), rise = limit_k - start_k;
    const double x = last / first - 1.0;
    // integral of heat dT / f(T) for f straight from first to last; series where the two are nearly equal
    return fabs(x) < 1e-6 ? heat * rise / first : heat * rise / first * log1p(x) / x;
}

double ow_wire_adiabatic_s(double area_m2, double current_a, double start_k, double limit_k) {
    if (start_k >= limit_k) {
        return 0.0;
    }
    const double ks = 226.0 * area_m2 * 1e6, i2 = current_a * current_a;
    const double beta = 234.5 - OW_ZERO_CELSIUS_K;
    return i2 > 0.0 ? ks * ks * log((limit_k + beta) / (start_k + beta)) / i2 : INFINITY;
}

double ow_wire_overload_k(double insulation_k) {
    return insulation_k + 50.0;
}
