// SPDX-License-Identifier: GPL-3.0-or-later
// Runs the scenes of all broken rigs in a few threads. Each run has its own copy, plan and record; results go
// to the run's own slot, so that the answer does not depend on the threads.
#include <math.h>
#include <pthread.h>
#include <stdlib.h>

#include "judge/faults.h"

#define SAMPLES 512
#define AIR_ROUNDS 3

typedef struct OwPool {
    OwFailureWork *work;
    pthread_mutex_t lock;
    int next, done;
    bool is_known; ///< how many there will be
    bool is_stopped;
} OwPool;

/// The cold start ends ten minutes after the longest time the driver may need for it.
static double until_s(const OwRig *rig, OwScene scene) {
    const OwDriveSpec *d = &rig->drive;
    const double most_s =
        fmax(d->ready_wait_s, d->earliest_start_s) + d->attempts * (d->crank_s + d->pause_s);
    return scene == OW_SCENE_COLD ? most_s + 600.0 : scene == OW_SCENE_LEFT_ON ? 1200.0 : 0.0;
}

static OwStatus morning(const OwRig *rig, OwScene scene, double soak_k, double solubility, OwFacts *facts,
                        OwTrace *trace) {
    OwPlan *plan = NULL;
    OwRecord *record = NULL;
    OwFaults faults = {0};
    OwStatus status = ow_plan_create(rig, &plan, &faults);
    if (status == OW_OK) {
        if (solubility > 0.0) {
            ow_plan_set_air(plan, solubility);
        }
        OwMorningSettings settings = ow_morning_default();
        settings.until_s = until_s(rig, scene);
        settings.soak_k = soak_k;
        settings.max_samples = SAMPLES;
        settings.tolerance_k = 0.05; // verdicts need no hundredths of a kelvin
        status = ow_morning_run(plan, &settings, &record, &faults);
    }
    if (record != NULL) {
        ow_failure_facts(record, facts, trace);
        status = OW_OK;
    }
    ow_record_destroy(&record);
    ow_plan_destroy(&plan);
    ow_faults_clear(&faults);
    return status;
}

/// A hole draws more the deeper the suction, and the suction sinks as air comes in: a few rounds settle both.
static OwStatus air(const OwFailureWork *work, const OwFailureRun *run, const OwRig *rig, OwScene scene,
                    double soak_k, OwFacts *facts, OwTrace *trace) {
    const OwFacts *healthy = &work->runs[0].facts[scene];
    double suction_pa = healthy->lowest_pa;
    OwStatus status = OW_OK;
    for (int i = 0; i < AIR_ROUNDS && status == OW_OK; i++) {
        const double drawn = ow_failure_air_flow(run->size, suction_pa);
        // Oil that the engine needs through the suction; what returns to the tank comes on top and dilutes,
        // left out.
        const double oil = fmax(4.0 * healthy->idle_m3_s, 1e-7);
        const double s = ow_failure_air_solubility(0.1, drawn, oil, suction_pa);
        status = morning(rig, scene, soak_k, s, facts, trace);
        suction_pa = 0.5 * (suction_pa + fmin(facts->lowest_pa, -500.0));
    }
    return status;
}

static void run_one(OwFailureWork *work, OwFailureRun *run) {
    const bool is_stuck = run->effect == OW_EFFECT_ELEMENT_STUCK || run->effect == OW_EFFECT_NONE;
    for (int scene = 0; scene < OW_SCENE_COUNT && run->status == OW_OK; scene++) {
        if (scene == OW_SCENE_LEFT_ON && !is_stuck) {
            continue;
        }
        OwVariant *variant = NULL;
        run->status = ow_variant_create(work->rig, &variant);
        if (run->status != OW_OK) {
            return;
        }
        (void)ow_failure_apply(work, run, (OwScene)scene, variant);
        double soak_k = work->settings.soak_k;
        if (run->effect == OW_EFFECT_GELLED && work->rig->fluid_count == 1) {
            // Never warmer than the morning itself: that oil may have set already.
            soak_k = fmin(soak_k > 0.0 ? soak_k : work->rig->climate.ambient_k, run->size);
        }
        if (run->effect == OW_EFFECT_AIR) {
            run->status =
                air(work, run, &variant->rig, (OwScene)scene, soak_k, &run->facts[scene], &run->trace[scene]);
        } else {
            run->status =
                morning(&variant->rig, (OwScene)scene, soak_k, 0.0, &run->facts[scene], &run->trace[scene]);
        }
        ow_variant_destroy(&variant);
    }
}

/// One run more is done.
static void tell(OwPool *pool) {
    const OwFailureSettings *settings = &pool->work->settings;
    (void)pthread_mutex_lock(&pool->lock);
    pool->done++;
    if (pool->is_known && settings->progress != NULL &&
        !settings->progress(settings->context, (double)pool->done / pool->work->run_count)) {
        pool->is_stopped = true;
    }
    (void)pthread_mutex_unlock(&pool->lock);
}

static void *worker(void *context) {
    OwPool *pool = context;
    for (;;) {
        (void)pthread_mutex_lock(&pool->lock);
        const int i = pool->is_stopped ? pool->work->run_count : pool->next++;
        (void)pthread_mutex_unlock(&pool->lock);
        if (i >= pool->work->run_count) {
            return NULL;
        }
        run_one(pool->work, &pool->work->runs[i]);
        tell(pool);
    }
}

OwStatus ow_failure_run(OwFailureWork *work, int first) {
    OwPool pool = {.work = work, .next = first, .done = first, .is_known = first > 0};
    if (pthread_mutex_init(&pool.lock, NULL) != 0) {
        return OW_ERROR_MEMORY;
    }
    pthread_t threads[16];
    int started = 0;
    const int wanted = work->run_count - first;
    while (started + 1 < work->settings.threads && started + 1 < wanted && started < 15) {
        if (pthread_create(&threads[started], NULL, worker, &pool) != 0) {
            break; // fewer hands, same work
        }
        started++;
    }
    (void)worker(&pool);
    for (int t = 0; t < started; t++) {
        (void)pthread_join(threads[t], NULL);
    }
    (void)pthread_mutex_destroy(&pool.lock);
    if (pool.is_stopped) {
        return OW_ERROR_USE;
    }
    for (int i = first; i < work->run_count; i++) {
        if (work->runs[i].status == OW_ERROR_MEMORY) {
            return OW_ERROR_MEMORY;
        }
    }
    return OW_OK;
}
