// SPDX-License-Identifier: GPL-3.0-or-later
// One combination simulated: a short run to ready, or whole mornings in every weather, judged.
#include "judge/size_impl.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

OwStatus ow_size_worker_create(const OwSizeJob *job, OwSizeWorker *worker) {
    *worker = (OwSizeWorker){.job = job};
    const OwStatus status = ow_variant_create(job->rig, &worker->variant);
    if (status != OW_OK) {
        return status;
    }
    worker->joints = malloc(((size_t)job->rig->joint_count + 1) * sizeof *worker->joints);
    if (worker->joints == NULL) {
        ow_size_worker_destroy(worker);
        return OW_ERROR_MEMORY;
    }
    worker->variant->rig.joints = worker->joints;
    return OW_OK;
}

void ow_size_worker_destroy(OwSizeWorker *worker) {
    ow_plan_destroy(&worker->plan);
    ow_variant_destroy(&worker->variant);
    free(worker->joints);
    worker->joints = NULL;
    ow_faults_clear(&worker->faults);
}

void ow_size_options(const OwSizeJob *job, long combination, int *option) {
    for (int c = job->choice_count - 1; c >= 0; c--) {
        option[c] = (int)(combination % job->choices[c].count);
        combination /= job->choices[c].count;
    }
}

long ow_size_combination(const OwSizeJob *job, const int *option) {
    long combination = 0;
    for (int c = 0; c < job->choice_count; c++) {
        combination = combination * job->choices[c].count + option[c];
    }
    return combination;
}

/// The base rig again, with the options and one weather put in.
static void prepare(OwSizeWorker *worker, const int *option, int weather) {
    const OwSizeJob *job = worker->job;
    OwRig *rig = &worker->variant->rig;
    memcpy(rig->parts, job->rig->parts, (size_t)job->rig->part_count * sizeof *rig->parts);
    memcpy(worker->joints, job->rig->joints, (size_t)job->rig->joint_count * sizeof *worker->joints);
    memcpy(rig->fluid_spec, job->rig->fluid_spec, sizeof rig->fluid_spec);
    for (int c = 0; option != NULL && c < job->choice_count; c++) {
        const double value = worker->values != NULL ? worker->values[c] : NAN;
        if (isfinite(value)) {
            ow_choice_apply_value(&job->choices[c], value, job->choices[c].options[option[c]].second, rig);
        } else {
            ow_choice_apply(&job->choices[c], option[c], rig);
        }
    }
    const OwWeather *w = &job->weathers[weather];
    rig->climate.ambient_k = w->ambient_k;
    rig->drive.ready_wait_s = fmax(job->rig->drive.ready_wait_s, w->wait_s);
}

typedef enum OwAccuracy { OW_RUN_SHORT, OW_RUN_FULL, OW_RUN_EXACT } OwAccuracy;

/// Makes worker->plan of some options in some weather; making one costs as much as a short run, so the last
/// is kept. NULL afterwards when this rig cannot be planned (a fault, not an error).
static OwStatus plan_for(OwSizeWorker *worker, const int *option, int weather) {
    const size_t size = sizeof(int) * (size_t)worker->job->choice_count;
    const bool is_plain = worker->values == NULL && option != NULL;
    if (worker->plan != NULL && is_plain && worker->is_plan_plain && worker->plan_weather == weather &&
        memcmp(worker->plan_option, option, size) == 0) {
        return OW_OK;
    }
    OwPlan *last = worker->plan; // its oil serves again
    worker->plan = NULL;
    prepare(worker, option, weather);
    ow_faults_clear(&worker->faults);
    worker->is_plan_plain = is_plain;
    worker->plan_weather = weather;
    if (option != NULL) {
        memcpy(worker->plan_option, option, size);
    }
    const OwStatus status = ow_plan_create_like(&worker->variant->rig, last, &worker->plan, &worker->faults);
    ow_plan_destroy(&last);
    return status == OW_ERROR_MEMORY ? status : OW_OK;
}

