// SPDX-License-Identifier: GPL-3.0-or-later
// Fuzz target: any bytes as a yard file, then one override, then the walk. A yard comes back exactly when no
// fault is an error; what comes back can be walked, and every kilogram is found again.
#include <math.h>

#include "oilwright/yard_plan.h"
#include "sheet.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void walk(const OwYard *yard) {
    OwYardBatch *batch = NULL;
    OwYardWeek week;
    if (ow_yard_batch_create(yard, OW_DISPLAY_US, &batch) != OW_OK ||
        ow_yard_week(yard, batch, OW_DISPLAY_METRIC, &week) != OW_OK) {
        abort();
    }
    if (!(ow_balance_error(&batch->balance) < 1e-9) || !isfinite(week.cost_litre) ||
        !isfinite(batch->clean_m3)) {
        abort();
    }
    for (int i = 0; i < batch->finding_count; i++) {
        const OwFinding *f = &batch->findings[i];
        if (!isfinite(f->value) || !isfinite(f->margin) || f->text[0] == '\0' ||
            (ow_judge_fails(f->grade) && f->mend[0] == '\0')) {
            abort();
        }
    }
    ow_yard_batch_destroy(&batch);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    OwUnits *units = fuzz_units();
    OwYard *yard = NULL;
    OwFaults faults = {0};
    const OwStatus status = ow_yard_read_text((const char *)data, size, "fuzz", units, &yard, &faults);
    if ((status == OW_OK) != (yard != NULL) || (status == OW_OK) != (faults.errors == 0)) {
        abort();
    }
    fuzz_tell(&faults);
    if (yard != NULL) {
        char line[200];
        (void)ow_yard_override(yard, fuzz_change(data, size, line), units, &faults);
        OwFaults again = {0};
        if (ow_yard_check(yard, &again) != OW_OK) {
            abort();
        }
        ow_faults_clear(&again);
        walk(yard);
    }
    ow_faults_clear(&faults);
    ow_yard_destroy(&yard);
    return 0;
}
