// SPDX-License-Identifier: GPL-3.0-or-later
// Sparse elimination against dense elimination with row exchange, on random M-matrices of every degree.
#include "support.h"

#include "base/sparse.h"

#include <stdlib.h>
#include <string.h>

enum { MOST = 70 };

/// Dense Gaussian elimination with partial pivoting: the test's own.
static void dense_solve(int n, double a[MOST][MOST], double *b) {
    for (int k = 0; k < n; k++) {
        int best = k;
        for (int i = k + 1; i < n; i++) {
            best = fabs(a[i][k]) > fabs(a[best][k]) ? i : best;
        }
        for (int j = 0; j < n; j++) {
            const double swap = a[k][j];
            a[k][j] = a[best][j];
            a[best][j] = swap;
        }
        const double swap = b[k];
        b[k] = b[best];
        b[best] = swap;
        for (int i = k + 1; i < n; i++) {
            const double factor = a[i][k] / a[k][k];
            for (int j = k; j < n; j++) {
                a[i][j] -= factor * a[k][j];
            }
            b[i] -= factor * b[k];
        }
    }
    for (int k = n - 1; k >= 0; k--) {
        for (int j = k + 1; j < n; j++) {
            b[k] -= a[k][j] * b[j];
        }
        b[k] /= a[k][k];
    }
}

/// Fills matrix and sparse values alike: unsymmetric, off-diagonals not above zero, row sums above zero.
static void fill(OwTestRandom *random, int n, const int (*pairs)[2], int count, OwSparse *sparse,
                 double a[MOST][MOST]) {
    memset(a, 0, sizeof(double) * MOST * MOST);
    ow_sparse_zero(sparse);
    for (int p = 0; p < count; p++) {
        const int i = pairs[p][0], j = pairs[p][1];
        if (i != j) {
            // One way may be shut, as with flow that runs one way.
            a[i][j] -=
                ow_test_random(random, 0.0, 1.0) < 0.3 ? 0.0 : pow(10.0, ow_test_random(random, -3.0, 3.0));
            a[j][i] -=
                ow_test_random(random, 0.0, 1.0) < 0.3 ? 0.0 : pow(10.0, ow_test_random(random, -3.0, 3.0));
        }
    }
    double *values = ow_sparse_values(sparse);
    for (int i = 0; i < n; i++) {
        double sum = 0.0;
        for (int j = 0; j < n; j++) {
            sum -= i == j ? 0.0 : a[i][j];
        }
        a[i][i] = sum + pow(10.0, ow_test_random(random, -3.0, 1.0));
        for (int j = 0; j < n; j++) {
            const int slot = ow_sparse_slot(sparse, i, j);
            if (slot >= 0) {
                assert_true(slot < ow_sparse_count(sparse));
                values[slot] = a[i][j];
            } else {
                assert_true(a[i][j] == 0.0);
            }
        }
    }
}

static void solve_both(OwTestRandom *random, int n, const int (*pairs)[2], int count) {
    static double a[MOST][MOST], kept[MOST][MOST];
    double wanted[MOST], together[MOST], apart[MOST], right[MOST];
    OwArena *arena = ow_arena_create();
    OwSparse *sparse;
    assert_int_equal(ow_sparse_create(n, pairs, count, arena, &sparse), OW_OK);
    for (int round = 0; round < 2; round++) {
        fill(random, n, pairs, count, sparse, a);
        memcpy(kept, a, sizeof kept);
        double *values = ow_sparse_values(sparse);
        double *copy = malloc((size_t)ow_sparse_count(sparse) * sizeof *copy);
        memcpy(copy, values, (size_t)ow_sparse_count(sparse) * sizeof *copy);
        for (int i = 0; i < n; i++) {
            right[i] = wanted[i] = together[i] = apart[i] = ow_test_random(random, -5.0, 5.0);
        }
        assert_true(ow_sparse_factor_solve(sparse, together));
        memcpy(values, copy, (size_t)ow_sparse_count(sparse) * sizeof *copy);
        assert_true(ow_sparse_factor(sparse));
        ow_sparse_solve(sparse, apart);
        dense_solve(n, a, wanted);
        double size = 0.0, scale = 0.0;
        for (int i = 0; i < n; i++) {
            size = fmax(size, fabs(wanted[i]));
        }
        for (int i = 0; i < n; i++) {
            assert_near(together[i], wanted[i], 1e-8 * size);
            assert_near(apart[i], together[i], 1e-13 * size);
            // Small backward error whatever the condition: residual against |A||x| + |b|.
            double residual = right[i];
            scale = fabs(right[i]);
            for (int j = 0; j < n; j++) {
                residual -= kept[i][j] * together[j];
                scale += fabs(kept[i][j] * together[j]);
            }
            assert_true(fabs(residual) <= 1e-12 * scale);
        }
        free(copy);
    }
    ow_arena_destroy(&arena);
}

