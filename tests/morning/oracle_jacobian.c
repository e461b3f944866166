// SPDX-License-Identifier: GPL-3.0-or-later
// Every term of the network's slope gives the same entries whichever way its liquid flows (zero where it does
// not), so that the pattern is fixed; places are found once and replayed.
#include "oracle_jacobian.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct Place {
    int row, column;
    long order; ///< of emission
} Place;

struct OwJacobian {
    const OwPlan *plan;
    int n;
    Place *places;
    long emitted, capacity, count;
    int64_t *starts, *rows;
    long *slots;    ///< emission -> entry
    double *values; ///< being filled; NULL while places are gathered
    bool has_failed;
};

static void emit(OwJacobian *j, int row, int column, double value) {
    if (j->values) {
        j->values[j->slots[j->emitted++]] += value;
        return;
    }
    if (j->emitted == j->capacity) {
        const long capacity = j->capacity ? 2 * j->capacity : 4096;
        Place *places = realloc(j->places, (size_t)capacity * sizeof *places);
        if (!places) {
            j->has_failed = true;
            return;
        }
        j->places = places;
        j->capacity = capacity;
    }
    j->places[j->emitted] = (Place){row, column, j->emitted};
    j->emitted++;
}

static double at(const double *values, int i) {
    return values ? values[i] : 1.0;
}

/// Liquid of rate r from a to b (either sign), into capacities.
static void flow(OwJacobian *j, int a, int b, double rate, double a_j_k, double b_j_k) {
    const double on = rate > 0.0 ? rate : 0.0, back = rate < 0.0 ? -rate : 0.0;
    emit(j, b, b, -on / b_j_k);
    emit(j, b, a, on / b_j_k);
    emit(j, a, a, -back / a_j_k);
    emit(j, a, b, back / a_j_k);
}

static void streams_and_chains(OwJacobian *j, const OwHeatRates *r, int offset) {
    const OwPlan *plan = j->plan;
    const double *capacity = r ? r->capacity_j_k : NULL;
    for (int i = 0; i < plan->stream_count; i++) {
        const OwHeatStream *s = &plan->streams[i];
        flow(j, offset + s->from, offset + s->to, at(r ? r->stream_w_k : NULL, i), at(capacity, s->from),
             at(capacity, s->to));
    }
    for (int c = 0; c < plan->chain_count; c++) {
        const OwHeatChain *chain = &plan->chains[c];
        const double rate = at(r ? r->chain_w_k : NULL, c), cell = chain->liquid_j_k;
        const int first = offset + chain->first, last = first + chain->cells - 1;
        // Into the ends only what flows there; the cell beside an end sees it as its neighbour.
        flow(j, offset + chain->from, first, rate, at(capacity, chain->from), cell);
        for (int i = first; i < last; i++) {
            flow(j, i, i + 1, rate, cell, cell);
        }
        flow(j, last, offset + chain->to, rate, cell, at(capacity, chain->to));
    }
}

static void visit(OwJacobian *j, const OwHeatRates *r) {
    const OwPlan *plan = j->plan;
    const double *capacity = r ? r->capacity_j_k : NULL;
    for (int i = 0; i < j->n; i++) {
        emit(j, i, i, i < plan->lump_count && r ? -r->source_slope[i] / capacity[i] : 0.0);
    }
    for (int i = 0; i < plan->tie_count; i++) {
        const int a = plan->ties[i].a, b = plan->ties[i].b;
        const double g = at(r ? r->tie_w_k : NULL, i);
        emit(j, a, a, -g / at(capacity, a));
        if (b >= 0) {
            emit(j, a, b, g / at(capacity, a));
            emit(j, b, b, -g / at(capacity, b));
            emit(j, b, a, g / at(capacity, b));
        }
    }
    streams_and_chains(j, r, 0);
    for (int c = 0; c < plan->chain_count; c++) {
        const OwHeatChain *chain = &plan->chains[c];
        const double film = at(r ? r->film_w_k : NULL, c), loss = at(r ? r->loss_w_k : NULL, c),
                     warm = at(r ? r->warmer_w_k : NULL, c);
        for (int i = chain->first; i < chain->first + chain->cells; i++) {
            const int wall = i + chain->cells;
            emit(j, i, i, -film / chain->liquid_j_k);
            emit(j, i, wall, film / chain->liquid_j_k);
            emit(j, wall, i, film / chain->wall_j_k);
            emit(j, wall, wall, -(film + loss + (chain->warmer >= 0 ? warm : 0.0)) / chain->wall_j_k);
            if (chain->warmer >= 0) {
                emit(j, wall, chain->warmer, warm / chain->wall_j_k);
                emit(j, chain->warmer, wall, warm / at(capacity, chain->warmer));
                emit(j, chain->warmer, chain->warmer, -warm / at(capacity, chain->warmer));
            }
        }
    }
    for (int s = 0; s < plan->sensor_count; s++) {
        emit(j, plan->sensor_at + s, plan->sensor_at + s, -1.0 / plan->sensors[s].lag_s);
        emit(j, plan->sensor_at + s, plan->sensors[s].host, 1.0 / plan->sensors[s].lag_s);
    }
    if (plan->fluid_count > 1) {
        streams_and_chains(j, r, plan->share_at);
    }
}

