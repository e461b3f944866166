// SPDX-License-Identifier: GPL-3.0-or-later
// Filling of the cubic tables that the morning reads.
#include "oil/curve.h"

#include <math.h>

double ow_curve_knot(int index) {
    return OW_CURVE_LOW_K + OW_CURVE_STEP_K * index;
}

/// Second-order slope at an end from the two nearest rises, held to the same limit.
static double one_sided(double near, double next) {
    const double slope = 1.5 * near - 0.5 * next;
    return slope * near > 0.0 ? copysign(fmin(fabs(slope), 3.0 * fabs(near)), near) : 0.0;
}

/// Slope at a knot of equal intervals: fourth-order difference (second-order next to an end), held to Fritsch
/// & Carlson's limit.
static double slope_at(const double *v, int i) {
    const int last = OW_CURVE_POINTS - 1;
    if (i == 0) {
        return one_sided(v[1] - v[0], v[2] - v[1]);
    }
    if (i == last) {
        return one_sided(v[last] - v[last - 1], v[last - 1] - v[last - 2]);
    }
    const double left = v[i] - v[i - 1], right = v[i + 1] - v[i];
    if (!(left * right > 0.0)) {
        return 0.0;
    }
    double slope = 0.5 * (v[i + 1] - v[i - 1]);
    if (i > 1 && i < last - 1) {
        slope = (v[i - 2] - 8.0 * v[i - 1] + 8.0 * v[i + 1] - v[i + 2]) / 12.0;
    }
    const double limit = 3.0 * fmin(fabs(left), fabs(right));
    return slope * left > 0.0 ? copysign(fmin(fabs(slope), limit), left) : 0.0;
}

void ow_curve_fill(OwCurve *curve, const double *values) {
    const int last = OW_CURVE_POINTS - 1;
    double slope[OW_CURVE_POINTS]; // per interval, not per kelvin
    for (int i = 0; i <= last; ++i) {
        slope[i] = slope_at(values, i);
    }
    for (int i = 0; i < last; ++i) {
        const double rise = values[i + 1] - values[i];
        curve->c[i][0] = values[i];
        curve->c[i][1] = slope[i];
        curve->c[i][2] = 3.0 * rise - 2.0 * slope[i] - slope[i + 1];
        curve->c[i][3] = slope[i] + slope[i + 1] - 2.0 * rise;
    }
    curve->c[last][0] = values[last];
    curve->c[last][1] = curve->c[last][2] = curve->c[last][3] = 0.0;
}

void ow_curve_fill_from(OwCurve *curve, double (*value)(double temperature_k, const void *data),
                        const void *data) {
    double values[OW_CURVE_POINTS];
    for (int i = 0; i < OW_CURVE_POINTS; ++i) {
        values[i] = value(ow_curve_knot(i), data);
    }
    ow_curve_fill(curve, values);
}
