// SPDX-License-Identifier: GPL-3.0-or-later
// What a walked batch is held against: dry, clear when cold, clean, and safe to make.
#include "yard/guard.h"
#include "yard/plan_walk.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/// No fuller than this: oil swells by a twelfth up to 90 degC, and foams (common practice, no source).
#define FILL_LIMIT 0.95
/// Free water under oil when heat goes on (common practice, no source).
#define WET_HEAT_LIMIT 0.01
/// A filter that takes longer is as good as shut (common practice, no source).
#define FILTER_LIMIT_S (3.0 * 86400.0)
/// Element surface and film: the band in which a careful fitter frets.
#define LOAD_BAND_W_M2 3e3
#define FILM_BAND_K 10.0

typedef struct Judge {
    const OwYard *yard;
    OwYardBatch *batch;
} Judge;

void ow_yard_plan_time_text(double time_s, char *text, size_t size) {
    if (time_s < 90.0 * 60.0) {
        (void)snprintf(text, size, "%.0f min", ceil(time_s / 60.0 - 1e-9));
    } else if (time_s < 48.0 * 3600.0) {
        (void)snprintf(text, size, "%.3g h", time_s / 3600.0);
    } else {
        (void)snprintf(text, size, "%.3g days", time_s / 86400.0);
    }
}

static OwFinding *add(Judge *j, const char *key, const char *label, OwTrust trust, const char *basis,
                      OwQuantity quantity, int step) {
    static const OwFinding none = {0};
    // The last place is overwritten rather than run past; the bound is above what 32 steps can ask.
    const int i =
        j->batch->finding_count < OW_YARD_MAX_FINDINGS ? j->batch->finding_count++ : OW_YARD_MAX_FINDINGS - 1;
    OwFinding *f = &j->batch->findings[i];
    *f = none;
    f->key = key;
    f->label = label;
    f->trust = trust;
    f->basis = basis;
    f->quantity = quantity;
    f->part = step;
    return f;
}

static void __attribute__((format(printf, 2, 3))) say(OwFinding *f, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(f->text, sizeof f->text, format, arguments);
    va_end(arguments);
}

static const char *write(const Judge *j, double si, OwQuantity quantity, char text[64]) {
    ow_units_write(si, quantity, j->batch->display, text, 64);
    return text;
}

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

static void judge_water(Judge *j) {
    const OwYardTargets *t = &j->yard->targets;
    const OwStream *left = &j->batch->balance.out[OW_OUT_PRODUCT];
    const int step = last_of(j->yard, dries);
    const double share = ow_stream_water_share(left);
    OwFinding *f =
        add(j, "water", "water left", OW_TRUST_ASSUMED,
            "the target is yours (DIN 51605 allows 750 mg/kg); drop sizes are assumed unless given",
            OW_Q_NUMBER, step);
    ow_finding_hold_below(f, share, t->water_share, 0.05 * t->water_share);
    say(f, "%.0f mg/kg of water are left, %.0f are allowed.", 1e6 * share, 1e6 * t->water_share);
    const OwReappear *r = &j->batch->reappear;
    char cold[64], litres[64];
    f = add(j, "clear_cold", "clear in coldest tank", OW_TRUST_ASSUMED,
            "what oil dissolves at a temperature, docs/theory/yard.md", OW_Q_NUMBER, step);
    const OwSolubility solubility = ow_yard_solubility_default();
    const double holds = ow_yard_soluble(&solubility, t->coldest_k), water = r->dissolved_hot + r->free_hot;
    ow_finding_hold_below(f, water, holds, 0.05 * holds);
    (void)write(j, t->coldest_k, OW_Q_TEMPERATURE, cold);
    if (f->grade == OW_GRADE_BAD) {
        const double free_kg = (water - holds) * left->oil_kg;
        (void)write(j, free_kg / 1e3, OW_Q_VOLUME, litres);
        say(f,
            "At %s the oil dissolves %.0f mg/kg but holds %.0f: %s of water stand free in this batch there.",
            cold, 1e6 * holds, 1e6 * water, litres);
    } else {
        say(f, "Cooled to %s the oil stays clear: it holds %.0f of the %.0f mg/kg it dissolves there.", cold,
            1e6 * water, 1e6 * holds);
    }
}

