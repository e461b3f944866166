// SPDX-License-Identifier: GPL-3.0-or-later
// Fuzz target: any bytes as a cost file, its first line as a change; what reads answers with finite numbers.
#include <math.h>

#include "oilwright/money.h"
#include "sheet.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void answer(const OwCostPlan *plan, bool with_study) {
    OwCostAnswer a;
    ow_cost_answer(plan, OW_DISPLAY_US, &a);
    for (int s = 0; s < 2; s++) {
        must(isfinite(a.likely.side[s].npv) && isfinite(a.likely.side[s].cost_year));
    }
    double sum = 0.0;
    for (int i = 0; i < OW_COST_LINES; i++) {
        must(isfinite(a.likely.line[i]));
        sum += a.likely.line[i];
    }
    must(sum == a.likely.side[1].cost_year);
    for (int i = 0; i < OW_COST_INPUTS; i++) {
        const OwCostValue *v = &plan->inputs[i];
        char text[64];
        ow_cost_write((OwCostInput)i, v->value, OW_DISPLAY_METRIC, text, sizeof text);
        must(isfinite(v->value) && v->low <= v->high && v->error >= 0.0);
    }
    static OwCostStudy study;
    if (!with_study) {
        return; // sampling is most of the work
    }
    must(ow_cost_study(plan, 64, &study) == OW_OK);
    must(isfinite(study.band[1][OW_COST_RESULT_NPV].point[1]));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    OwUnits *units = fuzz_units();
    OwCostPlan plan;
    OwFaults faults = {0};
    const OwStatus status = ow_cost_read_text((const char *)data, size, "fuzz", units, &plan, &faults);
    must((status == OW_OK) == (faults.errors == 0));
    fuzz_tell(&faults);
    char line[200];
    const OwStatus changed = ow_cost_set(&plan, fuzz_change(data, size, line), units, &faults);
    if (status == OW_OK || changed == OW_OK) {
        answer(&plan, size % 16 == 0);
    }
    ow_faults_clear(&faults);
    return 0;
}
