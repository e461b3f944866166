// SPDX-License-Identifier: GPL-3.0-or-later
// Warming a tank of oil with an electric element: time, energy, loss, and how hot the oil gets at the
// element.
#include "oilwright/heat.h"
#include "yard/guard.h"

#include <math.h>
#include <stdio.h>

#define STEEL_J_KGK 460.0 // near 60 degC (Incropera A.1 gives 434 at 27 degC for carbon steel)
#define WATER_J_KGK 4186.0
#define ELEMENT_M 0.010 // diameter of a usual rod element
#define HOTTEST_K 800.0

double ow_tank_area(const OwTankShape *tank) {
    const double d = ow_up_to(tank->diameter_m, 100.0), h = ow_up_to(tank->height_m, 100.0);
    return OW_PI * d * h + 0.5 * OW_PI * d * d;
}

double ow_tank_volume(const OwTankShape *tank) {
    const double d = ow_up_to(tank->diameter_m, 100.0);
    return 0.25 * OW_PI * d * d * ow_up_to(tank->height_m, 100.0);
}

/// The outer surface; false when the tank has no size.
static bool surface_of(const OwTankShape *tank, double around_k, OwSurface *surface) {
    const double area = ow_tank_area(tank);
    if (!(area > 0.0)) {
        return false;
    }
    ow_heat_surface_make(area, ow_hold(tank->diameter_m, 1e-3, 100.0),
                         ow_hold(ow_positive(tank->emissivity, 0.9), 0.0, 1.0),
                         ow_up_to(tank->insulation_w_m2k, 1e6), 0.0, around_k, surface);
    return true;
}

static double loss_of(const OwSurface *surface, double oil_k, double around_k) {
    return ow_heat_surface_value(surface, oil_k, around_k, 0.0) * (oil_k - around_k);
}

double ow_tank_loss(const OwTankShape *tank, double oil_k, double around_k) {
    OwSurface surface;
    const double oil = ow_hold(oil_k, 150.0, HOTTEST_K), around = ow_hold(around_k, 150.0, HOTTEST_K);
    return surface_of(tank, around, &surface) ? loss_of(&surface, oil, around) : 0.0;
}

/// Heat capacity in J/K of oil, metal and water.
static double capacity(const OwTankShape *tank, const OwFluid *oil, double oil_kg, double water_kg,
                       double t_k) {
    return ow_up_to(oil_kg, 1e9) * ow_curve_value(&oil->specific_heat_j_kgk, t_k) +
           ow_up_to(tank->metal_kg, 1e9) * ow_up_to(ow_positive(tank->metal_j_kgk, STEEL_J_KGK), 1e5) +
           ow_up_to(water_kg, 1e9) * WATER_J_KGK;
}

OwCooling ow_tank_cooling(const OwTankShape *tank, const OwFluid *oil, double oil_kg, double start_k,
                          double around_k) {
    OwCooling cooling = {ow_hold(start_k, 150.0, HOTTEST_K), ow_hold(around_k, 150.0, HOTTEST_K), 0.0};
    const double mean = 0.5 * (cooling.start_k + cooling.around_k);
    OwSurface surface;
    if (surface_of(tank, cooling.around_k, &surface)) {
        cooling.constant_s = capacity(tank, oil, oil_kg, 0.0, mean) /
                             ow_heat_surface_value(&surface, mean, cooling.around_k, 0.0);
    }
    return cooling;
}

/// Surface temperature of an element under a load: horizontal rod in still oil, Churchill & Chu 1975.
static double film_temperature(const OwFluid *oil, double oil_k, double load_w_m2) {
    double low = oil_k, high = oil_k + 600.0;
    for (int i = 0; i < 50; i++) {
        const double wall = 0.5 * (low + high), film = 0.5 * (wall + oil_k);
        OwOilState state, cool;
        ow_oil_state(oil, film, &state);
        ow_oil_state(oil, film - 5.0, &cool);
        const double alpha = state.conductivity_w_mk / (state.density_kg_m3 * state.specific_heat_j_kgk);
        const double beta =
            fmax((cool.density_kg_m3 - state.density_kg_m3) / (5.0 * state.density_kg_m3), 5e-4);
        const double rayleigh = OW_GRAVITY_M_S2 * beta * (wall - oil_k) * ELEMENT_M * ELEMENT_M * ELEMENT_M /
                                (state.kinematic_m2_s * alpha);
        const double h = ow_heat_churchill_chu(rayleigh, state.kinematic_m2_s / alpha) *
                         state.conductivity_w_mk / ELEMENT_M;
        if (h * (wall - oil_k) < load_w_m2) {
            low = wall;
        } else {
            high = wall;
        }
    }
    return 0.5 * (low + high);
}

/// Where power and loss balance.
static double steady(const OwSurface *surface, double power_w, double around_k) {
    double low = around_k, high = HOTTEST_K;
    if (loss_of(surface, high, around_k) <= power_w) {
        return high;
    }
    for (int i = 0; i < 60; i++) {
        const double mid = 0.5 * (low + high);
        if (loss_of(surface, mid, around_k) < power_w) {
            low = mid;
        } else {
            high = mid;
        }
    }
    return 0.5 * (low + high);
}

