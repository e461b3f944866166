// SPDX-License-Identifier: GPL-3.0-or-later
// What the unit reader and writer share; private to src/base and src/rig.
#ifndef OW_BASE_UNITS_IMPL_H
#define OW_BASE_UNITS_IMPL_H

#include "oilwright/units.h"

/// Longest quantity text that is read.
#define OW_UNITS_TEXT_MAX 79

/// One number at the start of `*text`: "90", "-3.5e2", "5/16", "1 1/2", "1-1/2". Moves `*text` past it. False
/// when there is none or it does not fit a double; `*wrong` then says why. Independent of the locale.
bool ow_number_read(const char **text, double *value, const char **wrong);
/// Spells the trade's characters in ASCII ("µ" as u, "²" as 2, "½" as 1/2, "°" as deg). False on any other
/// character.
bool ow_units_plain(const char *text, char *out, size_t size);
/// The unit text in libudunits2's spelling. False for anything but letters, one-digit exponents, / * . ^ ( )
/// and spaces.
bool ow_unit_spell(const char *text, char *out, size_t size);
/// A right example of a quantity ("8 mm\" or \"5/16 in"), to stand between quotes.
const char *ow_quantity_example(OwQuantity quantity);
/// "a length", "a temperature", ...
const char *ow_quantity_name(OwQuantity quantity);
/// A number with sensible digits, no exponent in the usual range, never NaN.
void ow_number_write(double value, int least_decimals, char *text, size_t size);

#endif
