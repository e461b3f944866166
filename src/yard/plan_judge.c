// SPDX-License-Identifier: GPL-3.0-or-later
// What a walked batch is held against: dry, clear when cold, clean, by its tests; and the answer in one line.
#include "yard/plan_answer.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/// A filter that takes longer is as good as shut (common practice, no source).
#define FILTER_LIMIT_S (3.0 * 86400.0)

/// The last step that takes water out, by kind; the last of all when there is none.
static int last_of(const OwYard *yard, bool (*is_it)(OwPlanKind)) {
    for (int i = yard->step_count - 1; i >= 0; i--) {
        if (is_it(yard->steps[i].kind)) {
            return i;
        }
    }
    return yard->step_count - 1;
}

static bool dries(OwPlanKind kind) {
    return kind == OW_PLAN_DRY || kind == OW_PLAN_SETTLE || kind == OW_PLAN_CENTRIFUGE;
}

static bool cleans(OwPlanKind kind) {
    return kind == OW_PLAN_FILTER || kind == OW_PLAN_SETTLE || kind == OW_PLAN_CENTRIFUGE;
}

static void judge_water(OwPlanJudge *j) {
    const OwYardTargets *t = &j->yard->targets;
    const OwStream *left = &j->batch->balance.out[OW_OUT_PRODUCT];
    const int step = last_of(j->yard, dries);
    const double share = ow_stream_water_share(left);
    OwFinding *f = ow_yard_plan_add(
        j, "water", "water left", OW_TRUST_ASSUMED,
        "the target is yours (DIN 51605 allows 750 mg/kg); drop sizes are assumed unless given", OW_Q_NUMBER,
        step);
    ow_finding_hold_below(f, share, t->water_share, 0.05 * t->water_share);
    ow_yard_plan_say(f, "%.0f mg/kg of water are left, %.0f are allowed.", 1e6 * share, 1e6 * t->water_share);
    const OwReappear *r = &j->batch->reappear;
    char cold[64], litres[64];
    f = ow_yard_plan_add(j, "clear_cold", "clear in coldest tank", OW_TRUST_ASSUMED,
                         "what oil dissolves at a temperature, docs/theory/yard.md", OW_Q_NUMBER, step);
    const OwSolubility solubility = ow_yard_solubility_default();
    const double holds = ow_yard_soluble(&solubility, t->coldest_k), water = r->dissolved_hot + r->free_hot;
    ow_finding_hold_below(f, water, holds, 0.05 * holds);
    (void)ow_yard_plan_write(j, t->coldest_k, OW_Q_TEMPERATURE, cold);
    if (f->grade == OW_GRADE_BAD) {
        const double free_kg = (water - holds) * left->oil_kg;
        (void)ow_yard_plan_write(j, free_kg / 1e3, OW_Q_VOLUME, litres);
        ow_yard_plan_say(
            f,
            "At %s the oil dissolves %.0f mg/kg but holds %.0f: %s of water stand free in this batch there.",
            cold, 1e6 * holds, 1e6 * water, litres);
    } else {
        ow_yard_plan_say(
            f, "Cooled to %s the oil stays clear: it holds %.0f of the %.0f mg/kg it dissolves there.", cold,
            1e6 * water, 1e6 * holds);
    }
}

