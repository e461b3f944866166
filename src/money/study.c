// SPDX-License-Identifier: GPL-3.0-or-later
// How sure the answer is: bands of every result, chances, and which input moves the worth most.
#include "money/money_impl.h"
#include "money/quasi.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const char *ow_cost_result_text(OwCostResult result) {
    static const char *const texts[OW_COST_RESULTS] = {
        [OW_COST_RESULT_LITRE] = "cost of the oil", [OW_COST_RESULT_DISTANCE] = "cost of driving on it",
        [OW_COST_RESULT_SAVING] = "saving a year",  [OW_COST_RESULT_NPV] = "worth over the years",
        [OW_COST_RESULT_PAYBACK] = "payback",       [OW_COST_RESULT_DISCOUNTED] = "payback, discounted",
        [OW_COST_RESULT_IRR] = "rate of return",    [OW_COST_RESULT_HOUR] = "an hour of work earns",
    };
    return (unsigned)result < OW_COST_RESULTS ? texts[result] : "?";
}

/// The inputs that have a spread, in the order of their Sobol coordinates.
typedef struct Sampler {
    const OwCostPlan *plan;
    int count, side;
    OwCostInput inputs[OW_COST_INPUTS];
    double values[OW_COST_INPUTS];
} Sampler;

static void fill(Sampler *sampler, const double *u) {
    for (int i = 0; i < sampler->count; i++) {
        sampler->values[sampler->inputs[i]] =
            ow_cost_value_at(&sampler->plan->inputs[sampler->inputs[i]], u[i]);
    }
}

static double worth_of(void *context, const double *u) {
    Sampler *sampler = context;
    OwCostReckoning out;
    fill(sampler, u);
    ow_cost_reckon_some(sampler->plan, sampler->values, true, &out);
    return out.side[sampler->side].npv;
}

static double worth_with(const Sampler *sampler, OwCostInput input, double value) {
    OwCostReckoning out;
    double values[OW_COST_INPUTS];
    ow_cost_likely(sampler->plan, values);
    values[input] = value;
    ow_cost_reckon_some(sampler->plan, values, true, &out);
    return out.side[sampler->side].npv;
}

static int by_swing(const void *a, const void *b) {
    const OwCostInfluence *x = a, *y = b;
    const double p = fabs(x->npv_high - x->npv_low), q = fabs(y->npv_high - y->npv_low);
    return p > q ? -1 : p < q ? 1 : (int)x->input - (int)y->input;
}

static int by_total(const void *a, const void *b) {
    const OwCostInfluence *x = a, *y = b;
    return x->total > y->total ? -1 : x->total < y->total ? 1 : by_swing(a, b);
}

static int by_value(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y ? 1 : 0;
}

/// One-at-a-time swings; they also give the order in which the inputs get the sequence's coordinates.
static void find_swings(Sampler *sampler, OwCostStudy *study) {
    for (int i = 0; i < OW_COST_INPUTS; i++) {
        const OwCostValue *value = &sampler->plan->inputs[i];
        if (value->spread == OW_COST_PLAIN) {
            continue;
        }
        OwCostInfluence *x = &study->influence[study->influence_count++];
        x->input = (OwCostInput)i;
        x->low = ow_cost_value_at(value, 0.05);
        x->high = ow_cost_value_at(value, 0.95);
        x->npv_low = worth_with(sampler, x->input, x->low);
        x->npv_high = worth_with(sampler, x->input, x->high);
    }
    qsort(study->influence, (size_t)study->influence_count, sizeof study->influence[0], by_swing);
    sampler->count = study->influence_count;
    for (int i = 0; i < sampler->count; i++) {
        sampler->inputs[i] = study->influence[i].input;
    }
}

static OwStatus find_indices(Sampler *sampler, int points, OwCostStudy *study) {
    OwQuasiIndex indices[OW_COST_INPUTS];
    double variance = 0.0;
    const OwStatus status =
        ow_quasi_indices(worth_of, sampler, sampler->count, points, OW_COST_REPLICATES, indices, &variance);
    for (int i = 0; status == OW_OK && i < sampler->count; i++) {
        OwCostInfluence *x = &study->influence[i];
        x->first = indices[i].first;
        x->total = indices[i].total;
        x->first_error = indices[i].first_error;
        x->total_error = indices[i].total_error;
    }
    if (status == OW_OK) {
        qsort(study->influence, (size_t)study->influence_count, sizeof study->influence[0], by_total);
    }
    return status;
}

/// The results of a sample; what is never is infinite, on its bad side.
static void take_results(const OwCostReckoning *r, int side, double out[OW_COST_RESULTS]) {
    const OwCostSide *s = &r->side[side];
    out[OW_COST_RESULT_LITRE] = s->cost_m3;
    out[OW_COST_RESULT_DISTANCE] = s->cost_m;
    out[OW_COST_RESULT_SAVING] = s->saving_year;
    out[OW_COST_RESULT_NPV] = s->npv;
    out[OW_COST_RESULT_PAYBACK] = s->has_payback ? s->payback_y : INFINITY;
    out[OW_COST_RESULT_DISCOUNTED] = s->has_discounted ? s->discounted_y : INFINITY;
    out[OW_COST_RESULT_IRR] = s->has_irr ? s->irr : -INFINITY;
    out[OW_COST_RESULT_HOUR] = r->has_hour ? r->hour : -INFINITY;
}

/// Quantile of sorted numbers, type 7 of Hyndman & Fan 1996 (Am. Stat. 50:361); next to an infinite one the
/// nearer counts.
static double quantile(const double *sorted, int count, double p) {
    const double at = p * (count - 1);
    const int i = (int)at;
    const double s = at - i;
    if (i + 1 >= count) {
        return sorted[count - 1];
    }
    if (!isfinite(sorted[i]) || !isfinite(sorted[i + 1])) {
        return sorted[s < 0.5 ? i : i + 1];
    }
    return sorted[i] + s * (sorted[i + 1] - sorted[i]);
}