static void judge_solids(Judge *j) {
    const OwYardTargets *t = &j->yard->targets;
    const int step = last_of(j->yard, cleans);
    const double share = ow_stream_solids_share(&j->batch->balance.out[OW_OUT_PRODUCT]);
    OwFinding *f = add(j, "solids", "solids left", OW_TRUST_ASSUMED,
                       "DIN 51605 allows 24 mg/kg; crumb sizes are assumed unless given", OW_Q_NUMBER, step);
    ow_finding_hold_below(f, share, t->solids_share, 0.05 * t->solids_share);
    say(f, "%.3g mg/kg of solids are left, %.3g are allowed.", 1e6 * share, 1e6 * t->solids_share);
    double finest = INFINITY;
    int at = -1;
    for (int i = 0; i < j->yard->step_count; i++) {
        if (j->yard->steps[i].kind == OW_PLAN_FILTER && j->yard->steps[i].as.filter.rating_m < finest) {
            finest = j->yard->steps[i].as.filter.rating_m;
            at = i;
        }
    }
    f = add(j, "rating", "finest filter", OW_TRUST_PRACTICE, "the target is yours; common practice",
            OW_Q_LENGTH, at);
    if (at < 0) {
        f->grade = OW_GRADE_BAD;
        say(f, "No filter: nothing says how coarse the last grain is.");
        return;
    }
    char is[64], wanted[64];
    ow_finding_hold_below(f, finest, t->rating_m * (1.0 + 1e-9), 0.0);
    f->limit = t->rating_m;
    say(f, "The finest filter is %s, %s or finer is wanted.", write(j, finest, OW_Q_LENGTH, is),
        write(j, t->rating_m, OW_Q_LENGTH, wanted));
}

static void judge_acid(Judge *j) {
    const OwStream *left = &j->batch->balance.out[OW_OUT_PRODUCT];
    const double mg_g = ow_stream_acid_share(left) / ow_yard_plan_acid_share(1.0);
    const double limit = j->yard->targets.acid_mg_g;
    OwFinding *f =
        add(j, "acid", "acid value", j->batch->is_acid_assumed ? OW_TRUST_ASSUMED : OW_TRUST_MEASURED,
            "DIN 51605 allows 2.0 mg KOH/g; no yard step but blending changes it", OW_Q_NUMBER, -1);
    ow_finding_hold_below(f, mg_g, limit * (1.0 + 1e-9), 0.05 * limit);
    f->limit = limit;
    say(f, "Acid value %.3g mg KOH/g%s, %.3g is allowed.", mg_g,
        j->batch->is_acid_assumed ? " (assumed: titrate it)" : "", limit);
    if (ow_judge_fails(f->grade)) {
        (void)snprintf(f->mend, sizeof f->mend,
                       "No step here takes acid out: blend with better oil, or turn it away.");
    }
}

static void judge_tests(Judge *j) {
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
    // The worst row: the one that decided.
    const OwDecision *worst = &j->batch->decisions[0];
    for (int i = 1; i < OW_TEST_COUNT; i++) {
        worst = worst->decide != j->batch->decide ? &j->batch->decisions[i] : worst;
    }
    OwFinding *f = add(j, "tests", "workshop tests", worst->trust, "docs/theory/yard.md", OW_Q_NUMBER, -1);
    f->grade = j->batch->decide == OW_DECIDE_REJECT   ? OW_GRADE_IMPOSSIBLE
               : j->batch->decide == OW_DECIDE_RETEST ? OW_GRADE_TIGHT
                                                      : OW_GRADE_GOOD;
    f->has_value = worst->decide != OW_DECIDE_UNTESTED;
    f->value = worst->value;
    say(f, "As it comes, by its tests: %s. %s.", ow_yard_decide_text(j->batch->decide), worst->reason);
    if (j->batch->decide == OW_DECIDE_REJECT) {
        (void)snprintf(f->mend, sizeof f->mend, "Do not take it in; the rest of this report is idle.");
    }
}

static bool is_heated(const OwPlanStep *step, const OwYardRow *row, const OwYard *yard) {
    return yard->vessels[step->vessel].heater_w > 0.0 &&
           (step->kind == OW_PLAN_HEAT ||
            (step->kind == OW_PLAN_DRY && (step->as.dry.at_k > 0.0 || row->watched_s > 0.0)));
}

