// SPDX-License-Identifier: GPL-3.0-or-later
// The walk through every single failure: healthy vehicle first, then all broken ones, then verdicts and
// score.
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "judge/faults.h"
#include "judge/work.h"
#include "oilwright/power.h"

OwFailureSettings ow_failure_default(void) {
    return (OwFailureSettings){.threads = 2, .waits_late_s = 60.0};
}

const char *ow_failure_key(OwFailureKind kind) {
    static const char *const keys[] = {
#define OW_FAILURE_KEY(code, key, text) key,
        OW_FAILURE_LIST(OW_FAILURE_KEY)
#undef OW_FAILURE_KEY
    };
    return (unsigned)kind < OW_FAILURE_KIND_COUNT ? keys[kind] : "unknown";
}

const char *ow_failure_class_text(OwFailureClass outcome) {
    static const char *const names[] = {"unnoticed", "limps", "strands", "dangerous"};
    return (unsigned)outcome < OW_CLASS_COUNT ? names[outcome] : "unknown";
}

const OwFailure *ow_failure_find(const OwFailureWalk *walk, OwFailureKind kind, int part) {
    for (int i = 0; walk != NULL && i < walk->failure_count; i++) {
        if (walk->failures[i].kind == kind && (part < 0 || walk->failures[i].part == part)) {
            return &walk->failures[i];
        }
    }
    return NULL;
}

/// The unbroken vehicle's own morning: its verdict, and the pressure that each part stands under.
static OwStatus healthy(OwFailureWork *work, const OwPlan *plan, OwFaults *faults) {
    OwFailureWalk *walk = work->walk;
    OwMorningSettings settings = ow_morning_default();
    settings.soak_k = work->settings.soak_k;
    settings.max_samples = 512;
    OwRecord *record = NULL;
    OwJudgement *judgement = NULL;
    OwStatus status = ow_morning_run(plan, &settings, &record, faults);
    if (record != NULL) {
        status = ow_judge_create(record, walk->display, &judgement);
    }
    if (status == OW_OK) {
        walk->is_healthy_good = !ow_judge_fails(judgement->grade) && judgement->grade != OW_GRADE_UNKNOWN;
        walk->healthy = (OwFinding){.key = "healthy",
                                    .label = "the unbroken vehicle",
                                    .grade = judgement->grade,
                                    .trust = OW_TRUST_PRACTICE,
                                    .basis = "its own morning",
                                    .quantity = OW_Q_TIME,
                                    .has_value = record->has_started,
                                    .value = record->has_started ? record->start_s : 0.0,
                                    .part = -1};
        snprintf(walk->healthy.text, sizeof walk->healthy.text, "%s", judgement->headline);
        snprintf(walk->healthy.mend, sizeof walk->healthy.mend, "%s", judgement->advice);
        for (int i = 0; i < record->sample_count; i++) {
            for (int p = 0; p < record->part_count; p++) {
                const OwPartSample *s = &record->parts[(size_t)i * (size_t)record->part_count + (size_t)p];
                work->part_pa[p] = fmax(work->part_pa[p], fmax(s->in_pa, s->out_pa));
            }
        }
    }
    ow_judge_destroy(&judgement);
    ow_record_destroy(&record);
    return status;
}

static OwScene scene_of(const OwFailureWork *work, const OwFailure *f) {
    const bool is_road = strcmp(f->scene, "motorway") == 0 || strcmp(f->scene, "next start") == 0;
    if (f->run >= 0 && is_road && work->runs[f->run].facts[OW_SCENE_ROAD].is_known) {
        return OW_SCENE_ROAD;
    }
    return strcmp(f->scene, "key left on") == 0 ? OW_SCENE_LEFT_ON : OW_SCENE_COLD;
}

