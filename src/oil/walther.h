// SPDX-License-Identifier: GPL-3.0-or-later
// Walther coordinates, ASTM D341-09: y = log10 log10 Z, Z = v + 0.7 + exp(-1.47 - 1.84 v - 0.51 v^2), v in
// mm2/s, 0.21 to 2e7.
#ifndef OILWRIGHT_OIL_WALTHER_IMPL_H
#define OILWRIGHT_OIL_WALTHER_IMPL_H

#include "oilwright/oil.h"

/// y of a viscosity in mm2/s; the exponential matters only below 2 mm2/s.
double ow_oil_walther_y(double mm2_s);
/// Viscosity in mm2/s of a y; held between 0.2 and 1e7 mm2/s.
double ow_oil_walther_v(double y);

#endif
