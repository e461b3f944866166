// SPDX-License-Identifier: GPL-3.0-or-later
// Whether a batch is made safely: heaters, heat on wet oil, watching, fullest vessel; and the cautions.
#include "yard/plan_answer.h"

#include <math.h>
#include <stdio.h>

/// No fuller than this: oil swells by a twelfth up to 90 degC, and foams (common practice, no source).
#define FILL_LIMIT 0.95
/// Free water under oil when heat goes on (common practice, no source).
#define WET_HEAT_LIMIT 0.01
/// Element surface and film: the band in which a careful fitter frets.
#define LOAD_BAND_W_M2 3e3
#define FILM_BAND_K 10.0

static bool is_heated(const OwPlanStep *step, const OwYardRow *row, const OwYard *yard) {
    return yard->vessels[step->vessel].heater_w > 0.0 &&
           (step->kind == OW_PLAN_HEAT ||
            (step->kind == OW_PLAN_DRY && (step->as.dry.at_k > 0.0 || row->watched_s > 0.0)));
}

/// Cut-out, surface load and film of a vessel's heater: at its hottest step.
static void judge_heater(OwPlanJudge *j, int vessel) {
    const OwVessel *v = &j->yard->vessels[vessel];
    const OwYardRow *hottest = NULL;
    for (int i = 0; i < j->batch->row_count; i++) {
        const OwYardRow *row = &j->batch->rows[i];
        const OwPlanStep *step = &j->yard->steps[row->step];
        if (step->vessel == vessel && is_heated(step, row, j->yard) &&
            (hottest == NULL || row->film_k > hottest->film_k)) {
            hottest = row;
        }
    }
    if (hottest == NULL) {
        return;
    }
    OwFinding *f =
        ow_yard_plan_add(j, "cut_out", "over-temperature cut-out", OW_TRUST_PRACTICE,
                         "common practice, no source; local codes come first", OW_Q_NUMBER, hottest->step);
    f->grade = v->has_cut_out ? OW_GRADE_GOOD : OW_GRADE_BAD;
    ow_yard_plan_say(
        f,
        v->has_cut_out
            ? "\"%.60s\" has a cut-out of its own."
            : "\"%.60s\" is heated without a cut-out: a thermostat that sticks can set the oil on fire.",
        v->name);
    if (!v->has_cut_out) {
        (void)snprintf(
            f->mend, sizeof f->mend,
            "Fit a cut-out with its own sensor and switch, reset by hand; leave the heat off until then.");
    }
    f = ow_yard_plan_add(j, "surface_load", "load on heater surface", OW_TRUST_PRACTICE,
                         "common practice, no source", OW_Q_NUMBER, hottest->step);
    if (hottest->load_w_m2 > 0.0) {
        ow_finding_hold_below(f, hottest->load_w_m2, OW_LOAD_LIMIT_W_M2, LOAD_BAND_W_M2);
        ow_yard_plan_say(f, "The heater of \"%.60s\" carries %.2g W/cm2 in standing oil, %.2g are allowed.",
                         v->name, 1e-4 * hottest->load_w_m2, 1e-4 * OW_LOAD_LIMIT_W_M2);
        char is[64], limit[64];
        f = ow_yard_plan_add(j, "film", "oil at heater surface", OW_TRUST_PRACTICE,
                             "Churchill & Chu 1975; frying temperature as limit, common practice",
                             OW_Q_TEMPERATURE, hottest->step);
        ow_finding_hold_below(f, hottest->film_k, OW_FILM_LIMIT_K, FILM_BAND_K);
        ow_yard_plan_say(f, "At the heater of \"%.60s\" the oil reaches %s, %s is allowed.", v->name,
                         ow_yard_plan_write(j, hottest->film_k, OW_Q_TEMPERATURE, is),
                         ow_yard_plan_write(j, OW_FILM_LIMIT_K, OW_Q_TEMPERATURE, limit));
    } else {
        f->grade = OW_GRADE_UNKNOWN;
        ow_yard_plan_say(
            f,
            "The surface of the heater of \"%.60s\" is not known, so neither is how hot the oil gets there.",
            v->name);
        (void)snprintf(f->mend, sizeof f->mend, "Measure the element and give its heater area.");
    }
}

static void judge_heat(OwPlanJudge *j, const OwYardRow *row, double free_before) {
    const OwPlanStep *step = &j->yard->steps[row->step];
    if (!is_heated(step, row, j->yard)) {
        return;
    }
    const double to_k = step->kind == OW_PLAN_HEAT ? step->as.heat.to_k : step->as.dry.at_k;
    char to[64];
    (void)ow_yard_plan_write(j, to_k, OW_Q_TEMPERATURE, to);
    // A dry step that never began to dry (it wants nothing yet) was not warm enough.
    if (to_k > 0.0 &&
        (row->reach == OW_REACH_REFUSED || (row->reach == OW_REACH_NEVER && !(row->wanted_share > 0.0)))) {
        OwFinding *f = ow_yard_plan_add(j, "heat", "gets as warm as asked", OW_TRUST_PRACTICE,
                                        "95 degC at most while water may be under the oil, common practice",
                                        OW_Q_TEMPERATURE, row->step);
        f->grade = OW_GRADE_BAD;
        f->has_value = f->has_limit = true;
        f->value = to_k;
        f->limit = row->reach == OW_REACH_REFUSED ? OW_HEAT_LIMIT_K : row->end_k;
        f->margin = f->limit - f->value;
        ow_yard_plan_say(f, "%.60s, to %s: %s.", step->name, to, row->note);
    }
    if (free_before > 0.5 * WET_HEAT_LIMIT) {
        OwFinding *f = ow_yard_plan_add(j, "wet_heat", "free water when heat goes on", OW_TRUST_PRACTICE,
                                        "common practice, no source", OW_Q_NUMBER, row->step);
        ow_finding_hold_below(f, free_before, WET_HEAT_LIMIT, 0.5 * WET_HEAT_LIMIT);
        ow_yard_plan_say(f, "%.60s heats oil with %.2g %% of free water in it, %.2g %% is allowed: it spits.",
                         step->name, 100.0 * free_before, 100.0 * WET_HEAT_LIMIT);
    }
}