static void judge_solids(OwPlanJudge *j) {
    const OwYardTargets *t = &j->yard->targets;
    const int step = last_of(j->yard, cleans);
    const double share = ow_stream_solids_share(&j->batch->balance.out[OW_OUT_PRODUCT]);
    OwFinding *f = ow_yard_plan_add(j, "solids", "solids left", OW_TRUST_ASSUMED,
                                    "DIN 51605 allows 24 mg/kg; crumb sizes are assumed unless given",
                                    OW_Q_NUMBER, step);
    ow_finding_hold_below(f, share, t->solids_share, 0.05 * t->solids_share);
    ow_yard_plan_say(f, "%.3g mg/kg of solids are left, %.3g are allowed.", 1e6 * share,
                     1e6 * t->solids_share);
    double finest = INFINITY;
    int at = -1;
    for (int i = 0; i < j->yard->step_count; i++) {
        if (j->yard->steps[i].kind == OW_PLAN_FILTER && j->yard->steps[i].as.filter.rating_m < finest) {
            finest = j->yard->steps[i].as.filter.rating_m;
            at = i;
        }
    }
    f = ow_yard_plan_add(j, "rating", "finest filter", OW_TRUST_PRACTICE,
                         "the target is yours; common practice", OW_Q_LENGTH, at);
    if (at < 0) {
        f->grade = OW_GRADE_BAD;
        ow_yard_plan_say(f, "No filter: nothing says how coarse the last grain is.");
        return;
    }
    char is[64], wanted[64];
    ow_finding_hold_below(f, finest, t->rating_m * (1.0 + 1e-9), 0.0);
    f->limit = t->rating_m;
    ow_yard_plan_say(f, "The finest filter is %s, %s or finer is wanted.",
                     ow_yard_plan_write(j, finest, OW_Q_LENGTH, is),
                     ow_yard_plan_write(j, t->rating_m, OW_Q_LENGTH, wanted));
}

static void judge_acid(OwPlanJudge *j) {
    const OwStream *left = &j->batch->balance.out[OW_OUT_PRODUCT];
    const double mg_g = ow_stream_acid_share(left) / ow_yard_plan_acid_share(1.0);
    const double limit = j->yard->targets.acid_mg_g;
    OwFinding *f = ow_yard_plan_add(
        j, "acid", "acid value", j->batch->is_acid_assumed ? OW_TRUST_ASSUMED : OW_TRUST_MEASURED,
        "DIN 51605 allows 2.0 mg KOH/g; no yard step but blending changes it", OW_Q_NUMBER, -1);
    ow_finding_hold_below(f, mg_g, limit * (1.0 + 1e-9), 0.05 * limit);
    f->limit = limit;
    ow_yard_plan_say(f, "Acid value %.3g mg KOH/g%s, %.3g is allowed.", mg_g,
                     j->batch->is_acid_assumed ? " (assumed: titrate it)" : "", limit);
    if (ow_judge_fails(f->grade)) {
        (void)snprintf(f->mend, sizeof f->mend,
                       "No step here takes acid out: blend with better oil, or turn it away.");
    }
}

/// The last step of the yard that does what a decision asks for, -1 none.
static int step_for(const OwYard *yard, OwYardStep asked) {
    static const OwPlanKind kinds[OW_STEP_COUNT] = {[OW_STEP_NONE] = OW_PLAN_KIND_COUNT,
                                                    [OW_STEP_DRAIN] = OW_PLAN_SETTLE,
                                                    [OW_STEP_SETTLE] = OW_PLAN_SETTLE,
                                                    [OW_STEP_HEAT] = OW_PLAN_HEAT,
                                                    [OW_STEP_HOT_SETTLE] = OW_PLAN_DRY,
                                                    [OW_STEP_BUBBLE] = OW_PLAN_DRY,
                                                    [OW_STEP_VACUUM] = OW_PLAN_DRY,
                                                    [OW_STEP_FILTER] = OW_PLAN_FILTER,
                                                    [OW_STEP_CENTRIFUGE] = OW_PLAN_CENTRIFUGE,
                                                    [OW_STEP_BLEND] = OW_PLAN_BLEND,
                                                    [OW_STEP_TEST] = OW_PLAN_KIND_COUNT};
    for (int i = yard->step_count - 1; i >= 0; i--) {
        if (yard->steps[i].kind == kinds[asked]) {
            return i;
        }
    }
    return -1;
}