/// Time and stored heat from one temperature to a higher one; loss taken as linear in each of the panels,
/// which keeps the approach to the steady temperature exact. Infinite when it is not reached.
static double warm(const OwTankShape *tank, const OwFluid *oil, double oil_kg, double water_kg,
                   const OwSurface *surface, double power_w, double from_k, double to_k, double around_k,
                   double *stored_j) {
    const int panels = 64;
    const double step = (to_k - from_k) / panels;
    double time = 0.0, left = power_w - loss_of(surface, from_k, around_k);
    *stored_j = 0.0;
    for (int i = 0; i < panels; i++) {
        const double t = from_k + i * step, next = power_w - loss_of(surface, t + step, around_k);
        if (!(left > 0.0) || !(next > 0.0)) {
            return INFINITY;
        }
        const double heat = capacity(tank, oil, oil_kg, water_kg, t + 0.5 * step) * step, ratio = left / next;
        const double mean = fabs(ratio - 1.0) > 1e-6 ? (left - next) / log(ratio) : 0.5 * (left + next);
        *stored_j += heat;
        time += heat / mean;
        left = next;
    }
    return time;
}

static void judge(OwHeatUp *h) {
    h->is_load_high = h->load_w_m2 > OW_LOAD_LIMIT_W_M2;
    h->is_film_hot = h->film_k > OW_FILM_LIMIT_K;
    h->is_steady_hot = h->steady_k > OW_HEAT_LIMIT_K;
    if (h->is_film_hot) {
        snprintf(h->caution, sizeof h->caution,
                 "the oil at the element reaches about %s (limit %s, common practice): it ages and cokes; "
                 "take an element "
                 "with more surface or less power",
                 ow_degrees(h->film_k).text, ow_degrees(OW_FILM_LIMIT_K).text);
    } else if (h->is_load_high) {
        snprintf(h->caution, sizeof h->caution,
                 "the element carries %.1f W/cm2 (%.0f W/in2; limit %.1f and %.0f in standing oil, heater "
                 "makers' guides): "
                 "take one with more surface",
                 1e-4 * h->load_w_m2, 6.4516e-4 * h->load_w_m2, 1e-4 * OW_LOAD_LIMIT_W_M2,
                 6.4516e-4 * OW_LOAD_LIMIT_W_M2);
    } else if (h->is_steady_hot) {
        snprintf(
            h->caution, sizeof h->caution,
            "left on, this heater would take the oil to %s%s: it needs a thermostat and a cut-out of its own",
            h->steady_k >= HOTTEST_K ? "over " : "", ow_degrees(h->steady_k).text);
    }
}

OwHeatUp ow_yard_heat(const OwTankShape *tank, const OwFluid *oil, double oil_kg, double water_kg,
                      double power_w, double element_m2, double from_k, double to_k, double around_k) {
    OwHeatUp h = {0};
    OwSurface surface;
    if (!tank || !oil || !ow_is_positive(oil_kg) || !ow_is_positive(from_k) || !ow_is_positive(to_k) ||
        !ow_is_positive(around_k) || !surface_of(tank, ow_hold(around_k, 150.0, HOTTEST_K), &surface)) {
        h.time = ow_yard_answer(OW_REACH_UNKNOWN, "tank, oil mass or a temperature is missing");
        return h;
    }
    const double around = ow_hold(around_k, 150.0, HOTTEST_K), from = ow_hold(from_k, 150.0, HOTTEST_K),
                 power = ow_hold(power_w, 0.0, 1e9);
    h.steady_k = steady(&surface, power, around);
    if (ow_is_positive(element_m2)) {
        h.load_w_m2 = fmin(power / element_m2, 1e9);
        h.film_k = film_temperature(oil, fmin(to_k, OW_HEAT_LIMIT_K), h.load_w_m2);
    }
    judge(&h);
    if (to_k > OW_HEAT_LIMIT_K) {
        h.time = ow_yard_answer(OW_REACH_REFUSED,
                                "%s is over %s: water under the oil turns to steam and throws the oil out",
                                ow_degrees(to_k).text, ow_degrees(OW_HEAT_LIMIT_K).text);
        return h;
    }
    if (to_k <= from) {
        h.time = ow_yard_answer(OW_REACH_ALREADY, "it is as warm now");
        return h;
    }
    const double time = warm(tank, oil, oil_kg, water_kg, &surface, power, from, to_k, around, &h.stored_j);
    h.time = isfinite(time)
                 ? ow_yard_after(time)
                 : ow_yard_answer(OW_REACH_NEVER, "the tank's loss holds it at %s: lag it or fit more power",
                                  ow_degrees(h.steady_k).text);
    if (h.time.reach == OW_REACH_YES) {
        h.energy_j = power * h.time.time_s;
        h.lost_j = h.energy_j - h.stored_j;
    } else {
        h.stored_j = 0.0;
    }
    return h;
}

double ow_yard_heat_power(const OwTankShape *tank, const OwFluid *oil, double oil_kg, double water_kg,
                          double from_k, double to_k, double around_k, double time_s) {
    OwSurface surface;
    if (!tank || !oil || !ow_is_positive(oil_kg) || !ow_is_positive(time_s) || !(to_k > from_k) ||
        !(from_k > 0.0) || !ow_is_positive(around_k) || !isfinite(to_k) ||
        !surface_of(tank, around_k, &surface)) {
        return 0.0;
    }
    double low = 0.0, high = 1e6, stored;
    if (!(warm(tank, oil, oil_kg, water_kg, &surface, high, from_k, to_k, around_k, &stored) <= time_s)) {
        return 0.0;
    }
    for (int i = 0; i < 60; i++) {
        const double mid = 0.5 * (low + high);
        if (warm(tank, oil, oil_kg, water_kg, &surface, mid, from_k, to_k, around_k, &stored) <= time_s) {
            high = mid;
        } else {
            low = mid;
        }
    }
    return high;
}
