// SPDX-License-Identifier: GPL-3.0-or-later
// What the files of `oilwright batch` share.
#ifndef OW_CLI_BATCH_CLI_H
#define OW_CLI_BATCH_CLI_H

#include <jansson.h>

#include "oilwright/yard_plan.h"
#include "report_text.h"

int ow_cli_batch(int argc, char **argv);

/// The walk of a batch on one screen.
void ow_batch_text(const OwReport *report, const OwYard *yard, const OwYardBatch *batch,
                   const OwYardWeek *week);
/// The week on one screen.
void ow_batch_week_text(const OwReport *report, const OwYard *yard, const OwYardBatch *batch,
                        const OwYardWeek *week);
/// All of it as one object; NULL when out of memory.
json_t *ow_batch_json(const OwYard *yard, const OwYardBatch *batch, const OwYardWeek *week);

#endif
