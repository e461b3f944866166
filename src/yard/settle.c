// SPDX-License-Identifier: GPL-3.0-or-later
// How fast drops and crumbs fall in oil, in a tank that stands or cools.
#include "yard/guard.h"

#include <math.h>
#include <stdio.h>

#define CRUMB_KG_M3 1150.0 // soaked with oil (assumed)
#define LARGEST_M 0.01
#define SMALLEST_M 1e-8
#define FASTEST_M_S 1e6 // no grain; keeps nonsense finite

double ow_yard_stokes(double diameter_m, double excess_kg_m3, double viscosity_pa_s) {
    if (!ow_is_positive(diameter_m) || !ow_is_positive(viscosity_pa_s) || !isfinite(excess_kg_m3)) {
        return 0.0;
    }
    return ow_hold(OW_GRAVITY_M_S2 * diameter_m * diameter_m * excess_kg_m3 / (18.0 * viscosity_pa_s),
                   -FASTEST_M_S, FASTEST_M_S);
}

double ow_yard_mobile(double viscosity_pa_s, double drop_viscosity_pa_s) {
    if (!ow_is_positive(viscosity_pa_s) || !ow_is_positive(drop_viscosity_pa_s)) {
        return 1.0;
    }
    return 3.0 * (viscosity_pa_s + drop_viscosity_pa_s) / (2.0 * viscosity_pa_s + 3.0 * drop_viscosity_pa_s);
}

double ow_yard_terminal(double diameter_m, double excess_kg_m3, double density_kg_m3, double viscosity_pa_s) {
    const double stokes = ow_yard_stokes(diameter_m, excess_kg_m3, viscosity_pa_s);
    if (stokes == 0.0 || !ow_is_positive(density_kg_m3)) {
        return stokes;
    }
    // Re (1 + 0.15 Re^0.687) = Re of Stokes; convex, so that Newton from above does not overshoot.
    const double per = density_kg_m3 * diameter_m / viscosity_pa_s, aim = fmin(fabs(stokes) * per, 1e15);
    double re = aim;
    for (int i = 0; i < 60; i++) {
        const double drag = 0.15 * pow(re, 0.687);
        const double next = re - (re * (1.0 + drag) - aim) / (1.0 + 1.687 * drag);
        const double change = fabs(next - re);
        re = next;
        if (change <= 1e-13 * re) {
            break;
        }
    }
    // Drag is no less than 0.44 (Newton's range, Re above some 1000): the slower of the two speeds.
    const double newton =
        sqrt(4.0 * OW_GRAVITY_M_S2 * diameter_m * fabs(excess_kg_m3) / (3.0 * 0.44 * density_kg_m3));
    return copysign(fmin(fmin(re / per, newton), FASTEST_M_S), excess_kg_m3);
}

double ow_yard_hindered(double volume_share, double reynolds) {
    const double re = ow_hold(reynolds, 0.0, 1e6);
    const double n = re < 0.2   ? 4.65
                     : re < 1.0 ? fmin(4.35 * pow(re, -0.03), 4.65)
                     : re < 500 ? fmin(4.45 * pow(re, -0.1), 4.35)
                                : 2.39;
    return pow(1.0 - ow_hold(volume_share, 0.0, 0.6), n);
}

/// Density of grain over oil; 0 when it does not sink.
static double excess(const OwSettle *s, double temperature_k, double oil_kg_m3) {
    double grain = ow_positive(s->grain_kg_m3, CRUMB_KG_M3);
    if (s->kind == OW_GRAIN_WATER) {
        if (!(temperature_k >= OW_ZERO_CELSIUS_K)) {
            return 0.0;
        }
        grain = ow_water_density(temperature_k);
    }
    return fmax(grain - oil_kg_m3, 0.0);
}

double ow_yard_settle_speed(const OwSettle *settle, double diameter_m, double temperature_k) {
    if (!settle || !settle->oil || !ow_is_positive(diameter_m) || !ow_is_positive(temperature_k)) {
        return 0.0;
    }
    OwOilState oil;
    ow_oil_state(settle->oil, temperature_k, &oil);
    const double more = excess(settle, temperature_k, oil.density_kg_m3);
    double speed = ow_yard_terminal(diameter_m, more, oil.density_kg_m3, oil.dynamic_pa_s);
    if (settle->kind == OW_GRAIN_WATER && settle->is_mobile) {
        speed *= ow_yard_mobile(oil.dynamic_pa_s, ow_water_viscosity(temperature_k));
    }
    const double hindered =
        settle->volume_share > 0.0
            ? ow_yard_hindered(settle->volume_share, speed * diameter_m / oil.kinematic_m2_s)
            : 1.0;
    return speed * hindered;
}