static void judge_tests(OwPlanJudge *j) {
    const OwYardTests *t = &j->yard->tests;
    const double value[OW_TEST_COUNT] = {t->acid_mg_g, 1e6 * t->water_share, 100.0 * t->solids_share,
                                         1e6 * t->kinematic_40_m2_s},
                 within[OW_TEST_COUNT] = {t->acid_within, t->water_within, t->solids_within,
                                          t->kinematic_within};
    OwWorkshop made[OW_TEST_COUNT];
    const OwWorkshop *tests[OW_TEST_COUNT];
    bool is_tested = false;
    for (int i = 0; i < OW_TEST_COUNT; i++) {
        made[i] = (OwWorkshop){.value = value[i],
                               .low = value[i] * (1.0 - within[i]),
                               .high = value[i] * (1.0 + within[i]),
                               .unit = "",
                               .trust = OW_TRUST_MEASURED};
        tests[i] = value[i] > 0.0 ? &made[i] : NULL;
        is_tested = is_tested || value[i] > 0.0;
    }
    j->batch->decide = ow_yard_decide(tests, NULL, j->batch->decisions);
    if (!is_tested) {
        j->batch->decide = OW_DECIDE_UNTESTED;
        return;
    }
    const bool is_clean = t->of == OW_TESTS_OF_CLEAN;
    const OwDecide decide = j->batch->decide;
    OwFinding *f = ow_yard_plan_add(j, "tests", "workshop tests", OW_TRUST_MEASURED, "docs/theory/yard.md",
                                    OW_Q_NUMBER, -1);
    f->grade = decide == OW_DECIDE_REJECT                 ? OW_GRADE_IMPOSSIBLE
               : decide == OW_DECIDE_REWORK && is_clean   ? OW_GRADE_BAD
               : decide == OW_DECIDE_RETEST               ? OW_GRADE_TIGHT
               : decide == OW_DECIDE_UNTESTED && is_clean ? OW_GRADE_UNKNOWN
                                                          : OW_GRADE_GOOD;
    // Every test that decided so, with its reason and, where a step mends it, that step of this yard.
    size_t used = (size_t)snprintf(f->text, sizeof f->text, "%s, by its tests: %s.",
                                   is_clean ? "The clean batch" : "As it comes", ow_yard_decide_text(decide));
    for (int i = 0; i < OW_TEST_COUNT && used < sizeof f->text; i++) {
        const OwDecision *d = &j->batch->decisions[i];
        if (d->decide != decide || (decide == OW_DECIDE_USE && i > 0)) {
            continue;
        }
        used +=
            (size_t)snprintf(f->text + used, sizeof f->text - used, " %s.",
                             decide == OW_DECIDE_USE ? "All that was tested is within its limit" : d->reason);
        f->trust = d->trust > f->trust ? d->trust : f->trust;
        f->part = f->part < 0 && decide == OW_DECIDE_REWORK ? step_for(j->yard, d->step) : f->part;
    }
    if (decide == OW_DECIDE_REJECT) {
        (void)snprintf(f->mend, sizeof f->mend, "Do not %s; the rest of this report is idle.",
                       is_clean ? "use it" : "take it in");
    } else if (f->grade == OW_GRADE_BAD) {
        (void)snprintf(f->mend, sizeof f->mend,
                       f->part >= 0 ? "Back to \"%.60s\"." : "This yard has no step for it%s.",
                       f->part >= 0 ? j->yard->steps[f->part].name : "");
    }
}

static void judge_drying(OwPlanJudge *j, const OwYardRow *row) {
    const OwPlanStep *step = &j->yard->steps[row->step];
    if (step->kind != OW_PLAN_DRY || !(row->wanted_share > 0.0)) {
        return;
    }
    OwFinding *f = ow_yard_plan_add(j, "drying", "drying gets there", OW_TRUST_ASSUMED,
                                    "equilibrium of air and oil; what oil dissolves, docs/theory/yard.md",
                                    OW_Q_NUMBER, row->step);
    f->has_value = f->has_limit = true;
    f->value = row->water_share;
    f->limit = row->wanted_share;
    f->margin = f->limit - f->value;
    char time[64];
    ow_yard_plan_time_text(row->elapsed_s, time, sizeof time);
    if (row->reach == OW_REACH_YES || row->reach == OW_REACH_ALREADY) {
        f->grade = OW_GRADE_GOOD;
        ow_yard_plan_say(f, "%.60s comes down to %.0f mg/kg in %s; the driest it could get is %.0f.",
                         step->name, 1e6 * row->water_share, time,
                         1e6 * fmin(row->floor_share, row->water_share));
    } else {
        const bool is_never = row->floor_share >= row->wanted_share;
        f->grade = is_never ? OW_GRADE_IMPOSSIBLE : OW_GRADE_BAD;
        ow_yard_plan_say(f, is_never ? "%.60s never gets there: %s." : "%.60s: %s.", step->name, row->note);
    }
}