static void headline(OwFailureWalk *walk) {
    const OwFailure *worst = NULL;
    for (int i = 0; i < walk->failure_count; i++) {
        const OwFailure *f = &walk->failures[i];
        if (f->is_simulated && (worst == NULL || f->outcome > worst->outcome)) {
            worst = f;
        }
    }
    const int danger = walk->count[OW_CLASS_DANGEROUS],
              strand = walk->count[OW_CLASS_STRANDS] - walk->as_unbroken, limp = walk->count[OW_CLASS_LIMPS],
              quiet = walk->count[OW_CLASS_UNNOTICED];
    snprintf(walk->headline, sizeof walk->headline,
             "Of %d single failures %d %s dangerous, %d strand%s, %d limp%s home, %d go%s unnoticed.",
             walk->failure_count, danger, danger == 1 ? "is" : "are", strand, strand == 1 ? "s" : "", limp,
             limp == 1 ? "s" : "", quiet, quiet == 1 ? "es" : "");
    if (walk->as_unbroken > 0) {
        ow_judge_also(walk->headline, sizeof walk->headline,
                      " %d more leave it as it is: it does not start unbroken either. Mend that first.",
                      walk->as_unbroken);
    } else if (!walk->is_healthy_good) {
        ow_judge_also(
            walk->headline, sizeof walk->headline,
            " The unbroken vehicle already breaks a limit, and many of these only repeat that: mend "
            "it first.");
    } else if (worst != NULL && worst->outcome >= OW_CLASS_STRANDS) {
        ow_judge_also(walk->headline, sizeof walk->headline, " Look first at: %s.", worst->name);
    }
}

static OwStatus walk_all(OwFailureWork *work, const OwPlan *plan, OwFaults *faults) {
    OwFailureWalk *walk = work->walk;
    for (int f = 0; f < work->rig->fluid_count && f < OW_MAX_FLUIDS; f++) {
        work->fluids[f] = ow_plan_fluid(plan, f);
    }
    OwStatus status = healthy(work, plan, faults);
    if (status != OW_OK) {
        return status;
    }
    work->runs[0] = (OwFailureRun){.effect = OW_EFFECT_NONE, .part = -1, .element = -1};
    work->run_count = 1;
    status = ow_failure_run(work, 0);
    if (status != OW_OK) {
        return status;
    }
    ow_failure_list(work, plan);
    status = work->is_full ? OW_ERROR_MEMORY : ow_failure_run(work, 1);
    if (status != OW_OK) {
        return status;
    }
    for (int i = 0; i < walk->failure_count; i++) {
        OwFailure *f = &walk->failures[i];
        ow_failure_judge(work, f);
        ow_failure_notice(work, f, scene_of(work, f));
        ow_failure_remedy(work->rig, f);
        snprintf(f->verdict.mend, sizeof f->verdict.mend, "%s", f->remedy);
        walk->count[f->outcome]++;
        walk->as_unbroken += f->is_as_unbroken ? 1 : 0;
    }
    walk->runs = work->run_count;
    ow_failure_score(walk);
    headline(walk);
    return OW_OK;
}

OwStatus ow_failure_create(const OwRig *rig, const OwFailureSettings *settings, OwDisplay display,
                           OwFailureWalk **walk, OwFaults *faults) {
    if (rig == NULL || walk == NULL) {
        return OW_ERROR_USE;
    }
    *walk = NULL;
    OwFailureWork work = {.rig = rig, .settings = settings != NULL ? *settings : ow_failure_default()};
    work.settings.threads = work.settings.threads < 1    ? 1
                            : work.settings.threads > 16 ? 16
                                                         : work.settings.threads;
    OwPlan *plan = NULL;
    OwStatus status = ow_plan_create(rig, &plan, faults);
    if (status != OW_OK) {
        return status;
    }
    OwArena *arena = ow_arena_create();
    OwFailureWalk *made = calloc(1, sizeof *made);
    work.run_capacity = work.failure_capacity = ow_failure_room(rig);
    work.runs = calloc((size_t)work.run_capacity, sizeof *work.runs);
    work.part_pa = calloc((size_t)rig->part_count + 1, sizeof *work.part_pa);
    status = OW_ERROR_MEMORY;
    if (arena != NULL && made != NULL && work.runs != NULL && work.part_pa != NULL) {
        *made = (OwFailureWalk){.rig = rig, .display = display, .arena = arena};
        made->failures = ow_arena_take(arena, (size_t)work.failure_capacity, sizeof *made->failures);
        work.walk = made;
        if (made->failures != NULL) {
            (void)ow_power_create(rig, &work.power, NULL); // without it the circuits are left out
            status = walk_all(&work, plan, faults);
        }
    }
    ow_power_destroy(&work.power);
    free(work.runs);
    free(work.part_pa);
    ow_plan_destroy(&plan);
    if (status != OW_OK) {
        ow_arena_destroy(&arena);
        free(made);
        return status;
    }
    *walk = made;
    return OW_OK;
}

void ow_failure_destroy(OwFailureWalk **walk) {
    if (walk == NULL || *walk == NULL) {
        return;
    }
    ow_arena_destroy(&(*walk)->arena);
    free(*walk);
    *walk = NULL;
}