double ow_cooling_value(const OwCooling *cooling, double time_s) {
    if (!ow_is_positive(cooling->constant_s)) {
        return cooling->start_k;
    }
    return cooling->around_k +
           (cooling->start_k - cooling->around_k) * exp(-fmax(time_s, 0.0) / cooling->constant_s);
}

OwYardTime ow_cooling_time(const OwCooling *cooling, double temperature_k) {
    if (!ow_is_positive(temperature_k) || !ow_is_positive(cooling->start_k)) {
        return ow_yard_answer(OW_REACH_UNKNOWN, "a temperature is missing");
    }
    if (temperature_k == cooling->start_k) {
        return ow_yard_answer(OW_REACH_ALREADY, "it is at that temperature now");
    }
    const double share = (temperature_k - cooling->around_k) / (cooling->start_k - cooling->around_k);
    if (!ow_is_positive(cooling->constant_s) || !(share > 0.0 && share < 1.0)) {
        return ow_yard_answer(OW_REACH_NEVER, "left alone it does not come to %s: it goes from %s towards %s",
                              ow_degrees(temperature_k).text, ow_degrees(cooling->start_k).text,
                              ow_degrees(cooling->around_k).text);
    }
    return ow_yard_after(-cooling->constant_s * log(share));
}

double ow_yard_settle_way(const OwSettle *settle, double diameter_m, const OwCooling *cooling,
                          double time_s) {
    if (!(time_s > 0.0) || !isfinite(time_s)) {
        return 0.0;
    }
    const double constant = cooling->constant_s;
    if (!ow_is_positive(constant)) {
        return ow_yard_settle_speed(settle, diameter_m, cooling->start_k) * time_s;
    }
    // Three Gauss points a panel of a quarter time constant; after eight of them it is as cold as around.
    static const double at[3] = {0.1127016653792583, 0.5, 0.8872983346207417},
                        weight[3] = {5.0 / 18.0, 8.0 / 18.0, 5.0 / 18.0};
    const double step = 0.25 * constant, end = fmin(time_s, 8.0 * constant);
    double way = 0.0;
    for (double t = 0.0; t < end; t += step) {
        const double h = fmin(step, end - t);
        for (int i = 0; i < 3; i++) {
            way += h * weight[i] *
                   ow_yard_settle_speed(settle, diameter_m, ow_cooling_value(cooling, t + h * at[i]));
        }
    }
    if (time_s > end) {
        way += (time_s - end) * ow_yard_settle_speed(settle, diameter_m, cooling->around_k);
    }
    return way;
}

/// True and a reason when a grain does not sink in a tank at all.
static bool hangs(const OwSettle *s, double temperature_k, OwYardTime *why) {
    if (!s->oil || !ow_is_positive(s->height_m) || !ow_is_positive(temperature_k)) {
        *why = ow_yard_answer(OW_REACH_UNKNOWN, "oil, height or temperature is missing");
        return true;
    }
    if (s->kind == OW_GRAIN_WATER && temperature_k < OW_ZERO_CELSIUS_K) {
        *why = ow_yard_answer(OW_REACH_NEVER, "water drops are frozen at %s and ice hardly sinks in oil",
                              ow_degrees(temperature_k).text);
        return true;
    }
    if (!(ow_yard_settle_speed(s, 1e-4, temperature_k) > 0.0)) {
        *why = ow_yard_answer(OW_REACH_NEVER,
                              "it is no heavier than the oil: it hangs or floats; filter it out");
        return true;
    }
    return false;
}

