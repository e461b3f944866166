// SPDX-License-Identifier: GPL-3.0-or-later
// How far a filter lasts, from the log and the study together.
#include "oilwright/learn.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "learn/spread.h"

struct OwLearnFilters {
    OwLearnPlace *places;
    int *ended, *running;
    double *base, *extra;
    OwArrowPoint *points;
    int place_count, usable, skipped;
    OwLearnSettings settings;
    OwSpreadFit fit;
    double prior_middle_variance; ///< of a place with a study, before any log; the extra is added
};

OwLearnSettings ow_learn_default(void) {
    return (OwLearnSettings){.guess = 1e7,
                             .study_spread = 0.6,
                             .guess_spread = 0.8,
                             .dirt_slope = -1.0,
                             .dirt_spread = 0.3,
                             .warm_1_k = 0.01,
                             .warm_spread_1_k = 0.015,
                             .scatter = 0.35,
                             .scatter_spread = 0.5,
                             .between = 0.3,
                             .between_spread = 0.7,
                             .solids_kg_kg = 24e-6,
                             .oil_k = 283.15};
}

static bool is_sane(const OwLearnSettings *s) {
    const double above[] = {s->guess,   s->study_spread,   s->dirt_spread, s->warm_spread_1_k,
                            s->scatter, s->scatter_spread, s->between,     s->between_spread,
                            s->oil_k,   s->solids_kg_kg};
    for (size_t i = 0; i < sizeof above / sizeof above[0]; i++) {
        if (!(above[i] > 0.0) || !isfinite(above[i])) {
            return false;
        }
    }
    return isfinite(s->dirt_slope) && isfinite(s->warm_1_k) && isfinite(s->guess_spread);
}

/// Dirt and temperature as the model takes them; beyond a factor of 100 or 60 K it goes no further.
static void covariates(const OwLearnSettings *s, double solids_kg_kg, double oil_k,
                       double x[OW_ARROW_COMMON]) {
    const bool has_dirt = solids_kg_kg > 0.0 && isfinite(solids_kg_kg);
    const bool has_warmth = oil_k > 0.0 && isfinite(oil_k);
    x[0] = 1.0;
    x[1] = has_dirt ? fmin(fmax(log(solids_kg_kg / s->solids_kg_kg), -4.6), 4.6) : 0.0;
    x[2] = has_warmth ? fmin(fmax(oil_k - s->oil_k, -60.0), 60.0) : 0.0;
}

static OwStatus fill(OwLearnFilters *m, const OwLearnLife *lives, int life_count) {
    int used = 0;
    for (int i = 0; i < life_count; i++) {
        const OwLearnLife *l = &lives[i];
        if (l->place < 0 || l->place >= m->place_count) {
            return OW_ERROR_VALUE;
        }
        if (!(l->life > 0.0) || !isfinite(log(l->life))) {
            m->skipped++;
            continue;
        }
        OwArrowPoint *p = &m->points[used++];
        *p = (OwArrowPoint){.y = log(l->life), .scale = 1.0, .group = l->place, .is_censored = l->is_running};
        covariates(&m->settings, l->solids_kg_kg, l->oil_k, p->x);
        (l->is_running ? m->running : m->ended)[l->place]++;
    }
    m->usable = used;
    return OW_OK;
}

OwStatus ow_learn_filters_create(const OwLearnPlace *places, int place_count, const OwLearnLife *lives,
                                 int life_count, const OwLearnSettings *settings, OwLearnFilters **model) {
    *model = NULL;
    const OwLearnSettings defaults = ow_learn_default();
    const OwLearnSettings *s = settings != NULL ? settings : &defaults;
    if (place_count < 1 || place_count > OW_LEARN_MAX_GROUPS || life_count < 0 ||
        life_count > OW_LEARN_MAX_LIVES || !is_sane(s)) {
        return OW_ERROR_VALUE;
    }
    OwLearnFilters *m = calloc(1, sizeof *m);
    if (m == NULL) {
        return OW_ERROR_MEMORY;
    }
    const size_t n = (size_t)place_count;
    m->settings = *s;
    m->place_count = place_count;
    m->places = calloc(n, sizeof *m->places);
    m->ended = calloc(n, sizeof *m->ended);
    m->running = calloc(n, sizeof *m->running);
    m->base = calloc(n, sizeof *m->base);
    m->extra = calloc(n, sizeof *m->extra);
    m->points = calloc((size_t)life_count + 1, sizeof *m->points);
    OwStatus status = OW_ERROR_MEMORY;
    if (m->places != NULL && m->ended != NULL && m->running != NULL && m->base != NULL && m->extra != NULL &&
        m->points != NULL) {
        for (int g = 0; g < place_count; g++) {
            m->places[g] = places[g];
            const bool has_study = places[g].study > 0.0 && isfinite(places[g].study);
            m->places[g].study = has_study ? places[g].study : 0.0;
            m->base[g] = log(has_study ? places[g].study : s->guess);
            m->extra[g] = has_study ? 0.0 : fabs(s->guess_spread);
        }
        status = fill(m, lives, life_count);
    }
    if (status == OW_OK) {
        const OwArrowModel arrow = {.points = m->points,
                                    .point_count = m->usable,
                                    .group_count = place_count,
                                    .base = m->base,
                                    .extra = m->extra,
                                    .mean = {0.0, s->dirt_slope, s->warm_1_k},
                                    .spread = {s->study_spread, s->dirt_spread, s->warm_spread_1_k}};
        const OwSpreadPrior scatter = {.middle = s->scatter, .width = s->scatter_spread};
        const OwSpreadPrior between = {.middle = s->between, .width = s->between_spread};
        status = ow_spread_create(&arrow, &scatter, &between, &m->fit);
        // E between^2 of a log-normal spread.
        m->prior_middle_variance = s->study_spread * s->study_spread +
                                   s->between * s->between * exp(2.0 * s->between_spread * s->between_spread);
    }
    if (status != OW_OK) {
        ow_learn_filters_destroy(&m);
    }
    *model = m;
    return status;
}

