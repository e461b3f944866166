// SPDX-License-Identifier: GPL-3.0-or-later
// Any legal yard from a seed: every value of every table drawn over its whole range.
#ifndef OW_TESTS_RANDOM_YARD_H
#define OW_TESTS_RANDOM_YARD_H

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "yard/plan_tables.h"

static inline double yard_even(uint64_t *seed) { // splitmix64, Steele et al. 2014
    uint64_t z = (*seed += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return (double)((z ^ (z >> 31)) >> 11) * 0x1p-53;
}

/// Each value of a table: the default, an end of its range, or anything between.
static inline void yard_draw_table(OwFieldTable table, void *base, uint64_t *seed) {
    for (int i = 0; i < table.count; i++) {
        const OwField *f = &table.rows[i];
        const double dice = yard_even(seed), at = yard_even(seed);
        double value = f->fallback;
        if (f->type == OW_FIELD_TEXT) {
            continue;
        }
        if (f->type == OW_FIELD_CHOICE) {
            int words = 0;
            while (f->choices[words] != NULL) {
                words++;
            }
            value = floor(at * words);
        } else if (dice < 0.06) {
            value = f->low;
        } else if (dice < 0.12) {
            value = f->high;
        } else if (dice < 0.6) {
            value = f->low > 0.0 && f->high / f->low > 100.0 ? f->low * pow(f->high / f->low, at)
                                                             : f->low + at * (f->high - f->low);
        }
        value = f->type == OW_FIELD_COUNT || f->type == OW_FIELD_FLAG ? floor(value) : value;
        ow_field_store(f, base, value);
    }
}

/// A legal yard of 1 to 8 steps in 1 to 3 vessels.
static inline void yard_draw(OwYard *yard, uint64_t *seed) {
    for (const OwSection *section = ow_yard_plan_sections(); section->name != NULL; section++) {
        yard_draw_table(section->fields, (char *)yard + section->offset, seed);
    }
    yard->oil.water_share = fmax(0.2 * pow(yard_even(seed), 3.0), 1e-6);
    yard->oil.solids_share = fmax(0.2 * pow(yard_even(seed), 3.0), 1e-6);
    yard->oil.acid_mg_g = fmax(200.0 * pow(yard_even(seed), 3.0), 0.01);
    yard->vessel_count = 1 + (int)(3.0 * yard_even(seed));
    for (int i = 0; i < yard->vessel_count; i++) {
        OwVessel *vessel = &yard->vessels[i];
        ow_vessel_default(vessel);
        yard_draw_table(ow_vessel_fields(), vessel, seed);
        vessel->heater_w = vessel->heater_w > 0.0 ? vessel->heater_w : 2000.0;
        (void)snprintf(vessel->name, sizeof vessel->name, "vessel %d", i);
    }
    yard->step_count = 1 + (int)(8.0 * yard_even(seed));
    for (int i = 0; i < yard->step_count; i++) {
        OwPlanStep *step = &yard->steps[i];
        const OwPlanKind kind = (OwPlanKind)(yard_even(seed) * OW_PLAN_KIND_COUNT);
        ow_yard_plan_step_default(kind, step);
        yard_draw_table(ow_yard_plan_words()[kind].fields, step, seed);
        (void)snprintf(step->name, sizeof step->name, "step %d", i);
        step->vessel = step->into = (int)(yard_even(seed) * yard->vessel_count);
        if (kind == OW_PLAN_FILTER || kind == OW_PLAN_CENTRIFUGE || kind == OW_PLAN_BLEND) {
            step->into = (int)(yard_even(seed) * yard->vessel_count);
        }
        if (kind == OW_PLAN_CENTRIFUGE) {
            step->as.centrifuge.outer_m = fmax(step->as.centrifuge.outer_m, 0.0021);
            step->as.centrifuge.inner_m =
                fmin(step->as.centrifuge.inner_m, 0.95 * step->as.centrifuge.outer_m);
            step->as.centrifuge.inner_m = fmax(step->as.centrifuge.inner_m, 0.001);
        }
        if (kind == OW_PLAN_BLEND) {
            (void)snprintf(step->as.blend.with, sizeof step->as.blend.with, "%s",
                           yard_even(seed) < 0.5 ? "diesel" : "soybean");
        }
    }
}

#endif
