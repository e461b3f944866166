// SPDX-License-Identifier: GPL-3.0-or-later
// The two spreads of a regression integrated out on a grid: the answer is a mixture of normals.
#ifndef OW_LEARN_SPREAD_H
#define OW_LEARN_SPREAD_H

#include "learn/arrow.h"

/// What is believed of a spread before any data: ln spread ~ N(ln middle, width^2), or evenly spread from 0
/// to `even_to` when that is above 0; or known: width 0.
typedef struct OwSpreadPrior {
    double middle, width, even_to;
} OwSpreadPrior;

typedef struct OwSpreadNode {
    double sigma, between, weight; ///< weights sum to 1
    OwArrowFit fit;
} OwSpreadNode;

#define OW_SPREAD_SIDE 11
typedef struct OwSpreadFit {
    OwArrowModel model;
    OwArrowSum *sums;     ///< owned
    OwArrowPoint *hard;   ///< owned
    OwSpreadNode *nodes;  ///< owned
    OwArrowGroup *groups; ///< owned: node_count times group_count
    int node_count;
} OwSpreadFit;

/// `model` is copied, its arrays are the caller's and must stay. OW_ERROR_MEMORY.
OwStatus ow_spread_create(const OwArrowModel *model, const OwSpreadPrior *sigma, const OwSpreadPrior *between,
                          OwSpreadFit *fit);
void ow_spread_clear(OwSpreadFit *fit);
/// Share of the mixture below y: of the level line itself, or with scatter of `scale` sigma added (> 0).
double ow_spread_below(const OwSpreadFit *fit, int group, const double x[OW_ARROW_COMMON], double scale,
                       double y);
/// The y with that share below, 0 < share < 1; `above`: of what lies above that bound (-INFINITY: all).
double ow_spread_quantile(const OwSpreadFit *fit, int group, const double x[OW_ARROW_COMMON], double scale,
                          double share, double above);
/// Mean and variance of the level line over the mixture.
void ow_spread_moments(const OwSpreadFit *fit, int group, const double x[OW_ARROW_COMMON], double *mean,
                       double *variance);
/// Weighted median of sigma.
double ow_spread_sigma(const OwSpreadFit *fit);

#endif
