// SPDX-License-Identifier: GPL-3.0-or-later
// Bytes choose a legal rig; a short morning of it must end in finite numbers or in words, and be judged.
#include "random_rig.h"

#include "oilwright/judge.h"

#include <math.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool is_good) {
    if (!is_good) {
        abort();
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    RandomSource source = random_source_bytes(data, size);
    OwRig *rig = NULL;
    OwPlan *plan = NULL;
    OwRecord *record = NULL;
    OwJudgement *judgement = NULL;
    OwFaults faults = {0};
    must(random_rig(&source, false, &rig) == OW_OK);
    must(ow_rig_check(rig, &faults) == OW_OK);
    ow_faults_clear(&faults);
    const OwStatus planned = ow_plan_create(rig, &plan, &faults);
    must(planned == OW_OK || faults.count > 0);
    if (planned == OW_OK) {
        OwMorningSettings settings = ow_morning_default();
        settings.until_s = random_log(&source, 1.0, 120.0);
        settings.max_samples = 128;
        (void)ow_morning_run(plan, &settings, &record, &faults);
        must(record != NULL && record->sample_count > 0);
        for (int s = 0; s < record->sample_count; s++) {
            const OwSample *x = &record->samples[s];
            must(isfinite(x->inlet_k + x->inlet_pa + x->coolant_k + x->fuel_burned_m3_s + x->heaters_w +
                          x->charge_c));
            for (int p = 0; p < record->part_count; p++) {
                const OwPartSample *y = &record->parts[s * record->part_count + p];
                must(isfinite(y->in_k + y->out_k + y->wall_k + y->in_pa + y->out_pa + y->flow_m3_s +
                              y->heat_w + y->share));
            }
        }
        must(ow_judge_create(record, OW_DISPLAY_METRIC, &judgement) == OW_OK);
    }
    ow_judge_destroy(&judgement);
    ow_record_destroy(&record);
    ow_plan_destroy(&plan);
    ow_rig_destroy(&rig);
    ow_faults_clear(&faults);
    return 0;
}
