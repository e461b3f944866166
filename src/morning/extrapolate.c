// SPDX-License-Identifier: GPL-3.0-or-later
// Linearly implicit Euler with flows frozen in each sub-step, extrapolated over 1, 2 and 3 sub-steps to order
// 3 (Aitken-Neville; Deuflhard 1985, SIAM Review 27:505; Hairer & Wanner 1996, sect. IV.9). The order-2
// column gives the error estimate.
#include "morning/morning_impl.h"

#include <math.h>

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
            eval = &morning->inside;
        }
        if (!ow_system_step(system, eval, h, from, to)) {
            return false;
        }
        from = to;
    }
    return true;
}

double ow_morning_try(OwMorning *morning, double step_s) {
    const OwPlan *plan = morning->plan;
    for (int parts = 1; parts <= 3; parts++) {
        if (!row(morning, parts, step_s, morning->half[parts - 1])) {
            return INFINITY;
        }
    }
    const double *t1 = morning->half[0], *t2 = morning->half[1], *t3 = morning->half[2];
    double *next = morning->next;
    double sum = 0.0, worst = 0.0;
    const double tolerance = morning->settings.tolerance_k;
    for (int i = 0; i < plan->state_count; i++) {
        const double t22 = 2.0 * t2[i] - t1[i];
        const double t32 = 3.0 * t3[i] - 2.0 * t2[i];
        const double error = 0.5 * (t32 - t22);
        next[i] = t32 + error;
        if (i < plan->tank_at) {
            const double size = error * error;
            sum += size;
            worst = size > worst ? size : worst;
        }
    }
    // A share of the second fluid counts a hundredfold of its size in K.
    for (int i = plan->share_at; i < plan->sum_at; i++) {
        const double error = 100.0 * (next[i] - (3.0 * t3[i] - 2.0 * t2[i]));
        sum += error * error;
        next[i] = next[i] < 0.0 ? 0.0 : next[i] > 1.0 ? 1.0 : next[i];
    }
    const double mean = sqrt(sum / plan->tank_at);
    const double norm = fmax(mean, 0.2 * sqrt(worst)) / tolerance;
    return isfinite(norm) ? norm : INFINITY;
}