static const double shares[3] = {0.05, 0.50, 0.95};

/// `column` holds the replicates one after the other; it ends sorted.
static void make_band(double *column, int points, OwCostBand *band) {
    double sums[3] = {0.0}, squares[3] = {0.0};
    bool is_finite[3] = {true, true, true};
    for (int r = 0; r < OW_COST_REPLICATES; r++) {
        qsort(column + (size_t)r * (size_t)points, (size_t)points, sizeof *column, by_value);
        for (int k = 0; k < 3; k++) {
            const double q = quantile(column + (size_t)r * (size_t)points, points, shares[k]);
            is_finite[k] = is_finite[k] && isfinite(q);
            sums[k] += isfinite(q) ? q / OW_COST_REPLICATES : 0.0;
            squares[k] += isfinite(q) ? q * q / OW_COST_REPLICATES : 0.0;
        }
    }
    const int total = points * OW_COST_REPLICATES;
    qsort(column, (size_t)total, sizeof *column, by_value);
    for (int k = 0; k < 3; k++) {
        const double q = quantile(column, total, shares[k]);
        band->never[k] = !isfinite(q);
        band->point[k] = isfinite(q) ? q : 0.0;
        band->error[k] =
            is_finite[k] ? sqrt(fmax(0.0, squares[k] - sums[k] * sums[k]) / (OW_COST_REPLICATES - 1)) : 0.0;
    }
}

typedef struct Columns {
    double *data;
    int points;
} Columns;

static double *column_of(const Columns *c, int side, int result) {
    return c->data +
           ((size_t)side * OW_COST_RESULTS + (size_t)result) * (size_t)c->points * OW_COST_REPLICATES;
}

static OwStatus run_samples(Sampler *sampler, const Columns *columns, OwCostStudy *study) {
    double u[OW_COST_INPUTS], chances[2] = {0.0}, squares[2] = {0.0};
    for (int r = 0; r < OW_COST_REPLICATES; r++) {
        OwQuasi quasi = {0};
        const bool is_any = sampler->count > 0;
        const OwStatus status = is_any ? ow_quasi_start(&quasi, sampler->count, 1000u + (unsigned)r) : OW_OK;
        if (status != OW_OK) {
            return status;
        }
        int good[2] = {0, 0};
        for (int n = 0; n < columns->points; n++) {
            OwCostReckoning out;
            double results[OW_COST_RESULTS];
            if (is_any) {
                ow_quasi_next(&quasi, u);
                fill(sampler, u);
            }
            ow_cost_reckon(sampler->plan, sampler->values, &out);
            for (int s = 0; s < 2; s++) {
                take_results(&out, s, results);
                for (int k = 0; k < OW_COST_RESULTS; k++) {
                    column_of(columns, s, k)[(size_t)r * (size_t)columns->points + (size_t)n] = results[k];
                }
                good[s] += out.side[s].npv > 0.0 ? 1 : 0;
                for (int y = 0; y <= OW_COST_MAX_YEARS; y++) {
                    study->chance_year[s][y] += results[OW_COST_RESULT_PAYBACK] <= y ? 1.0 : 0.0;
                }
            }
        }
        ow_quasi_clear(&quasi);
        for (int s = 0; s < 2; s++) {
            const double chance = (double)good[s] / columns->points;
            chances[s] += chance / OW_COST_REPLICATES;
            squares[s] += chance * chance / OW_COST_REPLICATES;
        }
    }
    for (int s = 0; s < 2; s++) {
        study->chance[s] = chances[s];
        study->chance_error[s] =
            sqrt(fmax(0.0, squares[s] - chances[s] * chances[s]) / (OW_COST_REPLICATES - 1));
        for (int y = 0; y <= OW_COST_MAX_YEARS; y++) {
            study->chance_year[s][y] /= (double)columns->points * OW_COST_REPLICATES;
        }
    }
    return OW_OK;
}

OwStatus ow_cost_study(const OwCostPlan *plan, int samples, OwCostStudy *study) {
    if (plan == NULL || study == NULL) {
        return OW_ERROR_USE;
    }
    memset(study, 0, sizeof *study);
    if (samples < OW_COST_LEAST_SAMPLES || samples > OW_COST_MOST_SAMPLES) {
        return OW_ERROR_RANGE;
    }
    int points = 8;
    while (points * OW_COST_REPLICATES < samples) {
        points *= 2;
    }
    Sampler sampler = {.plan = plan, .side = plan->counts_hours ? 1 : 0};
    ow_cost_likely(plan, sampler.values);
    find_swings(&sampler, study);
    study->samples = points * OW_COST_REPLICATES;
    study->replicates = OW_COST_REPLICATES;
    study->uncertain = sampler.count;
    study->quasi = sampler.count < OW_QUASI_MOST / 2 ? sampler.count : OW_QUASI_MOST / 2;
    Columns columns = {.points = points};
    columns.data = calloc((size_t)2 * OW_COST_RESULTS * (size_t)points * OW_COST_REPLICATES, sizeof(double));
    if (columns.data == NULL) {
        return OW_ERROR_MEMORY;
    }
    OwStatus status = run_samples(&sampler, &columns, study);
    for (int s = 0; s < 2 && status == OW_OK; s++) {
        for (int k = 0; k < OW_COST_RESULTS; k++) {
            make_band(column_of(&columns, s, k), points, &study->band[s][k]);
        }
    }
    free(columns.data);
    if (status == OW_OK && sampler.count > 0) {
        status = find_indices(&sampler, points, study);
    }
    return status;
}
