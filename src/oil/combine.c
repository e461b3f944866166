// SPDX-License-Identifier: GPL-3.0-or-later
// Viscosity as a prior curve plus two corrections, updated by readings.
#include "oil/combine.h"
#include "oil/walther.h"

#include <gsl/gsl_fit.h>
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <string.h>

#define MOST_READINGS (OW_OIL_MAX_POINTS + OW_OIL_MAX_CUPS)
#define DOUBT_FROM 2.0 // standard errors: one lot in twenty lies further out by chance

double ow_estimate_gain(double v) {
    const double z = v + 0.7 + exp(-1.47 - 1.84 * v - 0.51 * v * v);
    const double slope = 1.0 - (1.84 + 1.02 * v) * exp(-1.47 - 1.84 * v - 0.51 * v * v);
    return v * slope / (z * log10(z) * M_LN10 * M_LN10);
}

static double reduced(double temperature_k) {
    return 10.0 * log10(313.15 / (temperature_k > 100.0 ? temperature_k : 100.0));
}

static double prior_y(const OwEstimate *e, double temperature_k) {
    if (e->has_composition) {
        return ow_oil_walther_y(1e6 * ow_oil_profile_viscosity_mean(&e->composition, temperature_k));
    }
    return e->a - e->b * log10(temperature_k > 100.0 ? temperature_k : 100.0);
}

double ow_estimate_kinematic(const OwEstimate *e, double temperature_k) {
    return 1e-6 *
           ow_oil_walther_v(prior_y(e, temperature_k) + e->mean[0] + e->mean[1] * reduced(temperature_k));
}

double ow_estimate_error(const OwEstimate *e, double temperature_k) {
    const double x = reduced(temperature_k);
    const double variance = e->cov[0][0] + 2.0 * x * e->cov[0][1] + x * x * e->cov[1][1];
    return sqrt(fmax(variance, 0.0)) / ow_estimate_gain(1e6 * ow_estimate_kinematic(e, temperature_k));
}

void ow_estimate_update(OwEstimate *e, double temperature_k, double kinematic_m2_s, double relative_error) {
    const double v = 1e6 * kinematic_m2_s, x = reduced(temperature_k);
    const double noise = relative_error * ow_estimate_gain(v);
    const double h0 = e->cov[0][0] + e->cov[0][1] * x, h1 = e->cov[1][0] + e->cov[1][1] * x;
    const double innovation = h0 + x * h1 + noise * noise;
    const double rest = ow_oil_walther_y(v) - prior_y(e, temperature_k) - e->mean[0] - e->mean[1] * x;
    const double g0 = h0 / innovation, g1 = h1 / innovation;
    e->mean[0] += g0 * rest;
    e->mean[1] += g1 * rest;
    e->cov[0][0] -= g0 * h0;
    e->cov[0][1] -= g0 * h1;
    e->cov[1][0] = e->cov[0][1];
    e->cov[1][1] -= g1 * h1;
}

void ow_estimate_thicken(OwEstimate *e, double log_factor, double log_error) {
    const double v = 1e6 * ow_estimate_kinematic(e, 313.15);
    e->mean[0] += ow_oil_walther_y(v * exp(log_factor)) - ow_oil_walther_y(v);
    const double error = log_error * ow_estimate_gain(v);
    e->cov[0][0] += error * error;
}

