// SPDX-License-Identifier: GPL-3.0-or-later
// Pump curves: monotone cubic through the given points.
#include "flow/curve.h"

#include <math.h>
#include <string.h>

/// Least steepness, as a share of the chord over the whole curve: a flat stretch must still tell a flow from
/// a pressure.
#define LEAST_STEEPNESS 1e-4

static void read_points(const OwLink *link, OwPumpCurve *curve) {
    const int given = link->curve_count < OW_FLOW_CURVE ? link->curve_count : OW_FLOW_CURVE;
    int count = 0;
    for (int i = 0; i < given; i++) {
        const double q = link->curve_flow_m3_s[i], p = link->curve_pa[i];
        const bool is_usable = isfinite(q) && isfinite(p) && q >= 0.0;
        if (is_usable && (count == 0 || (q > curve->flow[count - 1] && p < curve->pa[count - 1]))) {
            curve->flow[count] = q;
            curve->pa[count++] = p;
        }
    }
    curve->count = count;
}

static void set_tangents(OwPumpCurve *curve) {
    const int last = curve->count - 1;
    const double *q = curve->flow, *p = curve->pa;
    const double least = -LEAST_STEEPNESS * (p[0] - p[last]) / (q[last] - q[0]);
    double before = 0.0;
    for (int i = 0; i <= last; i++) {
        const double after = i < last ? (p[i + 1] - p[i]) / (q[i + 1] - q[i]) : before;
        double tangent = after;
        if (i > 0 && i < last) {
            const double ha = q[i] - q[i - 1], hb = q[i + 1] - q[i];
            tangent = 3.0 * (ha + hb) / ((2.0 * hb + ha) / before + (hb + 2.0 * ha) / after);
        }
        curve->tangent[i] = tangent < least ? tangent : least;
        before = after;
    }
}

bool ow_pump_curve_prepare(const OwLink *link, OwPumpCurve *curve) {
    if (link->curve_count < 2) {
        return false;
    }
    const bool is_same = curve->given_count == link->curve_count &&
                         memcmp(curve->given_flow, link->curve_flow_m3_s, sizeof curve->given_flow) == 0 &&
                         memcmp(curve->given_pa, link->curve_pa, sizeof curve->given_pa) == 0;
    if (!is_same) {
        curve->given_count = link->curve_count;
        memcpy(curve->given_flow, link->curve_flow_m3_s, sizeof curve->given_flow);
        memcpy(curve->given_pa, link->curve_pa, sizeof curve->given_pa);
        read_points(link, curve);
        if (curve->count >= 2) {
            set_tangents(curve);
        }
    }
    return curve->count >= 2;
}

double ow_pump_curve_rise(const OwPumpCurve *curve, double flow_m3_s, double *slope) {
    const int last = curve->count - 1;
    const double *q = curve->flow, *p = curve->pa, *t = curve->tangent;
    if (flow_m3_s <= q[0]) {
        *slope = t[0];
        return p[0] + t[0] * (flow_m3_s - q[0]);
    }
    if (flow_m3_s >= q[last]) {
        *slope = t[last];
        return p[last] + t[last] * (flow_m3_s - q[last]);
    }
    int i = 0;
    while (flow_m3_s > q[i + 1]) {
        i++;
    }
    const double h = q[i + 1] - q[i], u = (flow_m3_s - q[i]) / h, v = 1.0 - u;
    const double chord = (p[i + 1] - p[i]) / h;
    *slope = 6.0 * u * v * chord + v * (1.0 - 3.0 * u) * t[i] + u * (3.0 * u - 2.0) * t[i + 1];
    return v * v * (1.0 + 2.0 * u) * p[i] + u * u * (3.0 - 2.0 * u) * p[i + 1] +
           h * u * v * (v * t[i] - u * t[i + 1]);
}