/// The record belongs to the caller, its plan stays with the worker; NULL when this rig cannot be planned.
static OwStatus run(OwSizeWorker *worker, const int *option, int weather, OwAccuracy accuracy,
                    OwRecord **record) {
    *record = NULL;
    OwStatus status = plan_for(worker, option, weather);
    if (status != OW_OK || worker->plan == NULL) {
        return status;
    }
    OwMorningSettings settings = ow_morning_default();
    if (accuracy != OW_RUN_EXACT) {
        settings.tolerance_k = 0.03; // the answer itself is looked at again at full accuracy
        settings.max_samples = 1024;
    }
    if (accuracy == OW_RUN_SHORT) {
        settings.until_s = worker->job->weathers[weather].horizon_s;
        settings.has_full_load = false;
        settings.max_samples = 256; // room that has to be cleared costs time
    }
    status = ow_morning_run(worker->plan, &settings, record, &worker->faults);
    if (*record == NULL) {
        return status == OW_ERROR_MEMORY ? status : OW_OK;
    }
    return OW_OK;
}

OwStatus ow_size_base(OwSizeWorker *worker, const int *option, int weather, OwDisplay display,
                      OwJudgement **judgement, OwRecord **record) {
    *judgement = NULL;
    OwStatus status = run(worker, option, weather, OW_RUN_EXACT, record);
    if (status == OW_OK && *record == NULL) {
        return OW_ERROR_VALUE;
    }
    if (status == OW_OK) {
        status = ow_judge_create(*record, display, judgement);
    }
    return status;
}

OwStatus ow_size_short(OwSizeWorker *worker, long combination) {
    const OwSizeJob *job = worker->job;
    OwTried *tried = &job->tried[combination];
    if (tried->has_short) {
        return OW_OK;
    }
    int option[OW_SIZE_MAX_CHOICES];
    ow_size_options(job, combination, option);
    OwRecord *record = NULL;
    const OwStatus status = run(worker, option, job->front_weather, OW_RUN_SHORT, &record);
    if (status != OW_OK) {
        return status;
    }
    tried->ready_s = -1.0;
    tried->short_slack = record != NULL ? 1.0 : -1e3;
    if (record != NULL) {
        tried->ready_s = isfinite(record->ready_s) ? record->ready_s : -1.0;
        tried->peak_a = ow_size_peak(record);
        for (int g = 0; g < job->goal_count; g++) {
            OwMeasure m;
            bool is_known = false;
            if (job->goal_weather[g] == job->front_weather) {
                ow_goal_measure(&job->goals[g], record, NULL, OW_DISPLAY_METRIC, false, &m, &is_known);
                tried->short_slack = is_known ? fmin(tried->short_slack, m.slack) : tried->short_slack;
            }
        }
    }
    tried->has_short = true;
    ow_record_destroy(&record);
    return OW_OK;
}

/// Limits a proposal must keep: ratings always, and what the rig as it is keeps.
static void guard(const OwSizeJob *job, int weather, const OwJudgement *judgement, OwLook *look,
                  OwSizeVerdict *verdict) {
    bool has_rating = false; // a rating is named before all else
    for (int i = 0; i < judgement->answer_count; i++) {
        const OwAnswer *v = &judgement->answers[i];
        if (!ow_judge_fails(v->grade)) {
            continue;
        }
        bool is_covered = false;
        for (int g = 0; g < job->goal_count; g++) {
            is_covered =
                is_covered || (job->goal_weather[g] == weather && ow_goal_covers(&job->goals[g], v->kind));
        }
        const OwGrade before = job->base_grade[weather][v->kind];
        // What a target covers is measured there; it is no other limit that a proposal would break.
        if (ow_goal_is_safety(v->kind) ||
            (!is_covered && (before == OW_GRADE_GOOD || before == OW_GRADE_TIGHT))) {
            const double own = v->has_limit ? fmin(v->tightness, -1e-3) : -1.0;
            verdict->keeps = false;
            verdict->slack = fmin(verdict->slack, own);
            verdict->trade_slack = fmin(verdict->trade_slack, own);
            verdict->state = ow_goal_is_safety(v->kind) ? OW_FULL_UNSAFE : verdict->state;
            if (look != NULL && (look->broken[0] == '\0' || (ow_goal_is_safety(v->kind) && !has_rating))) {
                has_rating = ow_goal_is_safety(v->kind);
                (void)snprintf(look->broken, sizeof look->broken, "%s", v->text);
            }
        } else if (!is_covered && look != NULL && look->remark_count < OW_SIZE_MAX_REMARKS) {
            (void)snprintf(look->remarks[look->remark_count++], OW_ANSWER_TEXT, "%s", v->text);
        }
        if (is_covered && look != NULL && look->mend[0] == '\0') {
            (void)snprintf(look->mend, sizeof look->mend, "%s", v->mend);
        }
    }
}

