// SPDX-License-Identifier: GPL-3.0-or-later
// Viscosity as a prior curve plus two corrections, updated by readings: measured and modelled combined by
// their errors.
#ifndef OILWRIGHT_OIL_COMBINE_IMPL_H
#define OILWRIGHT_OIL_COMBINE_IMPL_H

#include "oilwright/oil.h"

/// y(T) = prior y(T) + d0 + d1 X(T) in Walther coordinates, X = 10 log10(313.15 / T); (d0, d1) Gaussian.
typedef struct OwEstimate {
    bool has_composition;
    OwComposition composition; ///< prior curve from the profile models, or else
    double a, b;               ///< a Walther line
    double mean[2], cov[2][2];
    double freedom; ///< of Student's t for the band
} OwEstimate;

/// Change of y for a relative change of the viscosity (mm2/s).
double ow_estimate_gain(double mm2_s);
/// Standard error of the profile models as y, from the scatter of the tuning oils (16 oils, 4 spent),
/// enlarged for leverage.
#define OW_PROFILE_ERROR_Y 0.0068
#define OW_SLOPE_ERROR_Y 0.010
#define OW_SLOPE_UNKNOWN_Y 0.05 ///< of an oil of which nothing is said (assumed)
double ow_estimate_kinematic(const OwEstimate *estimate, double temperature_k);
/// Standard error of ln v.
double ow_estimate_error(const OwEstimate *estimate, double temperature_k);
/// Takes in one reading with its relative standard error.
void ow_estimate_update(OwEstimate *estimate, double temperature_k, double kinematic_m2_s,
                        double relative_error);
/// Multiplies the viscosity at 40 degC by exp(log_factor +- log_error).
void ow_estimate_thicken(OwEstimate *estimate, double log_factor, double log_error);
/// Takes in all readings: with five or more, outliers are given less weight by a bisquare fit (GSL) of the
/// residuals. Readings far from what was expected weaken the expectation. Writes the weights.
void ow_estimate_readings(OwEstimate *estimate, const OwViscosityPoint *reading, const double *relative_error,
                          int count, double *weight);

#endif