static void judge_watch(OwPlanJudge *j) {
    const OwYardRow *longest = NULL;
    for (int i = 0; i < j->batch->row_count; i++) {
        const OwYardRow *row = &j->batch->rows[i];
        longest =
            row->watched_s > 0.0 && (longest == NULL || row->watched_s > longest->watched_s) ? row : longest;
    }
    if (longest == NULL) {
        return;
    }
    const double day = j->yard->week.day_s;
    char is[64], limit[64];
    ow_yard_plan_time_text(longest->watched_s, is, sizeof is);
    ow_yard_plan_time_text(day, limit, sizeof limit);
    OwFinding *f = ow_yard_plan_add(j, "watched", "heat or pump is watched", OW_TRUST_PRACTICE,
                                    "no unattended heat or pump, common practice", OW_Q_TIME, longest->step);
    ow_finding_hold_below(f, longest->watched_s, day, 0.1 * day);
    ow_yard_plan_say(f, "%.60s runs heat or a pump for %s; someone is there for %s a day.",
                     j->yard->steps[longest->step].name, is, limit);
}

static void judge_fit(OwPlanJudge *j) {
    double fullest = 0.0;
    int at = -1, vessel = -1;
    double before_m3 = j->batch->in_m3;
    for (int i = 0; i < j->batch->row_count; i++) {
        const OwYardRow *row = &j->batch->rows[i];
        const OwPlanStep *step = &j->yard->steps[row->step];
        const int places[2] = {step->vessel, step->into};
        const double m3[2] = {fmax(before_m3, step->into == step->vessel ? row->left_m3 : 0.0), row->left_m3};
        for (int k = 0; k < 2; k++) {
            const double fill = m3[k] / j->yard->vessels[places[k]].volume_m3;
            if (fill > fullest) {
                fullest = fill;
                at = row->step;
                vessel = places[k];
            }
        }
        before_m3 = row->left_m3;
    }
    if (at < 0) {
        return;
    }
    OwFinding *f = ow_yard_plan_add(j, "fits", "fullest vessel", OW_TRUST_PRACTICE,
                                    "oil swells and foams; common practice, no source", OW_Q_NUMBER, at);
    ow_finding_hold_below(f, fullest, FILL_LIMIT, 0.02);
    ow_yard_plan_say(f, "\"%.60s\" is %.0f %% full, %.0f %% is allowed.", j->yard->vessels[vessel].name,
                     100.0 * fullest, 100.0 * FILL_LIMIT);
}

static OwYardStep law_step(const OwPlanStep *step) {
    static const OwYardStep of[OW_PLAN_KIND_COUNT] = {[OW_PLAN_SETTLE] = OW_STEP_SETTLE,
                                                      [OW_PLAN_HEAT] = OW_STEP_HEAT,
                                                      [OW_PLAN_DRY] = OW_STEP_BUBBLE,
                                                      [OW_PLAN_FILTER] = OW_STEP_FILTER,
                                                      [OW_PLAN_CENTRIFUGE] = OW_STEP_CENTRIFUGE,
                                                      [OW_PLAN_BLEND] = OW_STEP_BLEND,
                                                      [OW_PLAN_COOL] = OW_STEP_DRAIN};
    static const OwYardStep way[] = {OW_STEP_HOT_SETTLE, OW_STEP_BUBBLE, OW_STEP_VACUUM};
    return step->kind == OW_PLAN_DRY ? way[step->as.dry.way] : of[step->kind];
}

void ow_yard_plan_gather_cautions(const OwYard *yard, OwYardBatch *batch) {
    bool is_due[OW_CAUTION_COUNT] = {false};
    is_due[OW_CAUTION_RAGS] = true; // every yard makes oily rags
    for (int i = 0; i < yard->step_count; i++) {
        OwCaution some[OW_CAUTION_COUNT];
        const OwPlanStep *step = &yard->steps[i];
        const int count = ow_yard_step_cautions(law_step(step), some, OW_CAUTION_COUNT);
        for (int k = 0; k < count && k < OW_CAUTION_COUNT; k++) {
            const bool is_idle = some[k] == OW_CAUTION_PRESSURE && step->kind == OW_PLAN_FILTER &&
                                 step->as.filter.push != OW_PUSH_PUMP;
            is_due[some[k]] = is_due[some[k]] || !is_idle;
        }
    }
    is_due[OW_CAUTION_LAW] = false; // said last
    for (int i = 0; i < OW_CAUTION_COUNT; i++) {
        if (is_due[i] && batch->caution_count < OW_YARD_MAX_CAUTIONS - 1) {
            batch->cautions[batch->caution_count++] = (OwCaution)i;
        }
    }
    batch->cautions[batch->caution_count++] = OW_CAUTION_LAW;
}

void ow_yard_plan_judge_safety(OwPlanJudge *j) {
    double free_before = j->batch->in.free_water_kg / ow_stream_total(&j->batch->in);
    for (int i = 0; i < j->batch->row_count; i++) {
        judge_heat(j, &j->batch->rows[i], free_before);
        free_before = j->batch->rows[i].free_share;
    }
    for (int v = 0; v < j->yard->vessel_count; v++) {
        judge_heater(j, v);
    }
    judge_watch(j);
    judge_fit(j);
}
