// SPDX-License-Identifier: GPL-3.0-or-later
// A normal regression with a few common coefficients and one level a group, right-censored where told, solved
// at given spreads by Newton's method.
#ifndef OW_LEARN_ARROW_H
#define OW_LEARN_ARROW_H

#include "oilwright/base.h"

#define OW_ARROW_COMMON 3

typedef struct OwArrowPoint {
    double y;                  ///< observed, or the bound that y is above
    double x[OW_ARROW_COMMON]; ///< of the common coefficients
    double scale;              ///< of sigma, > 0
    double own;                ///< known spread of this point besides, 0 unless told
    int group;
    bool is_censored;
} OwArrowPoint;

/// Sums over the uncensored points of a group with the same own spread, weighted 1/scale^2; y less the base.
typedef struct OwArrowSum {
    int group;
    double own;
    double n, x[OW_ARROW_COMMON], xx[OW_ARROW_COMMON][OW_ARROW_COMMON], y, xy[OW_ARROW_COMMON], yy;
    double log_scale, count;
} OwArrowSum;

/// y = base[group] + x . common + level[group] + error, error ~ N(0, scale^2 sigma^2 + own^2), common ~
/// N(mean, spread^2), level ~ N(0, between^2 + extra[group]^2).
typedef struct OwArrowModel {
    const OwArrowPoint *points;
    int point_count, group_count;
    const double *base, *extra;
    const OwArrowSum *sums; ///< of points that are not among `points`
    int sum_count;
    double mean[OW_ARROW_COMMON], spread[OW_ARROW_COMMON];
} OwArrowModel;

/// One group's part of a solution.
typedef struct OwArrowGroup {
    double level;
    double pull[OW_ARROW_COMMON]; ///< coupling over own precision
    double variance;              ///< of the level, common coefficients held
    double slope, move;           ///< of the step being made
} OwArrowGroup;

/// Adds uncensored points to `sums` (room for all points) and copies the others to `hard`; returns how many
/// those are.
int ow_arrow_sum(const OwArrowModel *model, OwArrowSum *sums, int *sum_count, OwArrowPoint *hard);

/// At one pair of spreads. `groups` is the caller's, group_count long.
typedef struct OwArrowFit {
    double common[OW_ARROW_COMMON];
    double cover[OW_ARROW_COMMON][OW_ARROW_COMMON]; ///< covariance of the common coefficients
    OwArrowGroup *groups;
    double log_peak;     ///< ln of likelihood and prior at the mode
    double log_evidence; ///< ln of their integral, Laplace; exact without censored points
} OwArrowFit;

/// From the fit's own common and levels as the first guess (zeroed is fine). Always ends: the problem is
/// concave; at most 60 Newton steps, each halved until it does not fall.
void ow_arrow_solve(const OwArrowModel *model, double sigma, double between, OwArrowFit *fit);
/// Mean and variance of base + x . common + level in a group.
void ow_arrow_predict(const OwArrowModel *model, const OwArrowFit *fit, int group,
                      const double x[OW_ARROW_COMMON], double *mean, double *variance);
/// ln of the normal's upper tail beyond z, and the hazard (density over it), for any finite z.
double ow_normal_log_tail(double z, double *hazard);

#endif
