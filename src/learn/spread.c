// SPDX-License-Identifier: GPL-3.0-or-later
// Grid over two spreads that moves to where the weight is; quantiles of the mixture by bisection.
#include "learn/spread.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SIDE = OW_SPREAD_SIDE, SCOUT_SIDE = 7, SCOUTS = 3 };

/// One axis of the grid: ln spread, or the spread itself when it is believed even.
typedef struct Axis {
    OwSpreadPrior prior;
    int count;
    double low, high;
} Axis;

static Axis axis_of(const OwSpreadPrior *prior) {
    Axis a = {.prior = *prior, .count = SIDE};
    if (prior->even_to > 0.0) {
        a.high = prior->even_to;
    } else if (prior->width > 0.0) {
        a.low = log(prior->middle) - 3.5 * prior->width;
        a.high = log(prior->middle) + 3.5 * prior->width;
    } else {
        a.count = 1;
        a.low = a.high = log(prior->middle);
    }
    return a;
}

static double place(const Axis *a, int i) {
    return a->count == 1 ? a->low : a->low + (a->high - a->low) * ((double)i + 0.5) / a->count;
}

static double spread_at(const Axis *a, int i) {
    const double at = place(a, i);
    return a->prior.even_to > 0.0 ? at : exp(at);
}

static double log_prior(const Axis *a, int i) {
    if (a->count == 1 || a->prior.even_to > 0.0) {
        return 0.0;
    }
    const double z = (place(a, i) - log(a->prior.middle)) / a->prior.width;
    return -0.5 * z * z;
}

/// Narrows or moves an axis to where the weight is; false when it stays.
static bool follow(Axis *a, const double *weights) {
    if (a->count == 1) {
        return false;
    }
    double mean = 0.0, square = 0.0;
    for (int i = 0; i < a->count; i++) {
        mean += weights[i] * place(a, i);
    }
    for (int i = 0; i < a->count; i++) {
        square += weights[i] * (place(a, i) - mean) * (place(a, i) - mean);
    }
    const double step = (a->high - a->low) / a->count;
    const double sd = fmax(sqrt(square), 0.4 * step);
    double low = mean - 4.0 * sd, high = mean + 4.0 * sd;
    if (a->prior.even_to > 0.0) {
        low = fmax(low, 0.0);
        high = fmin(high, a->prior.even_to);
    }
    const bool is_moved = fabs(low - a->low) + fabs(high - a->high) > step;
    if (is_moved) {
        a->low = low;
        a->high = high;
    }
    return is_moved;
}

static void weigh(OwSpreadFit *fit, const Axis *s, const Axis *b, double *sums_s, double *sums_b) {
    double top = -INFINITY, sum = 0.0;
    for (int i = 0; i < fit->node_count; i++) {
        OwSpreadNode *n = &fit->nodes[i];
        n->weight = n->fit.log_evidence + log_prior(s, i / b->count) + log_prior(b, i % b->count);
        top = fmax(top, n->weight);
    }
    for (int i = 0; i < fit->node_count; i++) {
        const double w = exp(fit->nodes[i].weight - top);
        fit->nodes[i].weight = isfinite(w) ? w : 0.0;
        sum += fit->nodes[i].weight;
    }
    memset(sums_s, 0, SIDE * sizeof *sums_s);
    memset(sums_b, 0, SIDE * sizeof *sums_b);
    for (int i = 0; i < fit->node_count; i++) {
        fit->nodes[i].weight = sum > 0.0 ? fit->nodes[i].weight / sum : 1.0 / fit->node_count;
        sums_s[i / b->count] += fit->nodes[i].weight;
        sums_b[i % b->count] += fit->nodes[i].weight;
    }
}

OwStatus ow_spread_create(const OwArrowModel *model, const OwSpreadPrior *sigma, const OwSpreadPrior *between,
                          OwSpreadFit *fit) {
    *fit = (OwSpreadFit){.model = *model};
    Axis s = axis_of(sigma), b = axis_of(between);
    const int most = s.count * b.count;
    const size_t per_node = (size_t)(model->group_count > 0 ? model->group_count : 1);
    fit->nodes = calloc((size_t)most, sizeof *fit->nodes);
    fit->groups = calloc((size_t)most * per_node, sizeof *fit->groups);
    fit->sums = calloc((size_t)model->point_count + 1, sizeof *fit->sums);
    fit->hard = calloc((size_t)model->point_count + 1, sizeof *fit->hard);
    if (fit->nodes == NULL || fit->groups == NULL || fit->sums == NULL || fit->hard == NULL) {
        ow_spread_clear(fit);
        return OW_ERROR_MEMORY;
    }
    fit->model.point_count = ow_arrow_sum(model, fit->sums, &fit->model.sum_count, fit->hard);
    fit->model.points = fit->hard;
    fit->model.sums = fit->sums;
    for (int i = 0; i < most; i++) {
        fit->nodes[i].fit.groups = fit->groups + (size_t)i * per_node;
        memcpy(fit->nodes[i].fit.common, model->mean, sizeof model->mean);
    }
    double sums_s[SIDE], sums_b[SIDE];
    // A coarser grid finds where the weight is.
    for (int round = 0; round <= SCOUTS; round++) {
        s.count = s.count == 1 ? 1 : round < SCOUTS ? SCOUT_SIDE : SIDE;
        b.count = b.count == 1 ? 1 : round < SCOUTS ? SCOUT_SIDE : SIDE;
        fit->node_count = s.count * b.count;
        for (int i = 0; i < fit->node_count; i++) {
            OwSpreadNode *n = &fit->nodes[i];
            n->sigma = spread_at(&s, i / b.count);
            n->between = spread_at(&b, i % b.count);
            // The neighbour's answer is near.
            const OwArrowFit *near = i % b.count > 0 ? &fit->nodes[i - 1].fit
                                     : i > 0         ? &fit->nodes[i - b.count].fit
                                                     : NULL;
            if (near != NULL) {
                memcpy(n->fit.common, near->common, sizeof near->common);
                memcpy(n->fit.groups, near->groups, per_node * sizeof *near->groups);
            }
            ow_arrow_solve(&fit->model, n->sigma, n->between, &n->fit);
        }
        weigh(fit, &s, &b, sums_s, sums_b);
        if (round < SCOUTS) {
            const bool is_moved_s = follow(&s, sums_s), is_moved_b = follow(&b, sums_b);
            round = !is_moved_s && !is_moved_b ? SCOUTS - 1 : round;
        }
    }
    return OW_OK;
}

