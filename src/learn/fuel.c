// SPDX-License-Identifier: GPL-3.0-or-later
// What a vehicle uses, with vehicles that lend each other their experience, and intervals that stand out.
#include "learn/fuel.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "learn/spread.h"

struct OwLearnFuel {
    int vehicle_count, interval_count, point_count;
    OwFuelInterval *intervals;
    OwArrowPoint *points;
    double *base, *extra;
    OwFuelSettings settings;
    OwSpreadFit fit;
};

const char *ow_fuel_odd_text(OwFuelOdd odd) {
    static const char *const texts[OW_FUEL_ODDS] = {
        "usual", "decimal point?", "unit?", "much more than usual", "much less than usual", "odometer"};
    return odd >= 0 && odd < OW_FUEL_ODDS ? texts[odd] : "?";
}

OwFuelSettings ow_fuel_default(void) {
    return (OwFuelSettings){.rate_m3_m = 1e-7,
                            .rate_spread = 0.5,
                            .scatter = 0.12,
                            .scatter_spread = 0.5,
                            .between = 0.25,
                            .between_spread = 0.7,
                            .full_m3 = 2e-3};
}

static int by_number(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *v, int n) {
    qsort(v, (size_t)n, sizeof *v, by_number);
    return n % 2 == 1 ? v[n / 2] : 0.5 * (v[n / 2 - 1] + v[n / 2]);
}

static void say_odd(const OwLearnFill *fills, OwFuelInterval *i, double deviation) {
    const double factor = exp(deviation);
    const long long from = (long long)fills[i->first].entry, to = (long long)fills[i->last].entry;
    const double size = fabs(deviation);
    const char *hint;
    if (fabs(size - log(10.0)) < 0.35) {
        i->odd = OW_FUEL_DECIMAL;
        hint = "a slipped decimal point in the litres or the odometer?";
    } else if (fabs(size - log(3.785)) < 0.15 || fabs(size - log(1.609)) < 0.1) {
        i->odd = OW_FUEL_UNIT;
        hint = "miles for km, or gallons for litres? Else as below: a leak or a missing fill.";
    } else if (deviation > 0.0) {
        i->odd = OW_FUEL_MUCH;
        hint = "a leak, fuel taken, or the tank was not full the time before. Look for a leak first.";
    } else {
        i->odd = OW_FUEL_LITTLE;
        hint = "a fill is missing in the log, the tank was not full this time, or the odometer is wrong.";
    }
    snprintf(i->text, sizeof i->text, "Between entries %lld and %lld %.2g times the usual use: %s", from, to,
             factor, hint);
}

/// Against the vehicle's own middle, or against what is known before when there are fewer than three: more
/// than 3.5 robust spreads (Iglewicz & Hoaglin 1993) and more than 30 % away.
static OwStatus find_odd(OwLearnFuel *m, const OwLearnFill *fills) {
    double *work = calloc((size_t)m->interval_count + 1, sizeof *work);
    double *all = calloc((size_t)m->interval_count + 1, sizeof *all);
    double *middle = calloc((size_t)m->vehicle_count, sizeof *middle);
    int *known = calloc((size_t)m->vehicle_count, sizeof *known);
    OwStatus status = OW_ERROR_MEMORY;
    if (work == NULL || all == NULL || middle == NULL || known == NULL) {
        goto end;
    }
    int total = 0;
    for (int from = 0; from < m->interval_count;) {
        const int v = m->intervals[from].vehicle;
        int to = from, n = 0;
        for (; to < m->interval_count && m->intervals[to].vehicle == v; to++) {
            if (m->intervals[to].odd == OW_FUEL_USUAL) {
                work[n++] = log(m->intervals[to].rate_m3_m);
            }
        }
        known[v] = n;
        middle[v] = n >= 3 ? median(work, n) : log(m->settings.rate_m3_m);
        for (int i = from; i < to && n >= 3; i++) {
            if (m->intervals[i].odd == OW_FUEL_USUAL) {
                all[total++] = fabs(log(m->intervals[i].rate_m3_m) - middle[v]);
            }
        }
        from = to;
    }
    const double seen = total >= 5 ? 1.4826 * median(all, total) : m->settings.scatter;
    const double spread = fmin(fmax(seen, 0.04), 0.3);
    for (int k = 0; k < m->interval_count; k++) {
        OwFuelInterval *i = &m->intervals[k];
        if (i->odd != OW_FUEL_USUAL) {
            continue;
        }
        const bool is_own = known[i->vehicle] >= 3;
        const double deviation = log(i->rate_m3_m) - middle[i->vehicle];
        // Without own experience only what no road vehicle does: 1 to 100 L in 100 km.
        const double bound =
            is_own ? fmax(3.5 * hypot(spread, ow_fuel_doubt(i, &m->settings)), log(1.3)) : log(10.0);
        if (fabs(deviation) > bound) {
            say_odd(fills, i, deviation);
        }
    }
    status = OW_OK;
end:
    free(work);
    free(all);
    free(middle);
    free(known);
    return status;
}

