// SPDX-License-Identifier: GPL-3.0-or-later
// Sparse LU over a fixed, symmetric pattern, without pivoting: for diagonally dominant M-matrices only, where elimination
// without pivoting is stable (Berman & Plemmons 1994, ch. 6). The elimination is planned once and then replayed.
#ifndef OILWRIGHT_BASE_SPARSE_H
#define OILWRIGHT_BASE_SPARSE_H

#include "oilwright/base.h"

typedef struct OwSparse OwSparse;

/// Plans an n x n matrix whose off-diagonal entries stand at pairs (i,j) and (j,i); the diagonal is always there. Order by
/// minimum degree. All memory from `arena`. OW_ERROR_USE for an index outside 0..n-1 or n < 1.
OwStatus ow_sparse_create(int n, const int (*pairs)[2], int pair_count, OwArena *arena, OwSparse **sparse);
/// Index into the values of entry (row, column); -1 when it is not in the pattern.
int ow_sparse_slot(const OwSparse *sparse, int row, int column);
/// The values, ow_sparse_count of them, to be filled (fill-in zero) before each factorisation.
double *ow_sparse_values(OwSparse *sparse);
int ow_sparse_count(const OwSparse *sparse);
/// Sets all values to zero.
void ow_sparse_zero(OwSparse *sparse);
/// Factorises in place; the values are then the factors. Returns false on a pivot that is not above zero (or is NaN).
bool ow_sparse_factor(OwSparse *sparse);
/// Both at once, cheaper: factorises and solves A x = b in place. False as above, then b is of no use.
bool ow_sparse_factor_solve(OwSparse *sparse, double *b);
/// Solves A x = b in place with the factors.
void ow_sparse_solve(const OwSparse *sparse, double *b);

#endif
