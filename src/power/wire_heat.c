// SPDX-License-Identifier: GPL-3.0-or-later
// Temperature of a wire: steady balance, ampacity, and the time to a limit under overload.
#include "power/wire.h"

#include <math.h>

#define INSULATION_W_MK 0.17 // PVC and XLPE, from memory 0.16..0.19
#define EMISSIVITY 0.9       // matt plastic
#define STEFAN 5.670374419e-8
#define MELTED_K 1400.0

/// What a wire's balance needs of its section and place, worked out once.
typedef struct OwWireHeat {
    double air_k, share, outer_m,
        through_w_mk;  ///< conductance through the insulation, W per metre and kelvin
    double cold_ohm_m; ///< at 20 degC
} OwWireHeat;

static OwWireHeat heat_of(double area_m2, const OwWirePlace *place) {
    const double d = ow_power_conductor_diameter(area_m2), outer = d + 2.0 * ow_power_wall(area_m2);
    return (OwWireHeat){place->air_k, fmin(fmax(place->bundle, 0.05), 1.0), outer,
                        2.0 * M_PI_OW * INSULATION_W_MK / log(outer / d), ow_wire_ohm_m(area_m2, 293.15)};
}

static double ohm_at(const OwWireHeat *w, double temperature_k) {
    return w->cold_ohm_m * (1.0 + OW_COPPER_RISE_1_K * (temperature_k - 293.15));
}

/// Loss of one metre from a surface: Churchill & Chu 1975 (Int. J. Heat Mass Transfer 18:1049) for a
/// horizontal cylinder in still air, plus radiation. Air properties at the film temperature, power laws
/// fitted to tables, good to 2 % from 250 to 700 K.
static double surface_loss(double surface_k, double air_k, double diameter) {
    const double rise = surface_k - air_k;
    if (rise <= 0.0) {
        return 0.0;
    }
    const double film = 0.5 * (surface_k + air_k), warmth = log(film / 300.0);
    const double nu = 15.9e-6 * exp(1.77 * warmth), k = 0.0263 * exp(0.82 * warmth), prandtl = 0.707;
    const double ra = OW_GRAVITY_M_S2 / film * rise * diameter * diameter * diameter / (nu * nu) * prandtl;
    const double shape =
        0.387 / pow(1.0 + pow(0.559 / 0.707, 9.0 / 16.0), 8.0 / 27.0); // folded by the compiler
    const double root = 0.60 + shape * cbrt(sqrt(ra));
    const double h = root * root * k / diameter;
    const double s2 = surface_k * surface_k, a2 = air_k * air_k;
    return M_PI_OW * diameter * rise * (h + EMISSIVITY * STEFAN * (s2 + a2) * (surface_k + air_k));
}

/// Zero of a rising function between two temperatures, by false position with the Illinois rule (Dowell &
/// Jarratt 1971), to 1e-7 K.
static double zero_of(double (*f)(double t, const void *context), const void *context, double low,
                      double high) {
    double at_low = f(low, context), at_high = f(high, context);
    if (at_low >= 0.0) {
        return low;
    }
    if (at_high <= 0.0) {
        return high;
    }
    double t = low;
    for (int k = 0, side = 0; k < 80 && high - low > 1e-7; k++) {
        const double before = t;
        t = (low * at_high - high * at_low) / (at_high - at_low);
        const double at_t = f(t, context);
        if (at_t < 0.0) {
            low = t;
            at_low = at_t;
            at_high *= side < 0 ? 0.5 : 1.0;
            side = -1;
        } else {
            high = t;
            at_high = at_t;
            at_low *= side > 0 ? 0.5 : 1.0;
            side = 1;
        }
        if (fabs(t - before) < 1e-8) {
            break;
        }
    }
    return t;
}

typedef struct OwInside {
    const OwWireHeat *wire;
    double conductor_k, square_a2;
} OwInside;

static double surface_gap(double surface_k, const void *context) {
    const OwInside *in = context;
    const OwWireHeat *w = in->wire;
    return w->share * surface_loss(surface_k, w->air_k, w->outer_m) -
           w->through_w_mk * (in->conductor_k - surface_k);
}

/// Heat that one metre sheds with its conductor at a temperature.
static double wire_loss(const OwWireHeat *w, double conductor_k) {
    if (conductor_k <= w->air_k) {
        return 0.0;
    }
    const OwInside in = {.wire = w, .conductor_k = conductor_k};
    const double surface = zero_of(surface_gap, &in, w->air_k, conductor_k);
    return w->through_w_mk * (conductor_k - surface);
}

static double conductor_gap(double conductor_k, const void *context) {
    const OwInside *in = context;
    return wire_loss(in->wire, conductor_k) - in->square_a2 * ohm_at(in->wire, conductor_k);
}

double ow_wire_steady_k(double area_m2, double current_a, const OwWirePlace *place) {
    const OwWireHeat w = heat_of(area_m2, place);
    const OwInside in = {.wire = &w, .square_a2 = current_a * current_a};
    if (!(in.square_a2 < 1e16) || conductor_gap(MELTED_K, &in) <= 0.0) {
        return MELTED_K;
    }
    return zero_of(conductor_gap, &in, place->air_k, MELTED_K);
}

double ow_wire_ampacity(double area_m2, double limit_k, const OwWirePlace *place) {
    const OwWireHeat w = heat_of(area_m2, place);
    return sqrt(wire_loss(&w, limit_k) / ohm_at(&w, limit_k));
}

OwOverload ow_power_overload(double area_m2, double start_k, double limit_k, const OwWirePlace *place) {
    const OwWireHeat w = heat_of(area_m2, place);
    const double mid = fmax(0.5 * (start_k + limit_k), place->air_k + 1.0);
    const double conductance = wire_loss(&w, mid) / (mid - place->air_k);
    // Copper that is really there: strands are drawn to the resistance, not to the nominal section.
    const double copper = fmin(1.02 * 17.241e-9 / w.cold_ohm_m, area_m2);
    return (OwOverload){.heat_j_m = OW_COPPER_J_M3K * copper * (limit_k - start_k),
                        .start_ohm_m = ohm_at(&w, start_k),
                        .limit_ohm_m = ohm_at(&w, limit_k),
                        .start_loss_w_m = conductance * (start_k - place->air_k),
                        .limit_loss_w_m = conductance * (limit_k - place->air_k)};
}

double ow_power_overload_s(const OwOverload *o, double current_a) {
    if (o->heat_j_m <= 0.0) {
        return 0.0;
    }
    const double i2 = current_a * current_a;
    const double first = i2 * o->start_ohm_m - o->start_loss_w_m,
                 last = i2 * o->limit_ohm_m - o->limit_loss_w_m;
    if (!(first > 0.0) || !(last > 0.0)) {
        return INFINITY;
    }
    // integral of heat dT / f(T) for f straight from first to last; series where the two are nearly equal
    const double x = last / first - 1.0;
    return fabs(x) < 1e-6 ? o->heat_j_m / first : o->heat_j_m / first * log1p(x) / x;
}

double ow_wire_time_to(double area_m2, double current_a, double start_k, double limit_k,
                       const OwWirePlace *place) {
    const OwOverload overload = ow_power_overload(area_m2, start_k, limit_k, place);
    return ow_power_overload_s(&overload, current_a);
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