static void random_graphs(void **state) {
    (void)state;
    OwTestRandom random = {0x9E3779B97F4A7C15u};
    static int pairs[4000][2];
    for (int trial = 0; trial < 300; trial++) {
        const int n = 1 + ow_test_random_int(&random, 60);
        const int count = ow_test_random_int(&random, 1 + 3 * n);
        for (int p = 0; p < count; p++) {
            pairs[p][0] = ow_test_random_int(&random, n);
            pairs[p][1] = ow_test_random_int(&random, n); // doubles and self-pairs too
        }
        solve_both(&random, n, (const int(*)[2])pairs, count);
    }
}

/// Path, ring, star, wheel, grid and complete graphs: elimination degrees from 0 to n - 1.
static void known_graphs(void **state) {
    (void)state;
    OwTestRandom random = {77};
    static int pairs[4000][2];
    for (int n = 1; n <= 40; n += 3) {
        int count = 0;
        solve_both(&random, n, (const int(*)[2])pairs, 0);
        for (int i = 0; i + 1 < n; i++, count++) {
            pairs[count][0] = i;
            pairs[count][1] = i + 1;
        }
        solve_both(&random, n, (const int(*)[2])pairs, count);
        pairs[count][0] = n - 1;
        pairs[count++][1] = 0;
        solve_both(&random, n, (const int(*)[2])pairs, count);
        for (int i = 1; i < n; i++, count++) {
            pairs[count][0] = 0;
            pairs[count][1] = i;
        }
        solve_both(&random, n, (const int(*)[2])pairs, count);
        count = 0;
        for (int i = 1; i < n; i++) {
            for (int j = 0; j < i; j++, count++) {
                pairs[count][0] = i;
                pairs[count][1] = j;
            }
        }
        solve_both(&random, n, (const int(*)[2])pairs, count);
    }
    int count = 0;
    for (int i = 0; i < 64; i++) {
        if (i % 8 < 7) {
            pairs[count][0] = i;
            pairs[count++][1] = i + 1;
        }
        if (i < 56) {
            pairs[count][0] = i;
            pairs[count++][1] = i + 8;
        }
    }
    solve_both(&random, 64, (const int(*)[2])pairs, count);
}

static void refusals(void **state) {
    (void)state;
    OwArena *arena = ow_arena_create();
    OwSparse *sparse;
    const int pairs[][2] = {{0, 1}, {1, 2}}, outside[][2] = {{0, 3}}, below[][2] = {{-1, 0}};
    assert_int_equal(ow_sparse_create(0, pairs, 0, arena, &sparse), OW_ERROR_USE);
    assert_int_equal(ow_sparse_create(3, outside, 1, arena, &sparse), OW_ERROR_USE);
    assert_int_equal(ow_sparse_create(3, below, 1, arena, &sparse), OW_ERROR_USE);
    assert_null(sparse);
    assert_int_equal(ow_sparse_create(3, pairs, 2, arena, &sparse), OW_OK);
    assert_int_equal(ow_sparse_slot(sparse, 0, 0) >= 0, 1);
    double *values = ow_sparse_values(sparse);
    double b[3] = {1.0, 2.0, 3.0};
    const double pivots[] = {0.0, -1.0, NAN};
    for (int i = 0; i < 3; i++) {
        ow_sparse_zero(sparse);
        values[ow_sparse_slot(sparse, 0, 0)] = values[ow_sparse_slot(sparse, 1, 1)] = 1.0;
        values[ow_sparse_slot(sparse, 2, 2)] = pivots[i];
        assert_false(ow_sparse_factor(sparse));
        ow_sparse_zero(sparse);
        values[ow_sparse_slot(sparse, 0, 0)] = values[ow_sparse_slot(sparse, 2, 2)] = 1.0;
        values[ow_sparse_slot(sparse, 1, 1)] = pivots[i];
        assert_false(ow_sparse_factor_solve(sparse, b));
    }
    ow_arena_destroy(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(random_graphs), cmocka_unit_test(known_graphs),
                                       cmocka_unit_test(refusals)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