static void judge_filters(OwPlanJudge *j) {
    const OwYardRow *slowest = NULL;
    for (int i = 0; i < j->batch->row_count; i++) {
        const OwYardRow *row = &j->batch->rows[i];
        if (j->yard->steps[row->step].kind != OW_PLAN_FILTER) {
            continue;
        }
        if (row->short_m3 > 0.0) {
            OwFinding *f = ow_yard_plan_add(j, "filter", "filter lets it through", OW_TRUST_ASSUMED,
                                            "Darcy; medium by rule unless its clean drop is given",
                                            OW_Q_VOLUME, row->step);
            f->grade = OW_GRADE_BAD;
            f->has_value = true;
            f->value = row->short_m3;
            ow_yard_plan_say(f, "%.60s: %s.", j->yard->steps[row->step].name, row->note);
        } else if (slowest == NULL || row->elapsed_s > slowest->elapsed_s) {
            slowest = row;
        }
    }
    if (slowest != NULL) {
        char time[64];
        ow_yard_plan_time_text(slowest->elapsed_s, time, sizeof time);
        OwFinding *f = ow_yard_plan_add(j, "filter_time", "slowest filter", OW_TRUST_ASSUMED,
                                        "Darcy and clogging laws; three days as limit, common practice",
                                        OW_Q_TIME, slowest->step);
        ow_finding_hold_below(f, slowest->elapsed_s, FILTER_LIMIT_S, 0.5 * FILTER_LIMIT_S);
        ow_yard_plan_say(f, "%.60s takes %s for the batch and uses up %.2g of a filter.",
                         j->yard->steps[slowest->step].name, time, slowest->filters);
    }
}

/// Of two that fail alike the one that can hurt is told first.
static int weight(const OwFinding *f) {
    static const char *const hurts[] = {"cut_out", "heat", "film", "surface_load", "wet_heat"};
    int more = 0;
    for (size_t i = 0; i < sizeof hurts / sizeof hurts[0]; i++) {
        more = strcmp(hurts[i], f->key) == 0 ? 1 : more;
    }
    return 2 * (int)f->grade + more;
}

static void headline(OwPlanJudge *j) {
    OwYardBatch *b = j->batch;
    const OwFinding *worst = NULL;
    int failed = 0;
    for (int i = 0; i < b->finding_count; i++) {
        const OwFinding *f = &b->findings[i];
        failed += ow_judge_fails(f->grade) ? 1 : 0;
        worst = worst == NULL || weight(f) > weight(worst) ? f : worst;
    }
    b->grade = worst->grade;
    char clean[64], in[64], time[64];
    (void)ow_yard_plan_write(j, b->clean_m3, OW_Q_VOLUME, clean);
    (void)ow_yard_plan_write(j, b->in_m3, OW_Q_VOLUME, in);
    ow_yard_plan_time_text(b->elapsed_s, time, sizeof time);
    if (failed > 0) {
        (void)snprintf(b->headline, sizeof b->headline, "Not fit to use as planned (%d to mend): %.200s",
                       failed, worst->text);
    } else {
        (void)snprintf(b->headline, sizeof b->headline, "%s of %s come out dry and clean in %s%s", clean, in,
                       time,
                       b->grade == OW_GRADE_GOOD    ? "."
                       : b->grade == OW_GRADE_TIGHT ? ", with little to spare."
                                                    : "; something is not known, see below.");
    }
}

void ow_yard_plan_judge(const OwYard *yard, OwYardBatch *batch) {
    OwPlanJudge j = {.yard = yard, .batch = batch};
    batch->finding_count = 0;
    batch->caution_count = 0;
    judge_water(&j);
    judge_solids(&j);
    judge_acid(&j);
    judge_tests(&j);
    for (int i = 0; i < batch->row_count; i++) {
        judge_drying(&j, &batch->rows[i]);
    }
    judge_filters(&j);
    ow_yard_plan_judge_safety(&j);
    ow_yard_plan_gather_cautions(yard, batch);
    headline(&j);
}
