// SPDX-License-Identifier: GPL-3.0-or-later
// The tables that everything about a yard file comes from. Private to the yard.
#ifndef OW_YARD_PLAN_TABLES_H
#define OW_YARD_PLAN_TABLES_H

#include "oilwright/yard_plan.h"
#include "rig/catalogue.h"

/// What the file calls a step.
typedef struct OwPlanWord {
    const char *word;
    OwPlanKind kind;
    OwFieldTable fields;         ///< offsets into OwPlanStep
    const OwSpecialKey *special; ///< ends with a NULL key
    const char *doc;
} OwPlanWord;

/// Rows in the order of OwPlanKind, ended by a NULL word.
const OwPlanWord *ow_yard_plan_words(void);
/// climate, incoming, targets, losses, week, prices, tests; offsets into OwYard, ended by a NULL name.
const OwSection *ow_yard_plan_sections(void);
OwFieldTable ow_vessel_fields(void); ///< OwVessel
/// A step of a kind with its defaults, no name, no vessel (-1).
void ow_yard_plan_step_default(OwPlanKind kind, OwPlanStep *step);
void ow_vessel_default(OwVessel *vessel);
/// Everything but oil, vessels and steps.
void ow_yard_plan_default(OwYard *yard);
/// Index by name, -1 none.
int ow_yard_find_vessel(const OwYard *yard, const char *name);
int ow_yard_find_step(const OwYard *yard, const char *name);

#endif