static OwStatus gather(OwLearnFuel *m, const OwLearnFill *fills, int count) {
    int *order = calloc((size_t)count + 1, sizeof *order);
    int *start = calloc((size_t)m->vehicle_count + 2, sizeof *start);
    if (order == NULL || start == NULL) {
        free(order);
        free(start);
        return OW_ERROR_MEMORY;
    }
    for (int i = 0; i < count; i++) {
        start[fills[i].vehicle + 2]++;
    }
    for (int v = 0; v < m->vehicle_count; v++) {
        start[v + 2] += start[v + 1];
    }
    for (int i = 0; i < count; i++) {
        order[start[fills[i].vehicle + 1]++] = i;
    }
    for (int v = 0; v < m->vehicle_count; v++) {
        m->interval_count += ow_fuel_intervals(fills, order + start[v], start[v + 1] - start[v],
                                               m->intervals + m->interval_count);
    }
    for (int k = 0; k < m->interval_count; k++) {
        OwFuelInterval *i = &m->intervals[k];
        i->rate_m3_m = i->distance_m > 0.0 ? i->volume_m3 / i->distance_m : 0.0;
        if (i->odd == OW_FUEL_USUAL && !(i->rate_m3_m > 1e-300 && isfinite(i->rate_m3_m))) {
            i->odd = OW_FUEL_ODOMETER;
            snprintf(i->text, sizeof i->text, "Entry %lld: the numbers are not usable.",
                     (long long)fills[i->last].entry);
        }
    }
    free(order);
    free(start);
    return OW_OK;
}

OwStatus ow_learn_fuel_create(int vehicle_count, const OwLearnFill *fills, int fill_count,
                              const OwFuelSettings *settings, OwLearnFuel **model) {
    *model = NULL;
    const OwFuelSettings defaults = ow_fuel_default();
    const OwFuelSettings *s = settings != NULL ? settings : &defaults;
    const bool is_sane = s->rate_m3_m > 0.0 && s->rate_spread > 0.0 && s->scatter > 0.0 && s->between > 0.0 &&
                         s->full_m3 >= 0.0 && s->scatter_spread > 0.0 && s->between_spread > 0.0 &&
                         isfinite(s->rate_m3_m + s->rate_spread + s->scatter + s->between + s->full_m3 +
                                  s->scatter_spread + s->between_spread);
    if (!is_sane || vehicle_count < 1 || vehicle_count > OW_LEARN_MAX_GROUPS || fill_count < 0 ||
        fill_count > OW_LEARN_MAX_LIVES) {
        return OW_ERROR_VALUE;
    }
    for (int i = 0; i < fill_count; i++) {
        if (fills[i].vehicle < 0 || fills[i].vehicle >= vehicle_count) {
            return OW_ERROR_VALUE;
        }
    }
    OwLearnFuel *m = calloc(1, sizeof *m);
    if (m == NULL) {
        return OW_ERROR_MEMORY;
    }
    m->settings = *s;
    m->vehicle_count = vehicle_count;
    m->intervals = calloc((size_t)fill_count + 1, sizeof *m->intervals);
    m->points = calloc((size_t)fill_count + 1, sizeof *m->points);
    m->base = calloc((size_t)vehicle_count, sizeof *m->base);
    m->extra = calloc((size_t)vehicle_count, sizeof *m->extra);
    OwStatus status = OW_ERROR_MEMORY;
    if (m->intervals != NULL && m->points != NULL && m->base != NULL && m->extra != NULL) {
        status = gather(m, fills, fill_count);
    }
    if (status == OW_OK) {
        status = find_odd(m, fills);
    }
    if (status == OW_OK) {
        for (int v = 0; v < vehicle_count; v++) {
            m->base[v] = log(s->rate_m3_m);
        }
        for (int k = 0; k < m->interval_count; k++) {
            const OwFuelInterval *i = &m->intervals[k];
            if (i->odd == OW_FUEL_USUAL) {
                m->points[m->point_count++] = (OwArrowPoint){.y = log(i->rate_m3_m),
                                                             .x = {1.0, 0.0, 0.0},
                                                             .scale = 1.0,
                                                             .own = ow_fuel_doubt(i, s),
                                                             .group = i->vehicle};
            }
        }
        const OwArrowModel arrow = {.points = m->points,
                                    .point_count = m->point_count,
                                    .group_count = vehicle_count,
                                    .base = m->base,
                                    .extra = m->extra,
                                    .spread = {s->rate_spread, 1.0, 1.0}};
        const OwSpreadPrior scatter = {.middle = s->scatter, .width = s->scatter_spread};
        const OwSpreadPrior between = {.middle = s->between, .width = s->between_spread};
        status = ow_spread_create(&arrow, &scatter, &between, &m->fit);
    }
    if (status != OW_OK) {
        ow_learn_fuel_destroy(&m);
        *model = NULL;
        return status;
    }
    const double x[OW_ARROW_COMMON] = {1.0, 0.0, 0.0};
    for (int k = 0; k < m->interval_count; k++) {
        const bool is_new = k == 0 || m->intervals[k].vehicle != m->intervals[k - 1].vehicle;
        m->intervals[k].expected_m3_m =
            is_new ? exp(ow_spread_quantile(&m->fit, m->intervals[k].vehicle, x, 0.0, 0.5, -INFINITY))
                   : m->intervals[k - 1].expected_m3_m;
    }
    *model = m;
    return OW_OK;
}

