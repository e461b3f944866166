// SPDX-License-Identifier: GPL-3.0-or-later
// Curves of battery and alternator that are fitted once. Private to the power module.
#ifndef OW_POWER_SOURCES_H
#define OW_POWER_SOURCES_H

#include "oilwright/power.h"

/// Output curve through the two nameplate points: limit = top (1 - exp(-(n - cut_in)/width)); width 0 =
/// straight line.
typedef struct OwAlternatorCurve {
    double top_a, cut_in_rad_s, width_rad_s, ratio;
} OwAlternatorCurve;

OwAlternatorCurve ow_power_alternator_fit(const OwAlternatorSpec *alternator);
double ow_power_alternator_limit(const OwAlternatorCurve *curve, double engine_rad_s);
/// Volts the regulator holds at no load with itself at a temperature.
double ow_power_set_v(const OwAlternatorSpec *alternator, double temperature_k);

#endif