static void measure(const OwSizeJob *job, int weather, const OwRecord *record, const OwJudgement *judgement,
                    OwDisplay display, OwLook *look, OwSizeVerdict *verdict) {
    for (int g = 0; g < job->goal_count; g++) {
        OwMeasure m;
        bool is_known = false;
        if (job->goal_weather[g] != weather) {
            continue;
        }
        ow_goal_measure(&job->goals[g], record, judgement, display, look != NULL, &m, &is_known);
        const OwSizeGoalKind kind = job->goals[g].kind;
        const bool is_traded = kind == OW_GOAL_READY || kind == OW_GOAL_START || kind == OW_GOAL_CURRENT;
        verdict->slack = fmin(verdict->slack, m.slack);
        verdict->goal_slack = fmin(verdict->goal_slack, m.slack);
        verdict->trade_slack = is_traded ? verdict->trade_slack : fmin(verdict->trade_slack, m.slack);
        if (look != NULL) {
            look->goals[g] = m;
            if (!m.is_met && look->mend[0] == '\0') {
                (void)snprintf(look->mend, sizeof look->mend, "%s", m.mend);
            }
        }
    }
    guard(job, weather, judgement, look, verdict);
    if (look != NULL && weather == job->front_weather) {
        look->ready_s = isfinite(record->ready_s) ? record->ready_s : -1.0;
        look->peak_a = ow_size_peak(record);
    }
}

static OwStatus look_once(OwSizeWorker *worker, const int *option, OwAccuracy accuracy, OwDisplay display,
                          OwLook *look, OwSizeVerdict *verdict) {
    const OwSizeJob *job = worker->job;
    *verdict = (OwSizeVerdict){
        .slack = 1e3, .goal_slack = 1e3, .trade_slack = 1e3, .state = OW_FULL_FAILS, .keeps = true};
    if (look != NULL) {
        *look = (OwLook){.ready_s = -1.0};
    }
    for (int w = 0; w < job->weather_count && (look != NULL || verdict->state != OW_FULL_UNSAFE); w++) {
        OwRecord *record = NULL;
        OwJudgement *judgement = NULL;
        OwStatus status = run(worker, option, w, accuracy, &record);
        if (status == OW_OK && record != NULL) {
            status = ow_judge_create(record, display, &judgement);
        }
        if (status == OW_OK && judgement != NULL) {
            measure(job, w, record, judgement, display, look, verdict);
        } else if (status == OW_OK) {
            *verdict = (OwSizeVerdict){
                .slack = -1e3, .goal_slack = -1e3, .trade_slack = -1e3, .state = OW_FULL_UNSAFE};
        }
        ow_judge_destroy(&judgement);
        ow_record_destroy(&record);
        if (status != OW_OK) {
            return status;
        }
    }
    if (verdict->state != OW_FULL_UNSAFE && verdict->slack >= 0.0) {
        verdict->state = OW_FULL_MEETS;
    }
    return OW_OK;
}

/// Nearer to the edge than this, a coarse look is not trusted.
#define NEAR_EDGE 0.15

OwStatus ow_size_look(OwSizeWorker *worker, const int *option, bool is_exact, OwDisplay display, OwLook *look,
                      OwSizeVerdict *verdict) {
    OwStatus status =
        look_once(worker, option, is_exact ? OW_RUN_EXACT : OW_RUN_FULL, display, look, verdict);
    if (status == OW_OK && !is_exact &&
        (fabs(verdict->slack) < NEAR_EDGE || fabs(verdict->trade_slack) < NEAR_EDGE)) {
        status = look_once(worker, option, OW_RUN_EXACT, display, look, verdict);
    }
    return status;
}

OwStatus ow_size_full(OwSizeWorker *worker, long combination) {
    OwTried *tried = &worker->job->tried[combination];
    if (tried->full != OW_FULL_NONE) {
        return OW_OK;
    }
    int option[OW_SIZE_MAX_CHOICES];
    ow_size_options(worker->job, combination, option);
    OwSizeVerdict verdict = {0};
    const OwStatus status = ow_size_look(worker, option, false, OW_DISPLAY_METRIC, NULL, &verdict);
    tried->full_slack = verdict.slack;
    tried->goal_slack = verdict.goal_slack;
    tried->trade_slack = verdict.trade_slack;
    tried->keeps = verdict.keeps;
    tried->full = verdict.state;
    return status;
}
