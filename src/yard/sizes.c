// SPDX-License-Identifier: GPL-3.0-or-later
// Sizes of drops and crumbs by mass, and what a settling tank takes of them.
#include "yard/guard.h"

#include <math.h>

OwSizes ow_sizes_default(OwGrainKind kind) {
    return kind == OW_GRAIN_WATER ? (OwSizes){OW_SIZES_LOG_NORMAL, 40e-6, 0.9}
                                  : (OwSizes){OW_SIZES_ROSIN_RAMMLER, 100e-6, 0.9};
}

/// Size and spread held to what can be computed.
static OwSizes held(const OwSizes *sizes) {
    OwSizes s = *sizes;
    s.size_m = ow_hold(s.size_m, 1e-9, 1.0);
    s.spread = ow_hold(s.spread, s.kind == OW_SIZES_LOG_NORMAL ? 1e-3 : 0.1,
                       s.kind == OW_SIZES_LOG_NORMAL ? 5.0 : 50.0);
    return s;
}

double ow_sizes_coarser(const OwSizes *sizes, double diameter_m) {
    if (!(diameter_m > 0.0)) {
        return 1.0;
    }
    const OwSizes s = held(sizes);
    if (s.kind == OW_SIZES_LOG_NORMAL) {
        return 0.5 * erfc(log(diameter_m / s.size_m) / (s.spread * 1.4142135623730951));
    }
    return exp(-pow(diameter_m / s.size_m, s.spread));
}

/// Regularised lower incomplete gamma function P(a, x): series below a + 1, continued fraction (Lentz) above.
static double gamma_p(double a, double x) {
    if (!(x > 0.0)) {
        return 0.0;
    }
    const double front = exp(a * log(x) - x - lgamma(a));
    if (x < a + 1.0) {
        double term = 1.0 / a, sum = term;
        for (int n = 1; n < 500 && term > 1e-17 * sum; n++) {
            term *= x / (a + n);
            sum += term;
        }
        return fmin(front * sum, 1.0);
    }
    double b = x + 1.0 - a, c = 1e300, d = 1.0 / b, h = d;
    for (int n = 1; n < 500; n++) {
        const double an = -n * (n - a);
        b += 2.0;
        d = 1.0 / (an * d + b);
        c = b + an / c;
        const double change = c * d;
        h *= change;
        if (fabs(change - 1.0) < 1e-16) {
            break;
        }
    }
    return ow_hold(1.0 - front * h, 0.0, 1.0);
}

double ow_sizes_removed(const OwSizes *sizes, double cut_m) {
    if (!(cut_m > 0.0)) {
        return 1.0;
    }
    const OwSizes s = held(sizes);
    const double x = cut_m / s.size_m;
    double finer;
    if (s.kind == OW_SIZES_LOG_NORMAL) {
        // Integral of (d/cut)^2 over the finer part: second moment of a log-normal, cut off.
        const double root = 1.4142135623730951, l = log(x);
        finer = 0.5 * erfc(-(l - 2.0 * s.spread * s.spread) / (s.spread * root));
        finer = finer > 0.0 ? exp(2.0 * s.spread * s.spread - 2.0 * l + log(finer)) : 0.0;
    } else {
        const double a = 1.0 + 2.0 / s.spread, p = gamma_p(a, pow(x, s.spread));
        finer = p > 0.0 ? exp(lgamma(a) - 2.0 * log(x) + log(p)) : 0.0;
    }
    return ow_hold(ow_sizes_coarser(&s, cut_m) + finer, 0.0, 1.0);
}

double ow_sizes_removed_stirred(const OwSizes *sizes, double cut_m) {
    if (!(cut_m > 0.0)) {
        return 1.0;
    }
    const OwSizes s = held(sizes);
    // Bins even in ln d, wide enough for all but 1e-9 of the mass.
    const double half = s.kind == OW_SIZES_LOG_NORMAL ? 7.0 * s.spread : 21.0 / s.spread;
    const double top = s.kind == OW_SIZES_LOG_NORMAL ? half : 3.2 / s.spread;
    const int bins = 2000;
    const double low = s.size_m * exp(-half), step = exp((half + top) / bins);
    double sum = 0.0, d = low, coarser = 1.0;
    for (int i = 0; i < bins; i++, d *= step) {
        const double next = i + 1 < bins ? ow_sizes_coarser(&s, d * step) : 0.0, x = d * sqrt(step) / cut_m;
        sum -= (coarser - next) * expm1(-x * x);
        coarser = next;
    }
    return ow_hold(sum, 0.0, 1.0);
}
