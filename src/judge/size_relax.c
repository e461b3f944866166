// SPDX-License-Identifier: GPL-3.0-or-later
// What would just do if every size could be had: least cost of the changed sizes at the targets, by NLopt.
#include "judge/size_impl.h"

#include <math.h>
#include <nlopt.h>
#include <stdlib.h>
#include <string.h>

#define MAX_LOOKS 90

typedef struct OwRelax {
    OwSizeWorker worker;
    const int *option;
    int varied[OW_SIZE_MAX_CHOICES], count;
    double low[OW_SIZE_MAX_CHOICES], high[OW_SIZE_MAX_CHOICES], scale;
    OwStatus status;
    double best_cost, best[OW_SIZE_MAX_CHOICES]; ///< the cheapest point that meets all
} OwRelax;

static double value_of(const OwRelax *r, int i, double x) {
    const double share = x < 0.0 ? 0.0 : x > 1.0 ? 1.0 : x;
    return r->low[i] + share * (r->high[i] - r->low[i]);
}

static double cost_of(const OwRelax *r, const double *x) {
    double cost = 0.0;
    for (int i = 0; i < r->count; i++) {
        cost += ow_choice_cost(&r->worker.job->choices[r->varied[i]], value_of(r, i, x[i]));
    }
    return cost;
}

static double objective(unsigned n, const double *x, double *gradient, void *context) {
    (void)n;
    (void)gradient;
    const OwRelax *r = context;
    return cost_of(r, x) / r->scale;
}

/// NLopt wants it below 0.
static double constraint(unsigned n, const double *x, double *gradient, void *context) {
    (void)n;
    (void)gradient;
    OwRelax *r = context;
    OwSizeVerdict verdict = {.slack = -1.0};
    for (int i = 0; i < r->count; i++) {
        r->worker.values[r->varied[i]] = value_of(r, i, x[i]);
    }
    if (r->status == OW_OK) {
        r->status = ow_size_look(&r->worker, r->option, false, OW_DISPLAY_METRIC, NULL, &verdict);
    }
    const double cost = cost_of(r, x);
    if (r->status == OW_OK && verdict.state == OW_FULL_MEETS && cost < r->best_cost) {
        r->best_cost = cost;
        memcpy(r->best, x, sizeof(double) * (size_t)r->count);
    }
    return -(verdict.slack < -3.0 ? -3.0 : verdict.slack > 3.0 ? 3.0 : verdict.slack);
}

OwStatus ow_size_relax(const OwSizeJob *job, const int *option, double *values, bool *has_found) {
    OwRelax r = {.option = option};
    double x[OW_SIZE_MAX_CHOICES], own[OW_SIZE_MAX_CHOICES];
    *has_found = false;
    for (int c = 0; c < job->choice_count; c++) {
        const OwChoice *choice = &job->choices[c];
        values[c] = own[c] = NAN;
        if (choice->kind != OW_CHOICE_STOCK || option[c] == choice->base) {
            continue;
        }
        // Within what is in stock; 0 (bare, no diesel) is another thing than a thin one.
        r.low[r.count] = choice->options[0].value;
        r.high[r.count] = choice->options[choice->count - 1].value;
        const double span = r.high[r.count] - r.low[r.count];
        if (span > 0.0) {
            x[r.count] = (choice->options[option[c]].value - r.low[r.count]) / span;
            r.varied[r.count++] = c;
        }
    }
    if (r.count == 0) {
        return OW_OK;
    }
    r.status = ow_size_worker_create(job, &r.worker);
    if (r.status != OW_OK) {
        return r.status;
    }
    r.worker.values = own;
    r.scale = fmax(cost_of(&r, x), 1e-9);
    r.best_cost = INFINITY;
    nlopt_opt opt = nlopt_create(NLOPT_LN_COBYLA, (unsigned)r.count);
    if (opt == NULL) {
        r.status = OW_ERROR_MEMORY;
    } else {
        double limit = 0.0;
        (void)nlopt_set_min_objective(opt, objective, &r);
        (void)nlopt_set_lower_bounds1(opt, 0.0);
        (void)nlopt_set_upper_bounds1(opt, 1.0);
        (void)nlopt_add_inequality_constraint(opt, constraint, &r, 1e-4);
        (void)nlopt_set_initial_step1(opt, 0.06);
        (void)nlopt_set_xtol_abs1(opt, 3e-4);
        (void)nlopt_set_maxeval(opt, MAX_LOOKS);
        // Whatever it says, the cheapest point that truly meets all was kept.
        (void)nlopt_optimize(opt, x, &limit);
        nlopt_destroy(opt);
    }
    if (r.status == OW_OK && isfinite(r.best_cost)) {
        for (int i = 0; i < r.count; i++) {
            values[r.varied[i]] = value_of(&r, i, r.best[i]);
        }
        *has_found = true;
    }
    ow_size_worker_destroy(&r.worker);
    return r.status;
}
