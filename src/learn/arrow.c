// SPDX-License-Identifier: GPL-3.0-or-later
// Newton's method on a log-concave posterior whose matrix is an arrow: few common rows, one diagonal entry a
// group.
#include "learn/arrow.h"

#include <math.h>
#include <string.h>

#define COMMON OW_ARROW_COMMON
static const double half_log_2pi = 0.91893853320467274178;

double ow_normal_log_tail(double z, double *hazard) {
    const double log_density = -0.5 * z * z - half_log_2pi;
    if (z < 25.0) {
        const double tail = 0.5 * erfc(z * 0.70710678118654752440);
        *hazard = exp(log_density) / tail;
        return log(tail);
    }
    // Laplace's continued fraction, Abramowitz & Stegun 26.2.14, cut where it no longer shows.
    *hazard = z + 1.0 / (z + 2.0 / (z + 3.0 / (z + 4.0 / z)));
    return log_density - log(*hazard);
}

/// Lower triangle Cholesky of a small matrix in place; false when it is not positive definite.
static bool factor(double a[COMMON][COMMON]) {
    for (int i = 0; i < COMMON; i++) {
        for (int j = 0; j <= i; j++) {
            double sum = a[i][j];
            for (int k = 0; k < j; k++) {
                sum -= a[i][k] * a[j][k];
            }
            if (i == j && !(sum > 0.0)) {
                return false;
            }
            a[i][j] = i == j ? sqrt(sum) : sum / a[j][j];
        }
    }
    return true;
}

static void back(double l[COMMON][COMMON], double v[COMMON]) {
    for (int i = 0; i < COMMON; i++) {
        for (int k = 0; k < i; k++) {
            v[i] -= l[i][k] * v[k];
        }
        v[i] /= l[i][i];
    }
    for (int i = COMMON - 1; i >= 0; i--) {
        for (int k = i + 1; k < COMMON; k++) {
            v[i] -= l[k][i] * v[k];
        }
        v[i] /= l[i][i];
    }
}

static double prior_variance(const OwArrowModel *m, int group, double between) {
    return between * between + m->extra[group] * m->extra[group];
}

static double spread_of(const OwArrowPoint *p, double sigma) {
    const double spread = p->scale * sigma;
    return p->own > 0.0 ? sqrt(spread * spread + p->own * p->own) : spread;
}

static double centre(const OwArrowModel *m, const OwArrowPoint *p, const double common[COMMON]) {
    double sum = m->base[p->group];
    for (int k = 0; k < COMMON; k++) {
        sum += p->x[k] * common[k];
    }
    return sum;
}

/// The sum of a group and own spread, a new one when there is none.
static OwArrowSum *sum_of(OwArrowSum *sums, int *count, int group, double own) {
    for (int i = *count - 1; i >= 0; i--) {
        if (sums[i].group == group && sums[i].own == own) {
            return &sums[i];
        }
    }
    sums[*count] = (OwArrowSum){.group = group, .own = own};
    return &sums[(*count)++];
}

int ow_arrow_sum(const OwArrowModel *m, OwArrowSum *sums, int *sum_count, OwArrowPoint *hard) {
    int count = 0;
    *sum_count = 0;
    for (int i = 0; i < m->point_count; i++) {
        const OwArrowPoint *p = &m->points[i];
        if (p->is_censored || (p->own > 0.0 && p->scale != 1.0)) {
            hard[count++] = *p;
            continue;
        }
        OwArrowSum *s = sum_of(sums, sum_count, p->group, p->own);
        const double w = 1.0 / (p->scale * p->scale), y = p->y - m->base[p->group];
        s->n += w;
        s->y += w * y;
        s->yy += w * y * y;
        s->count += 1.0;
        s->log_scale += log(p->scale);
        for (int k = 0; k < COMMON; k++) {
            s->x[k] += w * p->x[k];
            s->xy[k] += w * p->x[k] * y;
            for (int j = 0; j <= k; j++) {
                s->xx[k][j] += w * p->x[k] * p->x[j];
            }
        }
    }
    return count;
}

/// Sum of weighted squares of what the line leaves of a group's plain points.
static double left_over(const OwArrowSum *s, const double common[COMMON], double level) {
    double sum = s->yy - 2.0 * level * s->y + level * level * s->n;
    for (int k = 0; k < COMMON; k++) {
        sum += 2.0 * common[k] * (level * s->x[k] - s->xy[k]) + common[k] * common[k] * s->xx[k][k];
        for (int j = 0; j < k; j++) {
            sum += 2.0 * common[k] * common[j] * s->xx[k][j];
        }
    }
    return fmax(sum, 0.0);
}

