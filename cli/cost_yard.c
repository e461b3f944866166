// SPDX-License-Identifier: GPL-3.0-or-later
// What a yard plan says of a litre of clean oil, put over the figures of a cost file.
#include "cost_cli.h"

OwStatus ow_cost_take_yard(OwCostPlan *plan, const char *path, const char *beside, OwUnits *units,
                           OwCostTaken *taken, OwFaults *faults) {
    (void)plan;
    (void)path;
    (void)beside;
    (void)units;
    (void)taken;
    (void)faults;
    return OW_ERROR_USE;
}