/// Cut-out, surface load and film of a vessel's heater: at its hottest step.
static void judge_heater(Judge *j, int vessel) {
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
    OwFinding *f = add(j, "cut_out", "over-temperature cut-out", OW_TRUST_PRACTICE,
                       "common practice, no source; local codes come first", OW_Q_NUMBER, hottest->step);
    f->grade = v->has_cut_out ? OW_GRADE_GOOD : OW_GRADE_BAD;
    say(f,
        v->has_cut_out
            ? "\"%.60s\" has a cut-out of its own."
            : "\"%.60s\" is heated without a cut-out: a thermostat that sticks can set the oil on fire.",
        v->name);
    if (!v->has_cut_out) {
        (void)snprintf(
            f->mend, sizeof f->mend,
            "Fit a cut-out with its own sensor and switch, reset by hand; leave the heat off until then.");
    }
    f = add(j, "surface_load", "load on heater surface", OW_TRUST_PRACTICE, "common practice, no source",
            OW_Q_NUMBER, hottest->step);
    if (hottest->load_w_m2 > 0.0) {
        ow_finding_hold_below(f, hottest->load_w_m2, OW_LOAD_LIMIT_W_M2, LOAD_BAND_W_M2);
        say(f, "The heater of \"%.60s\" carries %.2g W/cm2 in standing oil, %.2g are allowed.", v->name,
            1e-4 * hottest->load_w_m2, 1e-4 * OW_LOAD_LIMIT_W_M2);
        char is[64], limit[64];
        f = add(j, "film", "oil at heater surface", OW_TRUST_PRACTICE,
                "Churchill & Chu 1975; frying temperature as limit, common practice", OW_Q_TEMPERATURE,
                hottest->step);
        ow_finding_hold_below(f, hottest->film_k, OW_FILM_LIMIT_K, FILM_BAND_K);
        say(f, "At the heater of \"%.60s\" the oil reaches %s, %s is allowed.", v->name,
            write(j, hottest->film_k, OW_Q_TEMPERATURE, is),
            write(j, OW_FILM_LIMIT_K, OW_Q_TEMPERATURE, limit));
    } else {
        f->grade = OW_GRADE_UNKNOWN;
        say(f,
            "The surface of the heater of \"%.60s\" is not known, so neither is how hot the oil gets there.",
            v->name);
        (void)snprintf(f->mend, sizeof f->mend, "Measure the element and give its heater area.");
    }
}

static void judge_heat(Judge *j, const OwYardRow *row, double free_before) {
    const OwPlanStep *step = &j->yard->steps[row->step];
    if (!is_heated(step, row, j->yard)) {
        return;
    }
    const double to_k = step->kind == OW_PLAN_HEAT ? step->as.heat.to_k : step->as.dry.at_k;
    char to[64];
    (void)write(j, to_k, OW_Q_TEMPERATURE, to);
    // A dry step that never began to dry (it wants nothing yet) was not warm enough.
    if (to_k > 0.0 &&
        (row->reach == OW_REACH_REFUSED || (row->reach == OW_REACH_NEVER && !(row->wanted_share > 0.0)))) {
        OwFinding *f = add(j, "heat", "gets as warm as asked", OW_TRUST_PRACTICE,
                           "95 degC at most while water may be under the oil, common practice",
                           OW_Q_TEMPERATURE, row->step);
        f->grade = OW_GRADE_BAD;
        f->has_value = f->has_limit = true;
        f->value = to_k;
        f->limit = row->reach == OW_REACH_REFUSED ? OW_HEAT_LIMIT_K : row->end_k;
        f->margin = f->limit - f->value;
        say(f, "%.60s, to %s: %s.", step->name, to, row->note);
    }
    if (free_before > 0.5 * WET_HEAT_LIMIT) {
        OwFinding *f = add(j, "wet_heat", "free water when heat goes on", OW_TRUST_PRACTICE,
                           "common practice, no source", OW_Q_NUMBER, row->step);
        ow_finding_hold_below(f, free_before, WET_HEAT_LIMIT, 0.5 * WET_HEAT_LIMIT);
        say(f, "%.60s heats oil with %.2g %% of free water in it, %.2g %% is allowed: it spits.", step->name,
            100.0 * free_before, 100.0 * WET_HEAT_LIMIT);
    }
}

static void judge_drying(Judge *j, const OwYardRow *row) {
    const OwPlanStep *step = &j->yard->steps[row->step];
    if (step->kind != OW_PLAN_DRY || !(row->wanted_share > 0.0)) {
        return;
    }
    OwFinding *f =
        add(j, "drying", "drying gets there", OW_TRUST_ASSUMED,
            "equilibrium of air and oil; what oil dissolves, docs/theory/yard.md", OW_Q_NUMBER, row->step);
    f->has_value = f->has_limit = true;
    f->value = row->water_share;
    f->limit = row->wanted_share;
    f->margin = f->limit - f->value;
    char time[64];
    ow_yard_plan_time_text(row->elapsed_s, time, sizeof time);
    if (row->reach == OW_REACH_YES || row->reach == OW_REACH_ALREADY) {
        f->grade = OW_GRADE_GOOD;
        say(f, "%.60s comes down to %.0f mg/kg in %s; the driest it could get is %.0f.", step->name,
            1e6 * row->water_share, time, 1e6 * fmin(row->floor_share, row->water_share));
    } else {
        const bool is_never = row->floor_share >= row->wanted_share;
        f->grade = is_never ? OW_GRADE_IMPOSSIBLE : OW_GRADE_BAD;
        say(f, is_never ? "%.60s never gets there: %s." : "%.60s: %s.", step->name, row->note);
    }
}

