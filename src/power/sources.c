// SPDX-License-Identifier: GPL-3.0-or-later
// Battery (rest volts and resistance against charge, temperature, age) and alternator (output against speed,
// regulator).
#include "power/sources.h"

#include <math.h>

#define RPM (2.0 * 3.14159265358979323846 / 60.0)

static double clamp(double x, double low, double high) {
    return x > low ? (x < high ? x : high) : low;
}

/// Rest volts of six cells at 25 degC against charge: 11.89, 12.06, 12.24, 12.45, 12.65 V at 0, 25, 50, 75,
/// 100 % (battery makers' common table; published e.g. with acid density 1.120..1.265). With 0.2 mV/K a cell
/// (Bode 1977, from memory).
static double rest_volts(double charge, double temperature_k) {
    static const double table[] = {11.89, 12.06, 12.24, 12.45, 12.65};
    const double x = 4.0 * charge;
    const int i = x >= 3.0 ? 3 : (int)x;
    return table[i] + (x - i) * (table[i + 1] - table[i]) + 6.0 * 0.2e-3 * (temperature_k - 298.15);
}

/// Resistance over that at -18 degC. Cranking power of a full battery 100 % at 80 degF, 65 % at 30 degF, 40 %
/// at 0 degF (US Army TM 5-1185, battery table) read as the inverse of resistance; log-linear between, slope
/// kept below, 0.5 %/K above.
static double cold_factor(double temperature_k) {
    double log_factor;
    if (temperature_k >= 299.82) {
        log_factor = -0.005 * (temperature_k - 299.82);
    } else if (temperature_k >= 272.04) {
        log_factor = 0.43078 * (299.82 - temperature_k) / 27.78;
    } else {
        log_factor = 0.43078 + (0.91629 - 0.43078) * (272.04 - temperature_k) / 16.67;
    }
    return exp(log_factor) / 2.5;
}

OwSource ow_battery_source(const OwBatterySpec *battery, double charge, double temperature_k) {
    const double s = clamp(charge, 0.0, 1.0), t = clamp(temperature_k, 220.0, 340.0);
    const double blocks = battery->rated_v / 12.0, strings = battery->count > 1 ? battery->count : 1;
    // SAE J537: 7.2 V of 12 V after 30 s at the rating and -18 degC, from 12.6 V at rest.
    const double at_minus_18 = blocks * (12.6 - 7.2) / fmax(battery->cold_crank_a, 1.0);
    // Charge and age: assumed. Half as much again at half charge, three times when empty; half as much again
    // when worn out.
    const double give = at_minus_18 * cold_factor(t) / (0.35 + 0.65 * s) *
                        (1.0 + 0.5 * clamp(battery->age, 0.0, 1.0)) / strings;
    // Taking charge is harder, most of all when full (assumed; gives some 7 A into a full 12 V battery
    // at 14.2 V).
    const double s2 = s * s;
    return (OwSource){blocks * rest_volts(s, t), give, give * (4.0 + 40.0 * s2 * s2 * s2)};
}

double ow_battery_capacity(const OwBatterySpec *battery) {
    const double strings = battery->count > 1 ? battery->count : 1;
    return strings * battery->capacity_c * (1.0 - 0.2 * clamp(battery->age, 0.0, 1.0));
}

OwAlternatorCurve ow_power_alternator_fit(const OwAlternatorSpec *alternator) {
    OwAlternatorCurve curve = {alternator->is_fitted ? alternator->rated_a : 0.0, alternator->cut_in_rad_s,
                               0.0, alternator->pulley_ratio};
    const double idle = 1500.0 * RPM - curve.cut_in_rad_s, full = 6000.0 * RPM - curve.cut_in_rad_s;
    if (!(curve.top_a > 0.0) || !(idle > 0.0)) {
        return curve;
    }
    const double wanted = alternator->idle_a / curve.top_a;
    if (wanted > idle / full && wanted < 1.0) { // more curved than a straight line: find the width
        double low = 1e-3 * idle, high = 1e3 * full;
        for (int i = 0; i < 80; i++) {
            const double mid = sqrt(low * high);
            if (expm1(-idle / mid) / expm1(-full / mid) > wanted) {
                low = mid;
            } else {
                high = mid;
            }
        }
        curve.width_rad_s = sqrt(low * high);
        curve.top_a /= -expm1(-full / curve.width_rad_s);
    } else { // straight line through the rated point
        curve.top_a /= full;
    }
    return curve;
}

double ow_power_alternator_limit(const OwAlternatorCurve *curve, double engine_rad_s) {
    const double above = engine_rad_s * curve->ratio - curve->cut_in_rad_s;
    if (!(above > 0.0) || !(curve->top_a > 0.0)) {
        return 0.0;
    }
    return curve->width_rad_s > 0.0 ? -curve->top_a * expm1(-above / curve->width_rad_s)
                                    : curve->top_a * above;
}

double ow_alternator_limit(const OwAlternatorSpec *alternator, double engine_rad_s) {
    const OwAlternatorCurve curve = ow_power_alternator_fit(alternator);
    return ow_power_alternator_limit(&curve, engine_rad_s);
}

double ow_power_set_v(const OwAlternatorSpec *alternator, double temperature_k) {
    return alternator->set_v + alternator->set_slope_v_k * (clamp(temperature_k, 220.0, 420.0) - 293.15);
}
