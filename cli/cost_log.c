// SPDX-License-Identifier: GPL-3.0-or-later
// What a logbook's period says, put over the figures of a cost file.
#include "cost_cli.h"

OwStatus ow_cost_take_log(OwCostPlan *plan, const char *path, const char *from, const char *to,
                          const char *vehicle, OwCostTaken *taken, OwFaults *faults) {
    (void)plan;
    (void)path;
    (void)from;
    (void)to;
    (void)vehicle;
    (void)taken;
    (void)faults;
    return OW_ERROR_USE;
}
