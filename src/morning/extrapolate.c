// SPDX-License-Identifier: GPL-3.0-or-later
// Linearly implicit Euler with flows frozen in each sub-step, extrapolated over 1, 2 and 3 sub-steps to order
// 3 (Aitken-Neville; Deuflhard 1985, SIAM Review 27:505; Hairer & Wanner 1996, sect. IV.9). The order-2
// column gives the error estimate.
#include "morning/morning_impl.h"

#include <math.h>

/// The estimates are those of the lower-order column, well above the true error: this much of them makes the
/// run's own error about the tolerance (measured against runs at a thousandth of it, see tests/morning).
#define TOLERANCE_USE 2.5
/// A share of the second fluid counts like this many kelvin.
#define SHARE_K 100.0
/// All of a tank's content, or of the battery's charge, counts like this many kelvin.
#define CONTENT_K 100.0
/// Two rows are enough when even their doubtful column is this far inside the tolerance.
#define EASY 0.1

static bool row(OwMorning *morning, int parts, double step_s, double *end) {
    OwSystem *system = morning->system;
    const double h = step_s / parts;
    const double *from = morning->y;
    // Sub-steps alternate between two arrays so that the last one lands in `end`.
    double *spare = morning->next;
    for (int k = 0; k < parts; k++) {
        double *to = (parts - k) % 2 == 1 ? end : spare;
        const OwEval *eval = &morning->start;
        if (k > 0) {
            ow_system_evaluate(system, morning->time_s + k * h, from, &morning->inside);
            if (morning->inside.has_failed) {
                return false; // flows that do not balance would make heat; a shorter step starts nearer
            }
            eval = &morning->inside;
        }
        if (!ow_system_step(system, eval, h, from, to)) {
            return false;
        }
        from = to;
    }
    return true;
}

/// Root mean square and worst of the errors over the tolerance; `error` gives one state's error.
static double norm_of(const OwMorning *morning, double sum, double worst) {
    const double mean = sqrt(sum / morning->plan->tank_at);
    const double tallest = 0.2 * sqrt(worst);
    const double norm = (mean > tallest ? mean : tallest) / (TOLERANCE_USE * morning->settings.tolerance_k);
    return isfinite(norm) ? norm : INFINITY;
}

static double clamp_share(double share) {
    return share < 0.0 ? 0.0 : share > 1.0 ? 1.0 : share;
}

/// The doubtful part of what is no temperature, squared and in kelvin's stead: a tank's content counts by its
/// share, and the charge drawn by its share of the battery.
static double other_errors(const OwMorning *morning, const double *coarse, const double *fine) {
    const OwPlan *plan = morning->plan;
    double worst = 0.0;
    for (int i = plan->tank_at; i < plan->tank_at + plan->tank_count; i++) {
        worst = fmax(worst, CONTENT_K * fabs(fine[i] - coarse[i]) / fmax(fine[i], 1e-4));
    }
    const int charge = plan->sum_at + OW_SUM_CHARGE;
    worst = fmax(worst,
                 CONTENT_K * fabs(fine[charge] - coarse[charge]) / fmax(plan->rig->electrics.battery_c, 1.0));
    return worst * worst;
}

/// Order 2 from rows 1 and 2; the error shown is that of the order-1 column, so it is on the safe side.
static double second_order(OwMorning *morning) {
    const OwPlan *plan = morning->plan;
    const double *t1 = morning->half[0], *t2 = morning->half[1];
    double *next = morning->next;
    double sum = 0.0, worst = 0.0;
    for (int i = 0; i < plan->state_count; i++) {
        next[i] = 2.0 * t2[i] - t1[i];
    }
    for (int i = 0; i < plan->tank_at; i++) {
        const double error = t2[i] - t1[i], size = error * error;
        sum += size;
        worst = size > worst ? size : worst;
    }
    for (int i = plan->share_at; i < plan->sum_at; i++) {
        const double error = SHARE_K * (t2[i] - t1[i]);
        sum += error * error;
        next[i] = clamp_share(next[i]);
    }
    return norm_of(morning, sum, fmax(worst, other_errors(morning, t1, t2)));
}

static double third_order(OwMorning *morning) {
    const OwPlan *plan = morning->plan;
    const double *t1 = morning->half[0], *t2 = morning->half[1], *t3 = morning->half[2];
    double *next = morning->next;
    double sum = 0.0, worst = 0.0;
    for (int i = 0; i < plan->state_count; i++) {
        const double t22 = 2.0 * t2[i] - t1[i], t32 = 3.0 * t3[i] - 2.0 * t2[i];
        const double error = 0.5 * (t32 - t22);
        next[i] = t32 + error;
        const bool is_temperature = i < plan->tank_at;
        const double size = is_temperature ? error * error : 0.0;
        sum += size;
        worst = size > worst ? size : worst;
    }
    for (int i = plan->share_at; i < plan->sum_at; i++) {
        const double error = SHARE_K * (next[i] - (3.0 * t3[i] - 2.0 * t2[i]));
        sum += error * error;
        next[i] = clamp_share(next[i]);
    }
    return norm_of(morning, sum, fmax(worst, other_errors(morning, t2, t3)));
}

double ow_morning_try(OwMorning *morning, double step_s, int *order) {
    *order = 2;
    if (!row(morning, 1, step_s, morning->half[0]) || !row(morning, 2, step_s, morning->half[1])) {
        return INFINITY;
    }
    if (!(morning->settings.fixed_step_s > 0.0)) {
        const double norm = second_order(morning);
        if (norm <= EASY) {
            return norm;
        }
    }
    *order = 3;
    return row(morning, 3, step_s, morning->half[2]) ? third_order(morning) : INFINITY;
}
