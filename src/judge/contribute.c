// SPDX-License-Identifier: GPL-3.0-or-later
// The worst moment of the morning, and what each part does at it.
#include <math.h>
#include <stdio.h>

#include "judge/work.h"

static void why(OwJudgement *j, int sample, const char *text) {
    j->worst_sample = sample;
    snprintf(j->worst_why, sizeof j->worst_why, "%s", text);
}

/// No start: the last attempt. Else the least delivered share, then the lowest suction against its floor,
/// then the thickest oil.
static void choose_moment(OwJudgeWork *work) {
    OwJudgement *j = work->judgement;
    const OwRecord *record = work->record;
    j->worst_sample = -1;
    if (record->sample_count <= 0) {
        return;
    }
    if (work->first_run < 0) {
        why(j, work->last_try >= 0 ? work->last_try : record->sample_count - 1,
            work->last_try >= 0 ? "the last attempt to start ends" : "the run ends");
        return;
    }
    double least = OW_JUDGE_SERVED;
    double lowest = INFINITY;
    double thickest = 0.0;
    int starved = -1;
    int sucked = -1;
    int thick = work->first_run;
    for (int i = 0; i < record->sample_count; i++) {
        const OwSample *s = &record->samples[i];
        if (s->engine != OW_ENGINE_RUNNING) {
            continue;
        }
        const double share = s->fuel_request_m3_s > 0.0 ? s->fuel_burned_m3_s / s->fuel_request_m3_s : 1.0;
        if (share < least) {
            least = share;
            starved = i;
        }
        if (s->lowest_pa < lowest) {
            lowest = s->lowest_pa;
            sucked = i;
        }
        if (s->inlet_kinematic_m2_s > thickest) {
            thickest = s->inlet_kinematic_m2_s;
            thick = i;
        }
    }
    if (starved >= 0) {
        why(j, starved, "the engine gets least fuel");
    } else if (sucked >= 0 && lowest < 0.5 * work->rig->limits.suction_floor_pa) {
        why(j, sucked, "suction is strongest");
    } else {
        why(j, thick, "the pump gets its thickest oil");
    }
}

static void fill(OwJudgeWork *work, OwContribution *c, int part, bool is_return) {
    const OwJudgement *j = work->judgement;
    const OwPartSample *s = ow_judge_part_sample(work, j->worst_sample, part);
    *c = (OwContribution){.part = part, .is_return = is_return, .grade = OW_GRADE_UNKNOWN, .hottest_s = -1.0};
    c->rating_k = ow_judge_rating(&work->rig->parts[part]);
    if (s == NULL) {
        return;
    }
#define FINITE(x) (isfinite(x) ? (x) : 0.0)
    c->flow_m3_s = FINITE(s->flow_m3_s);
    c->in_k = FINITE(s->in_k);
    c->out_k = FINITE(s->out_k);
    c->in_pa = fmax(FINITE(s->in_pa), -OW_ATMOSPHERE_PA);
    c->out_pa = fmax(FINITE(s->out_pa), -OW_ATMOSPHERE_PA);
    c->drop_pa = FINITE(s->drop_pa);
    if (work->rig->parts[part].kind == OW_PART_VALVE && c->drop_pa < 0.0) { // entered by a side port
        const double out_k = c->in_k, out_pa = c->in_pa;
        c->in_k = c->out_k;
        c->in_pa = c->out_pa;
        c->out_k = out_k;
        c->out_pa = out_pa;
        c->drop_pa = -c->drop_pa;
    }
    c->heat_w = FINITE(s->heat_w);
    c->coolant_w = FINITE(s->coolant_w);
    c->gain_w = FINITE(s->gain_w);
    c->in_kinematic_m2_s = ow_judge_kinematic(work, c->in_k, s->share);
    c->out_kinematic_m2_s = ow_judge_kinematic(work, c->out_k, s->share);
    for (int i = 0; i < work->record->sample_count; i++) {
        const OwPartSample *t = ow_judge_part_sample(work, i, part);
        const double wall = FINITE(t->wall_max_k);
        const double oil = FINITE(t->oil_max_k);
        const double before = c->hottest_wall_k > c->hottest_oil_k ? c->hottest_wall_k : c->hottest_oil_k;
        c->hottest_wall_k = wall > c->hottest_wall_k ? wall : c->hottest_wall_k;
        c->hottest_oil_k = oil > c->hottest_oil_k ? oil : c->hottest_oil_k;
        if ((wall > oil ? wall : oil) > before) {
            c->hottest_s = work->record->samples[i].time_s;
        }
    }
    c->grade = OW_GRADE_GOOD;
    const double hot = c->hottest_wall_k > c->hottest_oil_k ? c->hottest_wall_k : c->hottest_oil_k;
    const double floor_pa = work->rig->limits.suction_floor_pa;
    const double low = c->out_pa < c->in_pa ? c->out_pa : c->in_pa;
    if (c->rating_k > 0.0 && hot > c->rating_k) {
        c->grade = OW_GRADE_BAD;
        snprintf(c->mark, sizeof c->mark, "too hot");
    } else if (!is_return && floor_pa < 0.0 && low < floor_pa) {
        c->grade = OW_GRADE_BAD;
        snprintf(c->mark, sizeof c->mark, "air comes out");
    } else if (c->rating_k > 0.0 && hot > c->rating_k - 10.0) {
        c->grade = OW_GRADE_TIGHT;
        snprintf(c->mark, sizeof c->mark, "near rating");
    }
#undef FINITE
}

OwStatus ow_judge_contribute(OwJudgeWork *work) {
    OwJudgement *j = work->judgement;
    const int parts = work->rig->part_count;
    choose_moment(work);
    if (parts <= 0) {
        return OW_OK;
    }
    work->path = ow_arena_take(j->arena, (size_t)parts, sizeof *work->path);
    int *back = ow_arena_take(j->arena, (size_t)parts, sizeof *back);
    j->contributions = ow_arena_take(j->arena, 2 * (size_t)parts, sizeof *j->contributions);
    if (work->path == NULL || back == NULL || j->contributions == NULL) {
        return OW_ERROR_MEMORY;
    }
    work->path_count = ow_judge_path(work->record, j->worst_sample, work->path, parts);
    if (work->path_count > parts) {
        work->path_count = parts;
    }
    int back_count = work->record->plan != NULL ? ow_plan_return_path(work->record->plan, back, parts) : 0;
    if (back_count > parts) {
        back_count = parts;
    }
    double sum = 0.0;
    for (int i = 0; i < work->path_count; i++) {
        fill(work, &j->contributions[j->contribution_count++], work->path[i], false);
        const double loss = ow_judge_loss(work, j->worst_sample, work->path[i]);
        sum += loss > 0.0 ? loss : 0.0;
    }
    const int most = ow_judge_most_loss(work, j->worst_sample, -1);
    for (int i = 0; i < work->path_count; i++) {
        OwContribution *c = &j->contributions[i];
        const double loss = ow_judge_loss(work, j->worst_sample, c->part);
        c->drop_share = sum > 0.0 && loss > 0.0 ? loss / sum : 0.0;
        if (c->part == most && sum > 0.0 && c->mark[0] == '\0') {
            snprintf(c->mark, sizeof c->mark, "most loss");
        }
    }
    for (int i = 0; i < back_count; i++) {
        bool is_there = false;
        for (int k = 0; k < work->path_count; k++) {
            is_there = is_there || work->path[k] == back[i];
        }
        if (!is_there) {
            fill(work, &j->contributions[j->contribution_count++], back[i], true);
        }
    }
    return OW_OK;
}