/// ln likelihood and prior with steps taken: common + t d, level + t move.
static double height(const OwArrowModel *m, const OwArrowFit *fit, double sigma, double between,
                     const double d[COMMON], double t) {
    double common[COMMON], sum = 0.0;
    for (int k = 0; k < COMMON; k++) {
        common[k] = fit->common[k] + t * d[k];
        const double z = (common[k] - m->mean[k]) / m->spread[k];
        sum -= 0.5 * z * z + log(m->spread[k]) + half_log_2pi;
    }
    for (int g = 0; g < m->group_count; g++) {
        const double level = fit->groups[g].level + t * fit->groups[g].move;
        const double v = prior_variance(m, g, between);
        sum -= 0.5 * level * level / v + 0.5 * log(v) + half_log_2pi;
    }
    for (int i = 0; i < m->sum_count; i++) {
        const OwArrowSum *s = &m->sums[i];
        const double level = fit->groups[s->group].level + t * fit->groups[s->group].move;
        const double v = sigma * sigma + s->own * s->own;
        sum -=
            0.5 * left_over(s, common, level) / v + s->log_scale + s->count * (0.5 * log(v) + half_log_2pi);
    }
    for (int i = 0; i < m->point_count; i++) {
        const OwArrowPoint *p = &m->points[i];
        const double s = spread_of(p, sigma);
        const double level = fit->groups[p->group].level + t * fit->groups[p->group].move;
        const double z = (p->y - centre(m, p, common) - level) / s;
        double hazard;
        sum += p->is_censored ? ow_normal_log_tail(z, &hazard) : -0.5 * z * z - log(s) - half_log_2pi;
    }
    return sum;
}

typedef struct Slopes {
    double common[COMMON];
    double matrix[COMMON][COMMON];
} Slopes;

/// Gradient and negative second derivatives at the fit; a group's precision stands in `variance`, its
/// coupling in `pull`.
static void gather(const OwArrowModel *m, OwArrowFit *fit, double sigma, double between, Slopes *s) {
    memset(s, 0, sizeof *s);
    for (int k = 0; k < COMMON; k++) {
        const double w = 1.0 / (m->spread[k] * m->spread[k]);
        s->common[k] = -(fit->common[k] - m->mean[k]) * w;
        s->matrix[k][k] = w;
    }
    for (int g = 0; g < m->group_count; g++) {
        OwArrowGroup *group = &fit->groups[g];
        group->variance = 1.0 / prior_variance(m, g, between);
        group->slope = -group->level * group->variance;
        memset(group->pull, 0, sizeof group->pull);
    }
    for (int i = 0; i < m->sum_count; i++) {
        const OwArrowSum *sum = &m->sums[i];
        OwArrowGroup *group = &fit->groups[sum->group];
        const double w = 1.0 / (sigma * sigma + sum->own * sum->own);
        double slope = sum->y - group->level * sum->n;
        group->variance += w * sum->n;
        for (int k = 0; k < COMMON; k++) {
            double own = sum->xy[k] - group->level * sum->x[k];
            for (int j = 0; j < COMMON; j++) {
                const double xx = j <= k ? sum->xx[k][j] : sum->xx[j][k];
                own -= fit->common[j] * xx;
                if (j <= k) {
                    s->matrix[k][j] += w * xx;
                }
            }
            s->common[k] += w * own;
            group->pull[k] += w * sum->x[k];
            slope -= fit->common[k] * sum->x[k];
        }
        group->slope += w * slope;
    }
    for (int i = 0; i < m->point_count; i++) {
        const OwArrowPoint *p = &m->points[i];
        OwArrowGroup *group = &fit->groups[p->group];
        const double scale = spread_of(p, sigma);
        const double z = (p->y - centre(m, p, fit->common) - group->level) / scale;
        double slope = z / scale, w = 1.0 / (scale * scale);
        if (p->is_censored) {
            double hazard;
            (void)ow_normal_log_tail(z, &hazard);
            slope = hazard / scale;
            w *= fmax(hazard * (hazard - z), 0.0);
        }
        group->slope += slope;
        group->variance += w;
        for (int k = 0; k < COMMON; k++) {
            s->common[k] += slope * p->x[k];
            group->pull[k] += w * p->x[k];
            for (int j = 0; j <= k; j++) {
                s->matrix[k][j] += w * p->x[k] * p->x[j];
            }
        }
    }
}