OwYardTime ow_yard_settle_time(const OwSettle *settle, double diameter_m, const OwCooling *cooling) {
    OwYardTime time;
    if (!settle || !cooling || !ow_is_positive(diameter_m)) {
        return ow_yard_answer(OW_REACH_UNKNOWN, "the size of the grain is missing");
    }
    if (hangs(settle, cooling->start_k, &time)) {
        return time;
    }
    double low = 0.0, high = settle->height_m / ow_yard_settle_speed(settle, diameter_m, cooling->start_k);
    if (!(high > 0.0)) {
        return ow_yard_answer(OW_REACH_NEVER, "it does not sink");
    }
    const bool is_cooling = ow_is_positive(cooling->constant_s);
    while (is_cooling && ow_yard_settle_way(settle, diameter_m, cooling, high) < settle->height_m) {
        low = high;
        high *= 2.0;
        if (high > 4.0 * OW_YARD_LONGEST_S) {
            return ow_yard_answer(OW_REACH_NEVER,
                                  "it would take more than ten years: warm the oil, or filter");
        }
    }
    for (int i = 0; i < 60 && is_cooling; i++) {
        const double mid = 0.5 * (low + high);
        if (ow_yard_settle_way(settle, diameter_m, cooling, mid) < settle->height_m) {
            low = mid;
        } else {
            high = mid;
        }
    }
    time = ow_yard_after(high);
    const double cloud = settle->oil->cloud_point_k, end_k = ow_cooling_value(cooling, high);
    if (time.reach == OW_REACH_YES && cloud > 0.0 && end_k < cloud) {
        snprintf(time.reason, sizeof time.reason,
                 "at %s the oil is below its cloud point of %s: crystals may hold drops and crumbs up",
                 ow_degrees(end_k).text, ow_degrees(cloud).text);
    }
    return time;
}

double ow_yard_settle_cut(const OwSettle *settle, const OwCooling *cooling, double time_s) {
    if (!settle || !cooling || !ow_is_positive(settle->height_m) || !(time_s > 0.0) ||
        !(ow_yard_settle_way(settle, LARGEST_M, cooling, time_s) >= settle->height_m)) {
        return LARGEST_M;
    }
    double low = log(SMALLEST_M), high = log(LARGEST_M);
    for (int i = 0; i < 50; i++) {
        const double mid = 0.5 * (low + high);
        if (ow_yard_settle_way(settle, exp(mid), cooling, time_s) >= settle->height_m) {
            high = mid;
        } else {
            low = mid;
        }
    }
    return exp(high);
}

OwStill ow_yard_still(const OwSettle *settle, double temperature_k, double difference_k, double grain_m) {
    OwStill still = {.cut_m = SMALLEST_M, .is_still = true};
    if (!settle || !settle->oil || !ow_is_positive(settle->height_m) || !ow_is_positive(temperature_k)) {
        still.is_still = false;
        snprintf(still.text, sizeof still.text, "oil, height or temperature is missing");
        return still;
    }
    OwOilState oil, warm;
    ow_oil_state(settle->oil, temperature_k, &oil);
    ow_oil_state(settle->oil, temperature_k + 5.0, &warm);
    const double beta = fmax((oil.density_kg_m3 - warm.density_kg_m3) / (5.0 * oil.density_kg_m3), 0.0);
    const double alpha = oil.conductivity_w_mk / (oil.density_kg_m3 * oil.specific_heat_j_kgk);
    const double h = ow_hold(settle->height_m, 1e-3, 100.0), dt = ow_up_to(fabs(difference_k), 1000.0);
    still.rayleigh = OW_GRAVITY_M_S2 * beta * dt * h * h * h / (oil.kinematic_m2_s * alpha);
    still.speed_m_s = alpha / h * sqrt(still.rayleigh);
    const double grain = ow_yard_settle_speed(settle, grain_m, temperature_k);
    still.is_still = still.rayleigh < 1708.0 || still.speed_m_s <= 0.1 * grain;
    double low = log(SMALLEST_M), high = log(LARGEST_M);
    for (int i = 0; i < 50; i++) {
        const double mid = 0.5 * (low + high);
        if (ow_yard_settle_speed(settle, exp(mid), temperature_k) >= still.speed_m_s) {
            high = mid;
        } else {
            low = mid;
        }
    }
    still.cut_m = exp(high);
    if (still.is_still) {
        snprintf(still.text, sizeof still.text, "no current to speak of: grains of %.0f µm fall undisturbed",
                 1e6 * ow_up_to(grain_m, 1.0));
    } else {
        snprintf(still.text, sizeof still.text,
                 "%.1f K (%.1f °F) between oil and wall or element drives currents some %.0f times as fast "
                 "as the grain "
                 "falls: a settling tank must stand without heat, lagged and out of the sun",
                 dt, 1.8 * dt, fmin(still.speed_m_s / fmax(grain, 1e-12), 1e6));
    }
    return still;
}