static void judge_filters(Judge *j) {
    const OwYardRow *slowest = NULL;
    for (int i = 0; i < j->batch->row_count; i++) {
        const OwYardRow *row = &j->batch->rows[i];
        if (j->yard->steps[row->step].kind != OW_PLAN_FILTER) {
            continue;
        }
        if (row->short_m3 > 0.0) {
            OwFinding *f =
                add(j, "filter", "filter lets it through", OW_TRUST_ASSUMED,
                    "Darcy; medium by rule unless its clean drop is given", OW_Q_VOLUME, row->step);
            f->grade = OW_GRADE_BAD;
            f->has_value = true;
            f->value = row->short_m3;
            say(f, "%.60s: %s.", j->yard->steps[row->step].name, row->note);
        } else if (slowest == NULL || row->elapsed_s > slowest->elapsed_s) {
            slowest = row;
        }
    }
    if (slowest != NULL) {
        char time[64];
        ow_yard_plan_time_text(slowest->elapsed_s, time, sizeof time);
        OwFinding *f =
            add(j, "filter_time", "slowest filter", OW_TRUST_ASSUMED,
                "Darcy and clogging laws; three days as limit, common practice", OW_Q_TIME, slowest->step);
        ow_finding_hold_below(f, slowest->elapsed_s, FILTER_LIMIT_S, 0.5 * FILTER_LIMIT_S);
        say(f, "%.60s takes %s for the batch and uses up %.2g of a filter.",
            j->yard->steps[slowest->step].name, time, slowest->filters);
    }
}

static void judge_watch(Judge *j) {
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
    OwFinding *f = add(j, "watched", "heat or pump is watched", OW_TRUST_PRACTICE,
                       "no unattended heat or pump, common practice", OW_Q_TIME, longest->step);
    ow_finding_hold_below(f, longest->watched_s, day, 0.1 * day);
    say(f, "%.60s runs heat or a pump for %s; someone is there for %s a day.",
        j->yard->steps[longest->step].name, is, limit);
}

static void judge_fit(Judge *j) {
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
    OwFinding *f = add(j, "fits", "fullest vessel", OW_TRUST_PRACTICE,
                       "oil swells and foams; common practice, no source", OW_Q_NUMBER, at);
    ow_finding_hold_below(f, fullest, FILL_LIMIT, 0.02);
    say(f, "\"%.60s\" is %.0f %% full, %.0f %% is allowed.", j->yard->vessels[vessel].name, 100.0 * fullest,
        100.0 * FILL_LIMIT);
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

static void gather_cautions(const OwYard *yard, OwYardBatch *batch) {
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

/// Of two that fail alike the one that can hurt is told first.
static int weight(const OwFinding *f) {
    static const char *const hurts[] = {"cut_out", "heat", "film", "surface_load", "wet_heat"};
    int more = 0;
    for (size_t i = 0; i < sizeof hurts / sizeof hurts[0]; i++) {
        more = strcmp(hurts[i], f->key) == 0 ? 1 : more;
    }
    return 2 * (int)f->grade + more;
}

static void headline(Judge *j) {
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
    (void)write(j, b->clean_m3, OW_Q_VOLUME, clean);
    (void)write(j, b->in_m3, OW_Q_VOLUME, in);
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
    Judge j = {.yard = yard, .batch = batch};
    batch->finding_count = 0;
    batch->caution_count = 0;
    judge_water(&j);
    judge_solids(&j);
    judge_acid(&j);
    judge_tests(&j);
    double free_before = batch->in.free_water_kg / ow_stream_total(&batch->in);
    for (int i = 0; i < batch->row_count; i++) {
        judge_heat(&j, &batch->rows[i], free_before);
        judge_drying(&j, &batch->rows[i]);
        free_before = batch->rows[i].free_share;
    }
    for (int v = 0; v < yard->vessel_count; v++) {
        judge_heater(&j, v);
    }
    judge_watch(&j);
    judge_filters(&j);
    judge_fit(&j);
    gather_cautions(yard, batch);
    headline(&j);
}
