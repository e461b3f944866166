// SPDX-License-Identifier: GPL-3.0-or-later
// Geometry and constants of copper wire shared by the files of the power module. Private.
#ifndef OW_POWER_WIRE_H
#define OW_POWER_WIRE_H

#include "oilwright/power.h"

#define M_PI_OW 3.14159265358979323846
#define OW_COPPER_RISE_1_K 0.00393 // IEC 60028, at 20 degC
#define OW_COPPER_J_M3K 3.45e6     // IEC 60949

/// Diameter over the strands, m.
double ow_power_conductor_diameter(double area_m2);
/// Thickness of thin-wall insulation, m.
double ow_power_wall(double area_m2);

/// A wire between two temperatures, ready for many currents.
typedef struct OwOverload {
    double heat_j_m, start_ohm_m, limit_ohm_m, start_loss_w_m, limit_loss_w_m;
} OwOverload;

OwOverload ow_power_overload(double area_m2, double start_k, double limit_k, const OwWirePlace *place);
/// Seconds from the one to the other, as ow_wire_time_to.
double ow_power_overload_s(const OwOverload *overload, double current_a);

#endif
