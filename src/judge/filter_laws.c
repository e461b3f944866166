// SPDX-License-Identifier: GPL-3.0-or-later
// Filtration laws: a cake at constant pressure or flow, blocking, dirt by size.
#include "oilwright/filter_life.h"

#include <math.h>

/// K/2 and B of t = K/2 V^2 + B V.
static void line(const OwCake *c, double drop_pa, double *half_k, double *b) {
    *half_k = c->viscosity_pa_s * c->alpha_m_kg * c->solids_kg_m3 / (2.0 * c->area_m2 * c->area_m2 * drop_pa);
    *b = c->viscosity_pa_s * c->medium_1_m / (c->area_m2 * drop_pa);
}

/// Positive root of a x^2 + b x = c, in the form that does not cancel.
static double root(double a, double b, double c) {
    const double d = b + sqrt(b * b + 4.0 * a * c);
    return d > 0.0 ? 2.0 * c / d : 0.0;
}

double ow_cake_time(const OwCake *cake, double drop_pa, double volume_m3) {
    if (!(drop_pa > 0.0) || !(volume_m3 > 0.0)) {
        return 0.0;
    }
    double half_k, b;
    line(cake, drop_pa, &half_k, &b);
    return half_k * volume_m3 * volume_m3 + b * volume_m3;
}

double ow_cake_volume(const OwCake *cake, double drop_pa, double time_s) {
    return ow_cake_more(cake, drop_pa, 0.0, time_s);
}

double ow_cake_more(const OwCake *cake, double drop_pa, double before_m3, double time_s) {
    if (!(drop_pa > 0.0) || !(time_s > 0.0)) {
        return 0.0;
    }
    double half_k, b;
    line(cake, drop_pa, &half_k, &b);
    // (V0 + v)^2 - V0^2 = v^2 + 2 V0 v.
    return root(half_k, b + 2.0 * half_k * fmax(before_m3, 0.0), time_s);
}

double ow_cake_drop(const OwCake *cake, double flow_m3_s, double volume_m3) {
    return cake->viscosity_pa_s * flow_m3_s / cake->area_m2 *
           (cake->alpha_m_kg * cake->solids_kg_m3 * fmax(volume_m3, 0.0) / cake->area_m2 + cake->medium_1_m);
}

double ow_cake_steady_volume(const OwCake *cake, double drop_pa, double time_s) {
    if (!(drop_pa > 0.0) || !(time_s > 0.0)) {
        return 0.0;
    }
    // drop = viscosity (V/t) / A (alpha c V / A + Rm): V^2 twice as steep as at constant pressure.
    double half_k, b;
    line(cake, drop_pa, &half_k, &b);
    return root(2.0 * half_k, b, time_s);
}

OwStatus ow_cake_fit(const double *time_s, const double *volume_m3, int count, double *slope, double *cut) {
    double n = 0.0, sx = 0.0, sy = 0.0, sxx = 0.0, sxy = 0.0;
    for (int i = 0; i < count; i++) {
        const double x = volume_m3[i];
        if (!(x > 0.0) || !isfinite(time_s[i])) {
            return OW_ERROR_VALUE;
        }
        const double y = time_s[i] / x;
        n += 1.0;
        sx += x;
        sy += y;
        sxx += x * x;
        sxy += x * y;
    }
    const double det = n * sxx - sx * sx;
    if (count < 2 || !(det > 0.0)) {
        return OW_ERROR_VALUE;
    }
    *slope = (n * sxy - sx * sy) / det;
    *cut = (sy - *slope * sx) / n;
    return OW_OK;
}

const char *ow_filter_law_text(OwFilterLaw law) {
    static const char *const names[] = {"cake", "pores narrow", "pores close"};
    return (unsigned)law < OW_FILTER_LAWS ? names[law] : "unknown";
}

double ow_filter_ratio(OwFilterLaw law, double share, double end) {
    const double s = fmax(share, 0.0), e = fmax(end, 1.0 + 1e-9);
    if (law == OW_FILTER_CAKE) {
        return 1.0 + (e - 1.0) * s;
    }
    const double k = law == OW_FILTER_DEPTH ? 1.0 - 1.0 / sqrt(e) : 1.0 - 1.0 / e;
    const double open = 1.0 - k * s;
    if (!(open > 0.0)) {
        return INFINITY;
    }
    return law == OW_FILTER_DEPTH ? 1.0 / (open * open) : 1.0 / open;
}

double ow_filter_share(OwFilterLaw law, double ratio, double end) {
    const double r = fmax(ratio, 1.0), e = fmax(end, 1.0 + 1e-9);
    if (law == OW_FILTER_CAKE) {
        return (r - 1.0) / (e - 1.0);
    }
    return law == OW_FILTER_DEPTH ? (1.0 - 1.0 / sqrt(r)) / (1.0 - 1.0 / sqrt(e))
                                  : (1.0 - 1.0 / r) / (1.0 - 1.0 / e);
}

double ow_filter_coarser(double rating_m) {
    return exp(-fmax(rating_m, 0.0) / 15e-6);
}