/// Weights of Tukey's bisquare (Beaton & Tukey 1974, Technometrics 16:147) for the residuals against the
/// prior about their own straight line, re-weighted until they rest. The scale is the median absolute
/// residual, never below half a percent of viscosity.
static void robust_weights(const OwEstimate *e, const OwViscosityPoint *reading, int count, double *weight) {
    double x[MOST_READINGS], y[MOST_READINGS], size[MOST_READINGS], gain = 0.0;
    for (int i = 0; i < count; ++i) {
        x[i] = reduced(reading[i].temperature_k);
        y[i] = ow_oil_walther_y(1e6 * reading[i].kinematic_m2_s) - prior_y(e, reading[i].temperature_k);
        gain += ow_estimate_gain(1e6 * reading[i].kinematic_m2_s) / count;
    }
    for (int pass = 0; pass < 20; ++pass) {
        double c0, c1, cov00, cov01, cov11, chi;
        if (gsl_fit_wlinear(x, 1, weight, 1, y, 1, (size_t)count, &c0, &c1, &cov00, &cov01, &cov11, &chi) !=
                0 ||
            !isfinite(c0) || !isfinite(c1)) {
            break; // readings at one temperature: nothing to tell apart
        }
        for (int i = 0; i < count; ++i) {
            size[i] = fabs(y[i] - c0 - c1 * x[i]);
        }
        double sorted[MOST_READINGS];
        memcpy(sorted, size, (size_t)count * sizeof *sorted);
        gsl_sort(sorted, 1, (size_t)count);
        const double scale =
            fmax(gsl_stats_median_from_sorted_data(sorted, 1, (size_t)count) / 0.6745, 0.005 * gain);
        for (int i = 0; i < count; ++i) {
            const double r = size[i] / (4.685 * scale);
            weight[i] = r < 1.0 ? (1.0 - r * r) * (1.0 - r * r) : 0.0;
        }
    }
}

/// Readings that lie further from the expectation than two of its joint standard errors say that the
/// description is not of this oil: the expectation is then trusted less, its level in proportion (a normal
/// prior would else pull the estimate away from what was measured and still claim a narrow band), its slope
/// no less than that of an oil of which nothing is known.
static void doubt(OwEstimate *e, const OwViscosityPoint *reading, const double *relative_error, int count,
                  const double *weight) {
    double sum = 0.0, total = 0.0;
    for (int i = 0; i < count; ++i) {
        const double t = reading[i].temperature_k, v = reading[i].kinematic_m2_s, x = reduced(t);
        const double noise = relative_error[i] * ow_estimate_gain(1e6 * v);
        const double variance = e->cov[0][0] + 2.0 * x * e->cov[0][1] + x * x * e->cov[1][1] + noise * noise;
        const double rest = ow_oil_walther_y(1e6 * v) - prior_y(e, t) - e->mean[0] - e->mean[1] * x;
        sum += weight[i] * rest * rest / fmax(variance, 1e-30);
        total += weight[i];
    }
    const double much = total > 0.0 ? sum / total / (DOUBT_FROM * DOUBT_FROM) : 0.0;
    if (!(much > 1.0)) {
        return;
    }
    const double slope =
        fmax(e->cov[1][1], fmin(much * e->cov[1][1], OW_SLOPE_UNKNOWN_Y * OW_SLOPE_UNKNOWN_Y));
    const double cross = sqrt(much * slope / fmax(e->cov[1][1], 1e-30));
    e->cov[0][0] *= much;
    e->cov[0][1] *= cross;
    e->cov[1][0] = e->cov[0][1];
    e->cov[1][1] = slope;
}

void ow_estimate_readings(OwEstimate *e, const OwViscosityPoint *reading, const double *relative_error,
                          int count, double *weight) {
    for (int i = 0; i < count; ++i) {
        weight[i] = 1.0;
    }
    if (count >= 5 && count <= MOST_READINGS) {
        robust_weights(e, reading, count, weight);
    }
    doubt(e, reading, relative_error, count, weight);
    const OwEstimate before = *e;
    double scale = 1.0;
    for (int pass = 0; pass < 2; ++pass) {
        *e = before;
        double chi = 0.0;
        for (int i = 0; i < count; ++i) {
            ow_estimate_update(e, reading[i].temperature_k, reading[i].kinematic_m2_s,
                               scale * relative_error[i] / sqrt(fmax(weight[i], 0.01)));
        }
        for (int i = 0; i < count; ++i) {
            const double rest =
                log(reading[i].kinematic_m2_s / ow_estimate_kinematic(e, reading[i].temperature_k));
            chi += weight[i] * rest * rest / (relative_error[i] * relative_error[i]);
        }
        if (count < 3 || !(chi > count - 2)) { // the readings agree with one line: done
            break;
        }
        scale = sqrt(chi / (count - 2)); // scatter larger than said: the band grows with it
    }
}