void ow_learn_filters_destroy(OwLearnFilters **model) {
    if (model == NULL || *model == NULL) {
        return;
    }
    OwLearnFilters *m = *model;
    ow_spread_clear(&m->fit);
    free(m->places);
    free(m->ended);
    free(m->running);
    free(m->base);
    free(m->extra);
    free(m->points);
    free(m);
    *model = NULL;
}

/// exp without leaving the finite numbers.
static double lift(double y) {
    return exp(fmin(fmax(y, -690.0), 690.0));
}

static void explain(OwLearnedFilter *l) {
    char own[96] = "";
    const char *const study = l->has_study ? "the filter study" : "a rule of thumb";
    if (l->n + l->running + l->others == 0) {
        snprintf(l->text, sizeof l->text,
                 "No filter life is in the log yet: the number is that of %s, with its stated spread.",
                 study);
        return;
    }
    if (l->n > 0) {
        snprintf(own, sizeof own, "%d own change%s", l->n, l->n == 1 ? "" : "s");
    }
    if (l->running > 0) {
        const size_t at = strlen(own);
        snprintf(own + at, sizeof own - at, "%s%d still in place", at > 0 ? ", " : "", l->running);
    }
    if (l->others > 0) {
        const size_t at = strlen(own);
        snprintf(own + at, sizeof own - at, "%s%d %s of other filters", at > 0 ? ", " : "", l->others,
                 l->others == 1 ? "life" : "lives");
    }
    snprintf(l->text, sizeof l->text,
             "From %s and %s; the log has taken away %.0f %% of the doubt about this filter's usual life.",
             own, study, 100.0 * (1.0 - l->doubt_left));
}

OwStatus ow_learn_filter(const OwLearnFilters *m, int place, double solids_kg_kg, double oil_k,
                         OwLearnedFilter *learned) {
    *learned = (OwLearnedFilter){0};
    if (place < 0 || place >= m->place_count) {
        return OW_ERROR_VALUE;
    }
    double x[OW_ARROW_COMMON], mean, variance;
    covariates(&m->settings, solids_kg_kg, oil_k, x);
    const OwSpreadFit *f = &m->fit;
    learned->life = lift(ow_spread_quantile(f, place, x, 1.0, 0.5, -INFINITY));
    learned->low = lift(ow_spread_quantile(f, place, x, 1.0, 0.05, -INFINITY));
    learned->high = lift(ow_spread_quantile(f, place, x, 1.0, 0.95, -INFINITY));
    learned->middle_low = lift(ow_spread_quantile(f, place, x, 0.0, 0.05, -INFINITY));
    learned->middle_high = lift(ow_spread_quantile(f, place, x, 0.0, 0.95, -INFINITY));
    learned->has_study = m->places[place].study > 0.0;
    learned->study = learned->has_study ? m->places[place].study : m->settings.guess;
    learned->factor = learned->life / learned->study;
    learned->scatter = ow_spread_sigma(f);
    learned->n = m->ended[place];
    learned->running = m->running[place];
    learned->others = m->usable - learned->n - learned->running;
    // The doubt is told at the reference, where covariates add none.
    covariates(&m->settings, 0.0, 0.0, x);
    ow_spread_moments(f, place, x, &mean, &variance);
    const double prior = m->prior_middle_variance + m->extra[place] * m->extra[place];
    learned->doubt_left = m->usable == 0 ? 1.0 : fmin(fmax(variance / prior, 0.0), 1.0);
    explain(learned);
    return OW_OK;
}

double ow_learn_filter_quantile(const OwLearnFilters *m, int place, double solids_kg_kg, double oil_k,
                                double q, double so_far) {
    if (place < 0 || place >= m->place_count) {
        return 0.0;
    }
    double x[OW_ARROW_COMMON];
    covariates(&m->settings, solids_kg_kg, oil_k, x);
    const double share = fmin(fmax(q, 0.001), 0.999);
    const double above = so_far > 0.0 && isfinite(so_far) ? log(so_far) : -INFINITY;
    return lift(ow_spread_quantile(&m->fit, place, x, 1.0, share, above));
}

double ow_learn_filter_survives(const OwLearnFilters *m, int place, double solids_kg_kg, double oil_k,
                                double life) {
    if (place < 0 || place >= m->place_count || !(life > 0.0)) {
        return 1.0;
    }
    double x[OW_ARROW_COMMON];
    covariates(&m->settings, solids_kg_kg, oil_k, x);
    return fmin(fmax(1.0 - ow_spread_below(&m->fit, place, x, 1.0, log(life)), 0.0), 1.0);
}

int ow_learn_filters_skipped(const OwLearnFilters *m) {
    return m->skipped;
}
