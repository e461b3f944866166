// SPDX-License-Identifier: GPL-3.0-or-later
// From fills to intervals between full tanks.
#ifndef OW_LEARN_FUEL_H
#define OW_LEARN_FUEL_H

#include "oilwright/learn.h"

/// Intervals of one vehicle's fills (indexes in `order`), appended at `intervals`; returns how many, at most
/// `count`. Where the log has no two full tanks, one rough interval over all of it.
int ow_fuel_intervals(const OwLearnFill *fills, const int *order, int count, OwFuelInterval *intervals);
/// Spread of ln use that comes from how exactly "full" is the same at both ends: doubt over volume.
double ow_fuel_doubt(const OwFuelInterval *interval, const OwFuelSettings *settings);

#endif