void ow_spread_clear(OwSpreadFit *fit) {
    free(fit->nodes);
    free(fit->groups);
    free(fit->sums);
    free(fit->hard);
    *fit = (OwSpreadFit){0};
}

static void normal_of(const OwSpreadFit *fit, int node, int group, const double *x, double scale,
                      double *mean, double *sd) {
    const OwSpreadNode *n = &fit->nodes[node];
    double variance;
    ow_arrow_predict(&fit->model, &n->fit, group, x, mean, &variance);
    *sd = sqrt(fmax(variance, 0.0) + scale * scale * n->sigma * n->sigma);
}

/// The mixture at one place: its normals of some weight.
typedef struct Mixture {
    double weight[SIDE * SIDE], mean[SIDE * SIDE], spread[SIDE * SIDE];
    int count;
} Mixture;

static void mix(const OwSpreadFit *fit, int group, const double *x, double scale, Mixture *m) {
    m->count = 0;
    double kept = 0.0;
    for (int i = 0; i < fit->node_count; i++) {
        if (fit->nodes[i].weight > 1e-9) {
            m->weight[m->count] = fit->nodes[i].weight;
            kept += fit->nodes[i].weight;
            normal_of(fit, i, group, x, scale, &m->mean[m->count], &m->spread[m->count]);
            m->count++;
        }
    }
    for (int i = 0; i < m->count; i++) {
        m->weight[i] /= kept;
    }
}

/// Share above y, which keeps its digits in the far tail.
static double above_of(const Mixture *m, double y) {
    double sum = 0.0;
    for (int i = 0; i < m->count; i++) {
        sum += m->weight[i] * 0.5 * erfc((y - m->mean[i]) / (m->spread[i] * 1.41421356237309504880));
    }
    return sum;
}

double ow_spread_below(const OwSpreadFit *fit, int group, const double x[OW_ARROW_COMMON], double scale,
                       double y) {
    Mixture m;
    mix(fit, group, x, scale, &m);
    return 1.0 - above_of(&m, y);
}

double ow_spread_quantile(const OwSpreadFit *fit, int group, const double x[OW_ARROW_COMMON], double scale,
                          double share, double above) {
    Mixture m;
    mix(fit, group, x, scale, &m);
    double low = INFINITY, high = -INFINITY;
    for (int i = 0; i < m.count; i++) {
        low = fmin(low, m.mean[i] - 9.0 * m.spread[i]);
        high = fmax(high, m.mean[i] + 9.0 * m.spread[i]);
    }
    const double start = isfinite(above) ? above_of(&m, above) : 1.0;
    if (isfinite(above) && (!(start > 0.0) || above >= high)) {
        return above; // has outlived all that the model thinks possible
    }
    low = isfinite(above) ? fmax(low, above) : low;
    const double wanted = (1.0 - share) * start;
    for (int i = 0; i < 80 && high - low > 1e-10 * (1.0 + fabs(low)); i++) {
        const double middle = 0.5 * (low + high);
        if (above_of(&m, middle) > wanted) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return 0.5 * (low + high);
}

void ow_spread_moments(const OwSpreadFit *fit, int group, const double x[OW_ARROW_COMMON], double *mean,
                       double *variance) {
    double first = 0.0, second = 0.0;
    for (int i = 0; i < fit->node_count; i++) {
        double m, sd;
        normal_of(fit, i, group, x, 0.0, &m, &sd);
        first += fit->nodes[i].weight * m;
    }
    for (int i = 0; i < fit->node_count; i++) {
        double m, sd;
        normal_of(fit, i, group, x, 0.0, &m, &sd);
        second += fit->nodes[i].weight * (sd * sd + (m - first) * (m - first));
    }
    *mean = first;
    *variance = second;
}

double ow_spread_sigma(const OwSpreadFit *fit) {
    // Nodes come in order of sigma.
    double sum = 0.0;
    for (int i = 0; i < fit->node_count; i++) {
        sum += fit->nodes[i].weight;
        if (sum >= 0.5) {
            return fit->nodes[i].sigma;
        }
    }
    return fit->nodes[fit->node_count - 1].sigma;
}
