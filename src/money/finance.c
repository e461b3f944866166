// SPDX-License-Identifier: GPL-3.0-or-later
// Money over time: present worth, annuities, internal rate of return, payback.
#include "oilwright/money.h"

#include <math.h>

double ow_money_npv(double rate, const double *flows, int count) {
    if (!(rate > -1.0) || flows == NULL || count < 1) {
        return 0.0;
    }
    const double v = 1.0 / (1.0 + rate);
    double sum = 0.0;
    for (int t = count - 1; t >= 0; t--) {
        sum = sum * v + flows[t];
    }
    return sum;
}

double ow_money_annuity(double rate, double growth, double years) {
    if (!(rate > -1.0) || !(growth > -1.0) || !(years > 0.0)) {
        return 0.0;
    }
    const double q = log1p(growth) - log1p(rate); // ln of the yearly step
    if (fabs(q * years) < 1e-9) {
        return years * (1.0 + 0.5 * q * (years + 1.0));
    }
    // x + x^2 + ... + x^n = x (x^n - 1)/(x - 1) with x = e^q
    return exp(q) * expm1(q * years) / expm1(q);
}

/// Roots are looked for in 1 + rate from 0.05 to 101, in steps of its logarithm.
#define LEAST_LOG (-2.9957322735539909) // ln 0.05
#define MOST_LOG 4.6151205168412597     // ln 101
#define GRID 240

static double bisect(const double *flows, int count, double low, double high, double at_low) {
    for (int i = 0; i < 80 && high - low > 1e-14 * (1.0 + fabs(low)); i++) {
        const double middle = 0.5 * (low + high);
        const double at = ow_money_npv(expm1(middle), flows, count);
        if ((at > 0.0) == (at_low > 0.0)) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return expm1(0.5 * (low + high));
}

bool ow_money_irr(const double *flows, int count, double *rate, int *crossings) {
    int found = 0;
    double best = 0.0;
    int changes = 0;
    double last = 0.0;
    for (int t = 0; t < count; t++) {
        if (flows[t] != 0.0) {
            changes += last != 0.0 && (flows[t] > 0.0) != (last > 0.0) ? 1 : 0;
            last = flows[t];
        }
    }
    // Descartes' rule: one change of sign has one root, which the ends bracket or nothing does.
    const int grid = changes == 0 ? 0 : changes == 1 ? 1 : GRID;
    double low = LEAST_LOG;
    double at_low = grid > 0 ? ow_money_npv(expm1(low), flows, count) : 0.0;
    for (int i = 1; i <= grid; i++) {
        const double high = LEAST_LOG + (MOST_LOG - LEAST_LOG) * i / grid;
        const double at_high = ow_money_npv(expm1(high), flows, count);
        if ((at_low > 0.0) != (at_high > 0.0)) {
            const double root = bisect(flows, count, low, high, at_low);
            const bool is_better = found == 0 || (best < 0.0 && (root >= 0.0 || root > best)) ||
                                   (best >= 0.0 && root >= 0.0 && root < best);
            best = is_better ? root : best;
            found++;
        }
        low = high;
        at_low = at_high;
    }
    if (crossings != NULL) {
        *crossings = found;
    }
    if (found > 0 && rate != NULL) {
        *rate = best;
    }
    return found > 0;
}

bool ow_money_payback(double rate, const double *flows, int count, double *years) {
    if (!(rate > -1.0) || flows == NULL || count < 1) {
        return false;
    }
    double sum = 0.0, factor = 1.0, at = 0.0;
    bool is_back = false;
    for (int t = 0; t < count; t++) {
        const double flow = flows[t] * factor;
        const double after = sum + flow;
        if (after >= 0.0 && !is_back) {
            at = t == 0 ? 0.0 : t - 1 + (flow > 0.0 ? -sum / flow : 0.0);
            is_back = true;
        } else if (after < 0.0) {
            is_back = false;
        }
        sum = after;
        factor /= 1.0 + rate;
    }
    if (is_back && years != NULL) {
        *years = at;
    }
    return is_back;
}
