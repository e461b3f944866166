// SPDX-License-Identifier: GPL-3.0-or-later
// ASTM D341 (Walther): kinematic viscosity against temperature as a straight line, its fit and its inverse.
#include "oil/walther.h"

#include <math.h>

// Highest viscosity that is ever given back, mm2/s: a solid for every purpose of a fuel system.
#define THICKEST_MM2_S 1.0e7

double ow_oil_walther_y(double mm2_s) {
    const double v = mm2_s;
    const double z = v + 0.7 + exp(-1.47 - 1.84 * v - 0.51 * v * v);
    return log10(log10(z));
}

double ow_oil_walther_v(double y) {
    if (!(y > -1.2)) { // Z of about 1.16, v about 0.34: thinner than any fuel here
        y = -1.2;
    }
    if (y > log10(log10(THICKEST_MM2_S + 0.7))) {
        return THICKEST_MM2_S;
    }
    const double excess = pow(10.0, pow(10.0, y)) - 0.7;
    double v = excess;
    for (int i = 0; i < 6;
         ++i) { // Newton on v + exp(-1.47 - 1.84 v - 0.51 v^2) = Z - 0.7; its slope lies between 0.57 and 1
        const double e = exp(-1.47 - 1.84 * v - 0.51 * v * v);
        v -= (v + e - excess) / (1.0 - e * (1.84 + 1.02 * v));
        if (!(v > 0.0)) {
            v = 0.01;
        }
    }
    return v;
}

OwStatus ow_oil_walther_fit(const OwViscosityPoint *points, int count, double *a, double *b) {
    if (!points || !a || !b || count < 2) {
        return OW_ERROR_USE;
    }
    double mean_x = 0.0, mean_y = 0.0;
    for (int i = 0; i < count; ++i) {
        const double t = points[i].temperature_k, v = points[i].kinematic_m2_s * 1e6;
        if (!(t > 150.0 && t < 700.0) || !(v >= 0.21 && v < THICKEST_MM2_S)) {
            return OW_ERROR_VALUE;
        }
        mean_x += log10(t) / count;
        mean_y += ow_oil_walther_y(v) / count;
    }
    double sxx = 0.0, sxy = 0.0;
    for (int i = 0; i < count; ++i) {
        const double dx = log10(points[i].temperature_k) - mean_x;
        sxx += dx * dx;
        sxy += dx * (ow_oil_walther_y(points[i].kinematic_m2_s * 1e6) - mean_y);
    }
    if (!(sxx > 1e-9)) { // all at one temperature (less than some 0.03 K apart)
        return OW_ERROR_VALUE;
    }
    const double slope = -sxy / sxx;
    if (!(slope > 0.0)) { // thicker when hot
        return OW_ERROR_VALUE;
    }
    *b = slope;
    *a = mean_y + slope * mean_x;
    return OW_OK;
}

double ow_oil_walther_value(double a, double b, double temperature_k) {
    const double t = temperature_k > 1.0 ? temperature_k : 1.0;
    return 1e-6 * ow_oil_walther_v(a - b * log10(t));
}
