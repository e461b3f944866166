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

#endif
