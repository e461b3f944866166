// SPDX-License-Identifier: GPL-3.0-or-later
// The sparse Jacobian of the frozen network, by columns, written from the network's description alone.
#ifndef OILWRIGHT_TESTS_ORACLE_JACOBIAN_H
#define OILWRIGHT_TESTS_ORACLE_JACOBIAN_H

#include "morning/system.h"

typedef struct OwJacobian OwJacobian;
OwJacobian *ow_jacobian_create(const OwPlan *plan);
long ow_jacobian_count(const OwJacobian *jacobian);
/// Column starts (n + 1) and rows (count).
void ow_jacobian_pattern(const OwJacobian *jacobian, int64_t *starts, int64_t *rows);
void ow_jacobian_fill(OwJacobian *jacobian, const OwSystem *system, const OwEval *eval, double *values);
/// Text: "n count", then n lines "state slope", then count lines "row column value".
bool ow_jacobian_dump(OwJacobian *jacobian, const OwSystem *system, const OwEval *eval, const double *y,
                      const char *path);
void ow_jacobian_destroy(OwJacobian **jacobian);

#endif
