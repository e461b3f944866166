// SPDX-License-Identifier: GPL-3.0-or-later
// Legal rigs drawn at random: no study crashes, hangs or writes a number that is none. `test_walks_random
// COUNT FIRST` repeats any of them.
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "../morning/random_rig.h"
#include "oilwright/bleed.h"
#include "oilwright/faults.h"
#include "oilwright/filter_life.h"
#include "oilwright/two_tank.h"

static bool is_sound(const OwFinding *f) {
    return isfinite(f->value) && isfinite(f->limit) && isfinite(f->margin) && f->text[0] != '\0' &&
           f->grade < OW_GRADE_COUNT;
}

static int all_sound(const OwFinding *f, int count, const char *what) {
    int wrong = 0;
    for (int i = 0; i < count; i++) {
        if (!is_sound(&f[i])) {
            printf("  %s: finding %d \"%s\" is not sound (%g %g %g)\n", what, i, f[i].text, f[i].value,
                   f[i].limit, f[i].margin);
            wrong++;
        }
    }
    return wrong;
}

static int check_bleed(const OwRig *rig) {
    static OwBleedStudy study;
    int wrong = 0;
    const OwStatus status = ow_bleed_create(rig, NULL, OW_DISPLAY_US, &study, NULL);
    if (status != OW_OK) {
        return status == OW_ERROR_VALUE ? 0 : 1;
    }
    wrong += all_sound(study.findings, study.finding_count, "bleed");
    for (int w = 0; w < OW_BLEED_WAYS; w++) {
        const OwBleedCase *c = &study.cases[w];
        if (!isfinite(c->total_s) || c->total_s < 0.0 || !isfinite(c->fill_pa) ||
            (c->is_possible && !(c->sweep_m3_s > 0.0))) {
            printf("  bleed: case %d is not sound\n", w);
            wrong++;
        }
    }
    return wrong;
}

static int check_filter(const OwRig *rig) {
    static OwFilterStudy study;
    int wrong = 0;
    const OwStatus status = ow_filter_create(rig, NULL, OW_DISPLAY_METRIC, &study, NULL);
    if (status != OW_OK) {
        return status == OW_ERROR_VALUE || status == OW_ERROR_NO_SOLUTION ? 0 : 1;
    }
    wrong += all_sound(study.findings, study.finding_count, "filter");
    for (int i = 0; i < study.filter_count; i++) {
        for (int k = 0; k < study.filters[i].case_count; k++) {
            for (int law = 0; law < OW_FILTER_LAWS; law++) {
                const double m = study.filters[i].cases[k].distance_m[law];
                wrong += isfinite(m) && m >= 0.0 ? 0 : 1;
            }
        }
    }
    return wrong;
}

static int check_faults(const OwRig *rig) {
    OwFailureWalk *walk = NULL;
    int wrong = 0;
    const OwStatus status = ow_failure_create(rig, NULL, OW_DISPLAY_METRIC, &walk, NULL);
    if (status != OW_OK) {
        // Only a rig that cannot be planned at all may be refused.
        OwPlan *plan = NULL;
        const OwStatus planned = ow_plan_create(rig, &plan, NULL);
        ow_plan_destroy(&plan);
        if (planned != status) {
            printf("  faults: %s\n", ow_status_text(status));
        }
        return planned != status ? 1 : 0;
    }
    for (int i = 0; i < walk->failure_count; i++) {
        const OwFailure *f = &walk->failures[i];
        if (!is_sound(&f->verdict) || f->outcome >= OW_CLASS_COUNT || !isfinite(f->felt_s) ||
            !isfinite(f->gauge_s)) {
            printf("  faults: %s is not sound: \"%s\"\n", f->name, f->verdict.text);
            wrong++;
        }
    }
    wrong += isfinite(walk->score.score) && walk->score.score >= 0.0 && walk->score.score <= 100.0 ? 0 : 1;
    ow_failure_destroy(&walk);
    return wrong;
}

static int check_tanks(const OwRig *rig) {
    if (rig->fluid_count < 2) {
        return 0;
    }
    static OwTwoTankStudy study;
    OwPlan *plan = NULL;
    OwRecord *record = NULL;
    int wrong = 0;
    OwMorningSettings settings = ow_morning_default();
    if (ow_plan_create(rig, &plan, NULL) == OW_OK) {
        (void)ow_morning_run(plan, &settings, &record, NULL);
    }
    if (record != NULL && ow_two_tank_create(record, OW_DISPLAY_METRIC, &study) == OW_OK) {
        wrong += all_sound(study.findings, study.finding_count, "tanks");
        wrong += study.headline[0] != '\0' ? 0 : 1;
    }
    ow_record_destroy(&record);
    ow_plan_destroy(&plan);
    return wrong;
}

int main(int argc, char **argv) {
    const int count = argc > 1 ? atoi(argv[1]) : 60;
    const int first = argc > 2 ? atoi(argv[2]) : 1;
    int wrong = 0, made = 0;
    for (int i = first; i < first + count; i++) {
        RandomSource source = random_source((uint64_t)i);
        OwRig *rig = NULL;
        if (random_rig(&source, false, &rig) != OW_OK) {
            continue;
        }
        made++;
        const int here =
            check_bleed(rig) + check_filter(rig) + check_tanks(rig) + (i % 3 == 0 ? check_faults(rig) : 0);
        if (here > 0) {
            printf("rig %d: %d wrong\n", i, here);
        }
        wrong += here;
        ow_rig_destroy(&rig);
    }
    printf("%d rigs, %d wrong\n", made, wrong);
    return wrong == 0 && made > 0 ? 0 : 1;
}