static int by_column(const void *a, const void *b) {
    const Place *x = a, *y = b;
    return x->column != y->column ? (x->column > y->column) - (x->column < y->column)
                                  : (x->row > y->row) - (x->row < y->row);
}

OwJacobian *ow_jacobian_create(const OwPlan *plan) {
    OwJacobian *j = calloc(1, sizeof *j);
    if (!j) {
        return NULL;
    }
    j->plan = plan;
    j->n = plan->state_count;
    visit(j, NULL);
    j->starts = calloc((size_t)j->n + 1, sizeof *j->starts);
    j->rows = calloc((size_t)j->emitted, sizeof *j->rows);
    j->slots = calloc((size_t)j->emitted, sizeof *j->slots);
    if (j->has_failed || !j->starts || !j->rows || !j->slots) {
        ow_jacobian_destroy(&j);
        return NULL;
    }
    qsort(j->places, (size_t)j->emitted, sizeof *j->places, by_column);
    for (long e = 0; e < j->emitted; e++) {
        const Place *p = &j->places[e];
        if (e == 0 || by_column(p, p - 1) != 0) {
            j->rows[j->count] = p->row;
            j->starts[p->column + 1] = ++j->count;
        }
        j->slots[p->order] = j->count - 1;
    }
    for (int c = 0; c < j->n; c++) {
        if (j->starts[c + 1] < j->starts[c]) {
            j->starts[c + 1] = j->starts[c];
        }
    }
    return j;
}

long ow_jacobian_count(const OwJacobian *j) {
    return j->count;
}

void ow_jacobian_pattern(const OwJacobian *j, int64_t *starts, int64_t *rows) {
    memcpy(starts, j->starts, ((size_t)j->n + 1) * sizeof *starts);
    memcpy(rows, j->rows, (size_t)j->count * sizeof *rows);
}

void ow_jacobian_fill(OwJacobian *j, const OwSystem *system, const OwEval *eval, double *values) {
    (void)system;
    memset(values, 0, (size_t)j->count * sizeof *values);
    j->values = values;
    j->emitted = 0;
    visit(j, &eval->heat);
    j->values = NULL;
}

bool ow_jacobian_dump(OwJacobian *j, const OwSystem *system, const OwEval *eval, const double *y,
                      const char *path) {
    double *values = calloc((size_t)j->count, sizeof *values), *slope = calloc((size_t)j->n, sizeof *slope);
    FILE *out = fopen(path, "w");
    const bool is_ready = values && slope && out;
    if (is_ready) {
        ow_jacobian_fill(j, system, eval, values);
        ow_system_slope(system, eval, y, slope);
        (void)fprintf(out, "%d %ld\n", j->n, j->count);
        for (int i = 0; i < j->n; i++) {
            (void)fprintf(out, "%.17g %.17g\n", y[i], slope[i]);
        }
        for (int c = 0; c < j->n; c++) {
            for (int64_t e = j->starts[c]; e < j->starts[c + 1]; e++) {
                (void)fprintf(out, "%d %d %.17g\n", (int)j->rows[e], c, values[e]);
            }
        }
    }
    const bool is_written = is_ready && ferror(out) == 0;
    const bool is_closed = out && fclose(out) == 0;
    free(values);
    free(slope);
    return is_written && is_closed;
}

void ow_jacobian_destroy(OwJacobian **jacobian) {
    OwJacobian *j = *jacobian;
    *jacobian = NULL;
    if (j) {
        free(j->places);
        free(j->starts);
        free(j->rows);
        free(j->slots);
        free(j);
    }
}
