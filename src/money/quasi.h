// SPDX-License-Identifier: GPL-3.0-or-later
// Points that fill a cube evenly, and what share of a result's variance each coordinate makes.
#ifndef OW_MONEY_QUASI_H
#define OW_MONEY_QUASI_H

#include "oilwright/base.h"

#include <gsl/gsl_qrng.h>

/// Coordinates that the Sobol sequence of GSL has; further ones are pseudo-random.
#define OW_QUASI_MOST 40

/// Sobol points with a random digital shift (Matousek 1998, J. Complexity 14:527), coordinates beyond them
/// pseudo-random (splitmix64, Steele, Lea & Flood 2014). Start from `{0}`, end with ow_quasi_clear.
typedef struct OwQuasi {
    gsl_qrng generator;
    int dimensions, quasi;
    uint32_t shift[OW_QUASI_MOST];
    uint64_t random;
    bool is_first;
} OwQuasi;

/// One replicate; other `replicate` numbers give independent shifts. OW_ERROR_MEMORY.
OwStatus ow_quasi_start(OwQuasi *quasi, int dimensions, uint64_t replicate);
/// The next point, each coordinate inside 0..1, ends excluded.
void ow_quasi_next(OwQuasi *quasi, double *u);
void ow_quasi_clear(OwQuasi *quasi);

/// A result at a point of the unit cube.
typedef double (*OwQuasiModel)(void *context, const double *u);

typedef struct OwQuasiIndex {
    double first, total, first_error, total_error;
} OwQuasiIndex;

/// First-order (Saltelli et al. 2010, CPC 181:259, table 2 b) and total (Jansen 1999, CPC 117:35) indices of
/// `count` coordinates from `replicates` replicates of `points` pairs (a power of two). Coordinates come in
/// the order given, which is that of the Sobol coordinates. *variance 0: all indices are 0. OW_ERROR_MEMORY,
/// OW_ERROR_USE.
OwStatus ow_quasi_indices(OwQuasiModel model, void *context, int count, int points, int replicates,
                          OwQuasiIndex *indices, double *variance);

#endif
