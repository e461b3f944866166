// SPDX-License-Identifier: GPL-3.0-or-later
// Simplicity and serviceability as a sum that everybody can redo. The weights are a judgement: assumed.
#include <math.h>

#include "judge/faults.h"

bool ow_failure_is_stock(const OwPart *part) {
    switch (part->kind) {
    case OW_PART_CHAMBER:
        return false;
    case OW_PART_COOLANT_COIL:
        return false;
    case OW_PART_TANK:
        return part->as.tank.elements.count == 0 && part->as.tank.coil_w_k <= 0.0;
    default:
        return true;
    }
}

static bool is_repair(const OwFailure *f) {
    // What is filled in or lost is no part's fault.
    switch (f->kind) {
    case OW_FAILURE_PETROL:
    case OW_FAILURE_OTHER_FUEL:
    case OW_FAILURE_TANK_EMPTY:
    case OW_FAILURE_TANK_GELLED:
    case OW_FAILURE_COOLANT_LOST:
    case OW_FAILURE_INJECTION_PUMP_DEAD: // every diesel has one
        return false;
    default:
        return true;
    }
}

static void line(OwServiceScore *s, const char *what, double count, double weight) {
    s->lines[s->line_count++] =
        (OwScoreLine){.what = what, .count = count, .weight = weight, .points = count * weight};
    s->score -= count * weight;
}

void ow_failure_score(OwFailureWalk *walk) {
    OwServiceScore *s = &walk->score;
    *s = (OwServiceScore){.score = 100.0, .slowest_part = -1};
    const OwRig *rig = walk->rig;
    for (int p = 0; p < rig->part_count; p++) {
        const OwPart *part = &rig->parts[p];
        const bool is_engine_s = part->kind == OW_PART_INJECTION_PUMP || part->kind == OW_PART_INJECTORS;
        if (!is_engine_s) {
            s->parts++;
            s->off_the_shelf += ow_failure_is_stock(part) ? 1 : 0;
        }
        bool strands = false;
        for (int i = 0; i < walk->failure_count; i++) {
            const OwFailure *f = &walk->failures[i];
            strands |= f->part == p && is_repair(f) && f->outcome == OW_CLASS_STRANDS && !f->is_as_unbroken;
        }
        s->single_points += strands ? 1 : 0;
    }
    int repairs = 0, dangers = 0;
    for (int i = 0; i < walk->failure_count; i++) {
        const OwFailure *f = &walk->failures[i];
        if (!is_repair(f)) {
            continue;
        }
        dangers += f->outcome == OW_CLASS_DANGEROUS ? 1 : 0;
        if (f->outcome != OW_CLASS_UNNOTICED && !f->is_as_unbroken) {
            repairs++;
            s->mean_minutes += f->minutes;
            if (f->minutes > s->most_minutes) {
                s->most_minutes = f->minutes;
                s->slowest_part = f->part;
            }
        }
    }
    s->mean_minutes = repairs > 0 ? s->mean_minutes / repairs : 0.0;
    line(s, "fuel parts", s->parts, 0.5);
    line(s, "parts made to fit", s->parts - s->off_the_shelf, 2.0);
    line(s, "parts that alone strand", s->single_points, 5.0);
    line(s, "failures that can burn", dangers, 2.0);
    line(s, "mean minutes at the roadside", s->mean_minutes, 0.5);
    s->score = fmax(s->score, 0.0);
}
