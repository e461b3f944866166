// SPDX-License-Identifier: GPL-3.0-or-later
// How answers about a batch are made. Private to the yard.
#ifndef OW_YARD_PLAN_ANSWER_H
#define OW_YARD_PLAN_ANSWER_H

#include "yard/plan_walk.h"

typedef struct OwPlanJudge {
    const OwYard *yard;
    OwYardBatch *batch;
} OwPlanJudge;

/// A new finding; `step` is the one to change, -1 none.
OwFinding *ow_yard_plan_add(OwPlanJudge *j, const char *key, const char *label, OwTrust trust,
                            const char *basis, OwQuantity quantity, int step);
/// Its sentence, like printf.
void ow_yard_plan_say(OwFinding *finding, const char *format, ...) __attribute__((format(printf, 2, 3)));
/// A quantity in the batch's units; returns `text`.
const char *ow_yard_plan_write(const OwPlanJudge *j, double si, OwQuantity quantity, char text[64]);

/// Is it safe to make: heaters, heat, watching, fullest vessel; and the cautions that go with its steps.
void ow_yard_plan_judge_safety(OwPlanJudge *j);
void ow_yard_plan_gather_cautions(const OwYard *yard, OwYardBatch *batch);

#endif
