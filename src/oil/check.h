// SPDX-License-Identifier: GPL-3.0-or-later
// Refusal of descriptions that cannot be true.
#ifndef OILWRIGHT_OIL_CHECK_IMPL_H
#define OILWRIGHT_OIL_CHECK_IMPL_H

#include "oilwright/oil.h"

/// Every single value against its legal range; all faults are reported.
OwStatus ow_oil_check_spec(const OwOilSpec *spec, const char *part, OwFaults *faults);
/// Readings against each other: none may be thicker when hotter.
OwStatus ow_oil_check_readings(const OwViscosityPoint *reading, int count, const char *part,
                               OwFaults *faults);

#endif
