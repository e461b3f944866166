// SPDX-License-Identifier: GPL-3.0-or-later
// Answers about a batch: a place in the list, a sentence, quantities in words.
#include "yard/plan_answer.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

void ow_yard_plan_time_text(double time_s, char *text, size_t size) {
    if (time_s < 90.0 * 60.0) {
        (void)snprintf(text, size, "%.0f min", ceil(time_s / 60.0 - 1e-9));
    } else if (time_s < 48.0 * 3600.0) {
        (void)snprintf(text, size, "%.3g h", time_s / 3600.0);
    } else {
        (void)snprintf(text, size, "%.3g days", time_s / 86400.0);
    }
}

OwFinding *ow_yard_plan_add(OwPlanJudge *j, const char *key, const char *label, OwTrust trust,
                            const char *basis, OwQuantity quantity, int step) {
    static const OwFinding none = {0};
    // The last place is overwritten rather than run past; the bound is above what 32 steps can ask.
    const int i =
        j->batch->finding_count < OW_YARD_MAX_FINDINGS ? j->batch->finding_count++ : OW_YARD_MAX_FINDINGS - 1;
    OwFinding *f = &j->batch->findings[i];
    *f = none;
    f->key = key;
    f->label = label;
    f->trust = trust;
    f->basis = basis;
    f->quantity = quantity;
    f->part = step;
    return f;
}

void ow_yard_plan_say(OwFinding *f, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(f->text, sizeof f->text, format, arguments);
    va_end(arguments);
}

const char *ow_yard_plan_write(const OwPlanJudge *j, double si, OwQuantity quantity, char text[64]) {
    ow_units_write(si, quantity, j->batch->display, text, 64);
    return text;
}