/// Takes the groups out (Schur complement), factors what is left, turns precisions into variances and
/// couplings into pulls. Returns half the ln of the determinant.
static double reduce(const OwArrowModel *m, OwArrowFit *fit, Slopes *s) {
    double half_log = 0.0;
    for (int g = 0; g < m->group_count; g++) {
        OwArrowGroup *group = &fit->groups[g];
        half_log += 0.5 * log(group->variance);
        group->variance = 1.0 / group->variance;
        for (int k = 0; k < COMMON; k++) {
            for (int j = 0; j <= k; j++) {
                s->matrix[k][j] -= group->pull[k] * group->pull[j] * group->variance;
            }
            s->common[k] -= group->pull[k] * group->slope * group->variance;
        }
        for (int k = 0; k < COMMON; k++) {
            group->pull[k] *= group->variance;
        }
    }
    // Rounding can eat what a prior holds when data are a million times sharper; the prior is then put back.
    double matrix[COMMON][COMMON];
    memcpy(matrix, s->matrix, sizeof matrix);
    if (!factor(matrix)) {
        for (int k = 0; k < COMMON; k++) {
            s->matrix[k][k] += 1.0 / (m->spread[k] * m->spread[k]) + 1e-9 * fabs(s->matrix[k][k]);
        }
        memcpy(matrix, s->matrix, sizeof matrix);
        if (!factor(matrix)) {
            memset(matrix, 0, sizeof matrix);
            for (int k = 0; k < COMMON; k++) {
                matrix[k][k] = 1.0 / m->spread[k];
            }
        }
    }
    memcpy(s->matrix, matrix, sizeof matrix);
    for (int k = 0; k < COMMON; k++) {
        half_log += log(matrix[k][k]);
    }
    return half_log;
}

void ow_arrow_solve(const OwArrowModel *m, double sigma, double between, OwArrowFit *fit) {
    enum { STEPS = 60, HALVES = 40 };
    const double zero[COMMON] = {0.0}, enough = 1e-9; // of ln height
    Slopes s;
    double half_log = 0.0, here = height(m, fit, sigma, between, zero, 0.0);
    for (int step = 0;; step++) {
        gather(m, fit, sigma, between, &s);
        half_log = reduce(m, fit, &s);
        double d[COMMON], gain = 0.0;
        memcpy(d, s.common, sizeof d);
        back(s.matrix, d);
        for (int k = 0; k < COMMON; k++) {
            gain += d[k] * s.common[k];
        }
        for (int g = 0; g < m->group_count; g++) {
            OwArrowGroup *group = &fit->groups[g];
            group->move = group->slope * group->variance;
            gain += group->move * group->slope;
            for (int k = 0; k < COMMON; k++) {
                group->move -= group->pull[k] * d[k];
            }
        }
        if (gain < enough || step == STEPS) { // twice what a full step gains
            break;
        }
        double t = 1.0, there = height(m, fit, sigma, between, d, t);
        for (int i = 0; i < HALVES && !(there >= here); i++) {
            t *= 0.5;
            there = height(m, fit, sigma, between, d, t);
        }
        if (!(there >= here)) {
            break; // flat to rounding
        }
        for (int k = 0; k < COMMON; k++) {
            fit->common[k] += t * d[k];
        }
        for (int g = 0; g < m->group_count; g++) {
            fit->groups[g].level += t * fit->groups[g].move;
        }
        here = there;
    }
    for (int g = 0; g < m->group_count; g++) {
        fit->groups[g].move = 0.0;
    }
    fit->log_peak = here;
    fit->log_evidence = here + half_log_2pi * (COMMON + m->group_count) - half_log;
    for (int k = 0; k < COMMON; k++) {
        double unit[COMMON] = {0.0};
        unit[k] = 1.0;
        back(s.matrix, unit);
        memcpy(fit->cover[k], unit, sizeof unit);
    }
}

void ow_arrow_predict(const OwArrowModel *m, const OwArrowFit *fit, int group, const double x[COMMON],
                      double *mean, double *variance) {
    const OwArrowGroup *g = &fit->groups[group];
    double t[COMMON];
    *mean = m->base[group] + g->level;
    *variance = g->variance;
    for (int k = 0; k < COMMON; k++) {
        *mean += x[k] * fit->common[k];
        t[k] = x[k] - g->pull[k];
    }
    for (int k = 0; k < COMMON; k++) {
        for (int j = 0; j < COMMON; j++) {
            *variance += t[k] * fit->cover[k][j] * t[j];
        }
    }
}
