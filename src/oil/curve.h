// SPDX-License-Identifier: GPL-3.0-or-later
// Filling of the cubic tables that the morning reads.
#ifndef OILWRIGHT_OIL_CURVE_IMPL_H
#define OILWRIGHT_OIL_CURVE_IMPL_H

#include "oilwright/oil.h"

/// Temperature of a grid point, K.
double ow_curve_knot(int index);
/// Fills a curve from values at all OW_CURVE_POINTS knots: piecewise cubic Hermite with fourth-order slopes
/// held to the limit of Fritsch & Carlson (1980, SIAM J. Numer. Anal. 17:238), so that a table that falls
/// stays falling and one that is positive stays positive.
void ow_curve_fill(OwCurve *curve, const double *values);
/// Fills a curve from a function of temperature in K.
void ow_curve_fill_from(OwCurve *curve, double (*value)(double temperature_k, const void *data),
                        const void *data);

#endif