void ow_learn_fuel_destroy(OwLearnFuel **model) {
    if (model == NULL || *model == NULL) {
        return;
    }
    OwLearnFuel *m = *model;
    ow_spread_clear(&m->fit);
    free(m->intervals);
    free(m->points);
    free(m->base);
    free(m->extra);
    free(m);
    *model = NULL;
}

/// The last three against all before: one-sided, about 1 in 1000 by chance.
static bool is_rising(const OwLearnFuel *m, int vehicle) {
    double last[3] = {0.0, 0.0, 0.0}, sum = 0.0;
    int n = 0;
    for (int k = 0; k < m->interval_count; k++) {
        const OwFuelInterval *i = &m->intervals[k];
        if (i->vehicle != vehicle || i->odd != OW_FUEL_USUAL || i->is_rough) {
            continue;
        }
        if (n >= 3) {
            sum += last[0];
        }
        last[0] = last[1];
        last[1] = last[2];
        last[2] = log(i->rate_m3_m);
        n++;
    }
    if (n < 6) {
        return false;
    }
    const double before = sum / (n - 3), after = (last[0] + last[1] + last[2]) / 3.0;
    const double sigma = ow_spread_sigma(&m->fit);
    return after - before > 3.0 * sigma * sqrt(1.0 / 3.0 + 1.0 / (n - 3));
}

OwStatus ow_learn_fuel(const OwLearnFuel *m, int vehicle, OwLearnedFuel *l) {
    *l = (OwLearnedFuel){0};
    if (vehicle < 0 || vehicle >= m->vehicle_count) {
        return OW_ERROR_VALUE;
    }
    const double x[OW_ARROW_COMMON] = {1.0, 0.0, 0.0};
    for (int k = 0; k < m->interval_count; k++) {
        const OwFuelInterval *i = &m->intervals[k];
        if (i->vehicle != vehicle) {
            l->others += i->odd == OW_FUEL_USUAL ? 1 : 0;
        } else if (i->odd != OW_FUEL_USUAL) {
            l->odd++;
        } else {
            l->n++;
            l->distance_m += i->distance_m;
            l->volume_m3 += i->volume_m3;
        }
    }
    l->rate_m3_m = exp(ow_spread_quantile(&m->fit, vehicle, x, 0.0, 0.5, -INFINITY));
    l->low = exp(ow_spread_quantile(&m->fit, vehicle, x, 0.0, 0.05, -INFINITY));
    l->high = exp(ow_spread_quantile(&m->fit, vehicle, x, 0.0, 0.95, -INFINITY));
    l->tank_low = exp(ow_spread_quantile(&m->fit, vehicle, x, 1.0, 0.05, -INFINITY));
    l->tank_high = exp(ow_spread_quantile(&m->fit, vehicle, x, 1.0, 0.95, -INFINITY));
    l->is_rising = is_rising(m, vehicle);
    if (l->n == 0) {
        snprintf(l->text, sizeof l->text,
                 l->others > 0
                     ? "No two full tanks with an odometer reading yet: the number is what the other "
                       "vehicles use."
                     : "No two full tanks with an odometer reading yet: the number is a rule of thumb.");
    } else {
        snprintf(l->text, sizeof l->text, "From %d tank%s of its own and %d of the other vehicles%s.%s", l->n,
                 l->n == 1 ? "" : "s", l->others, l->odd > 0 ? "; odd ones are set aside" : "",
                 l->is_rising ? " Use is rising: look for a leak, a dragging brake, worn injectors." : "");
    }
    return OW_OK;
}

const OwFuelInterval *ow_learn_fuel_intervals(const OwLearnFuel *m, int *count) {
    *count = m->interval_count;
    return m->intervals;
}
