// SPDX-License-Identifier: GPL-3.0-or-later
// Private: a pump's pressure against flow as a falling, smooth curve through given points.
#ifndef OILWRIGHT_FLOW_CURVE_H
#define OILWRIGHT_FLOW_CURVE_H

#include "oilwright/flow.h"

/// Points with the tangents of a monotone cubic; a straight line beyond the last point. Slopes are all below
/// zero.
typedef struct OwPumpCurve {
    int count, given_count;
    double flow[OW_FLOW_CURVE], pa[OW_FLOW_CURVE], tangent[OW_FLOW_CURVE];
    double given_flow[OW_FLOW_CURVE], given_pa[OW_FLOW_CURVE]; ///< as last read, to see a change
} OwPumpCurve;

/// Reads the points of a link when they have changed: flow rising from 0 or above, pressure falling. A point
/// that breaks the order is left out. False when fewer than two remain: the straight line is used then.
bool ow_pump_curve_prepare(const OwLink *link, OwPumpCurve *curve);
/// Pressure rise at a flow >= 0 and its slope (below zero). Monotone cubic after Fritsch & Butland 1984, SIAM
/// J. Sci. Stat. Comput. 5:300; below the first point and above the last the end tangent continues.
double ow_pump_curve_rise(const OwPumpCurve *curve, double flow_m3_s, double *slope);

#endif
