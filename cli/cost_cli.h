// SPDX-License-Identifier: GPL-3.0-or-later
// What the files of `oilwright cost` share; the page builds on ow_cost_json_make.
#ifndef OW_COST_CLI_H
#define OW_COST_CLI_H

#include <jansson.h>

#include "cli.h"
#include "oilwright/money.h"

int ow_cli_cost(int argc, char **argv);

/// Samples that the verb and the page take unless told.
#define OW_COST_SAMPLES 8192

/// What was taken from a logbook or a yard plan, in one line; "" when nothing was.
typedef struct OwCostTaken {
    char log[200], yard[200];
} OwCostTaken;

/// The one-screen report.
void ow_cost_report(FILE *file, const OwCostPlan *plan, const OwCostAnswer *answer, const OwCostStudy *study,
                    const OwCostTaken *taken, OwDisplay display, bool is_ascii);
/// Everything as one object, SI and money; NULL when out of memory. The caller owns the reference.
json_t *ow_cost_json_make(const OwCostPlan *plan, const OwCostAnswer *answer, const OwCostStudy *study,
                          const OwCostTaken *taken);
/// The lines as RFC 4180 text: line, work, per litre (US gal), per km (mi), a year, unpaid and paid sums.
void ow_cost_csv(FILE *file, const OwCostAnswer *answer, OwDisplay display);

/// Figures of a yard plan over those of the plan. `path` may stand beside the file `beside` (may be NULL).
OwStatus ow_cost_take_yard(OwCostPlan *plan, const char *path, const char *beside, OwUnits *units,
                           OwCostTaken *taken, OwFaults *faults);
/// Figures of a logbook's period (dates or NULL), of one vehicle by its name or of all (NULL).
OwStatus ow_cost_take_log(OwCostPlan *plan, const char *path, const char *from, const char *to,
                          const char *vehicle, OwCostTaken *taken, OwFaults *faults);

#endif
