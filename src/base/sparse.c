// SPDX-License-Identifier: GPL-3.0-or-later
// Static-pattern sparse LU: symbolic elimination by minimum degree, then a flat list of operations.
#include "base/sparse.h"

#include <stdlib.h>
#include <string.h>

/// Pivot k owns a contiguous block of values: its diagonal, then the column below it, then the row beside it.
typedef struct OwPivot {
    int index;        ///< unknown eliminated here
    int block;        ///< first value: diagonal; column entries follow, then row entries
    int degree;       ///< unknowns still uneliminated that this one touches
    int first;        ///< first of its neighbours in `neighbours`
    int first_target; ///< first of its degree * degree update targets
    int round;        ///< pivots of one round do not touch each other
} OwPivot;

/// Neighbouring pivots of one round and one degree: the same few operations, many times, without a branch
/// between them.
typedef struct OwGroup {
    int first, count, degree;
} OwGroup;

struct OwSparse {
    int n, value_count;
    OwPivot *pivots;
    OwGroup *groups;
    int group_count;
    int *order;    ///< unknowns in order of elimination
    int *position; ///< unknown -> place in the elimination
    int *neighbours;
    int *targets;
    double *values;
};

/// Symmetric adjacency as one bit a pair, for planning only.
typedef struct OwBits {
    uint64_t *words;
    int n, stride;
} OwBits;

static bool bit_get(const OwBits *bits, int row, int column) {
    return (bits->words[(size_t)row * (size_t)bits->stride + (size_t)(column >> 6)] >> (column & 63)) & 1u;
}

static void bit_set(OwBits *bits, int row, int column) {
    bits->words[(size_t)row * (size_t)bits->stride + (size_t)(column >> 6)] |= (uint64_t)1 << (column & 63);
}

static int degree_of(const OwBits *bits, int row, const int *position) {
    int degree = 0;
    for (int j = 0; j < bits->n; j++) {
        degree += j != row && position[j] < 0 && bit_get(bits, row, j);
    }
    return degree;
}

static int neighbours_of(const OwBits *bits, int row, const int *position, int *out) {
    int count = 0;
    for (int j = 0; j < bits->n; j++) {
        if (j != row && position[j] < 0 && bit_get(bits, row, j)) {
            out[count++] = j;
        }
    }
    return count;
}

/// Elimination in rounds: each round takes unknowns of least degree that do not touch each other, so that the
/// pivots of a round are independent. Fills position and pivots, returns totals for the second pass.
static void order_by_degree(OwBits *bits, OwSparse *sparse, int *degree, int *list, size_t *sum,
                            size_t *squares) {
    const int n = sparse->n;
    bool *const is_touched = (bool *)(list + n);
    *sum = *squares = 0;
    for (int i = 0; i < n; i++) {
        sparse->position[i] = -1;
    }
    for (int i = 0; i < n; i++) {
        degree[i] = degree_of(bits, i, sparse->position);
    }
    for (int k = 0, round = 0; k < n; round++) {
        int least = n;
        for (int i = 0; i < n; i++) {
            is_touched[i] = false;
            if (sparse->position[i] < 0 && degree[i] < least) {
                least = degree[i];
            }
        }
        // Unknowns on a path (degree up to 2) go in one round: they add no more fill than taken one by one.
        const int limit = least < 2 ? 2 : least;
        for (int wanted = least; wanted <= limit; wanted++) {
            for (int i = 0; i < n; i++) {
                if (sparse->position[i] >= 0 || is_touched[i] || degree[i] != wanted) {
                    continue;
                }
                sparse->position[i] = k;
                const int count = neighbours_of(bits, i, sparse->position, list);
                for (int a = 0; a < count; a++) {
                    is_touched[list[a]] = true;
                    for (int b = 0; b < count; b++) {
                        if (a != b) {
                            bit_set(bits, list[a], list[b]);
                        }
                    }
                }
                sparse->pivots[k] = (OwPivot){.index = i, .degree = count, .round = round};
                *sum += (size_t)count;
                *squares += (size_t)count * (size_t)count;
                k++;
            }
        }
        for (int i = 0; i < n; i++) {
            if (is_touched[i]) {
                degree[i] = degree_of(bits, i, sparse->position);
            }
        }
    }
}

/// Neighbours of pivot k among later pivots, from the filled graph.
static void list_neighbours(const OwBits *bits, OwSparse *sparse) {
    int first = 0, block = 0, first_target = 0;
    for (int k = 0; k < sparse->n; k++) {
        OwPivot *pivot = &sparse->pivots[k];
        pivot->first = first;
        pivot->block = block;
        pivot->first_target = first_target;
        int count = 0;
        for (int j = 0; j < sparse->n; j++) {
            if (sparse->position[j] > k && bit_get(bits, pivot->index, j)) {
                sparse->neighbours[first + count++] = j;
            }
        }
        pivot->degree = count;
        first += count;
        block += 1 + 2 * count;
        first_target += count * count;
    }
    sparse->value_count = block;
}

static void list_targets(OwSparse *sparse) {
    for (int k = 0; k < sparse->n; k++) {
        const OwPivot *pivot = &sparse->pivots[k];
        const int *near = sparse->neighbours + pivot->first;
        int *target = sparse->targets + pivot->first_target;
        for (int a = 0; a < pivot->degree; a++) {
            for (int b = 0; b < pivot->degree; b++) {
                *target++ = ow_sparse_slot(sparse, near[a], near[b]);
            }
        }
    }
}

static void form_groups(OwSparse *sparse) {
    for (int k = 0; k < sparse->n; k++) {
        sparse->order[k] = sparse->pivots[k].index;
        const OwPivot *pivot = &sparse->pivots[k];
        const bool is_new = k == 0 || pivot->round != sparse->pivots[k - 1].round ||
                            pivot->degree != sparse->pivots[k - 1].degree;
        if (is_new) {
            sparse->groups[sparse->group_count++] = (OwGroup){.first = k, .degree = pivot->degree};
        }
        sparse->groups[sparse->group_count - 1].count++;
    }
}

OwStatus ow_sparse_create(int n, const int (*pairs)[2], int pair_count, OwArena *arena, OwSparse **out) {
    *out = NULL;
    if (n < 1) {
        return OW_ERROR_USE;
    }
    OwBits bits = {.n = n, .stride = (n + 63) / 64};
    OwSparse *sparse = ow_arena_take(arena, 1, sizeof *sparse);
    bits.words = calloc((size_t)n * (size_t)bits.stride, sizeof *bits.words);
    int *degree = calloc((size_t)n * 3, sizeof *degree);
    OwStatus status = OW_ERROR_MEMORY;
    if (!sparse || !bits.words || !degree) {
        goto done;
    }
    sparse->n = n;
    sparse->position = ow_arena_take(arena, (size_t)n, sizeof *sparse->position);
    sparse->pivots = ow_arena_take(arena, (size_t)n, sizeof *sparse->pivots);
    sparse->groups = ow_arena_take(arena, (size_t)n, sizeof *sparse->groups);
    sparse->order = ow_arena_take(arena, (size_t)n, sizeof *sparse->order);
    if (!sparse->position || !sparse->pivots || !sparse->groups || !sparse->order) {
        goto done;
    }
    for (int i = 0; i < pair_count; i++) {
        const int a = pairs[i][0], b = pairs[i][1];
        if (a < 0 || b < 0 || a >= n || b >= n) {
            status = OW_ERROR_USE;
            goto done;
        }
        if (a != b) {
            bit_set(&bits, a, b);
            bit_set(&bits, b, a);
        }
    }
    size_t sum, squares;
    order_by_degree(&bits, sparse, degree, degree + n, &sum, &squares);
    sparse->neighbours = ow_arena_take(arena, sum + 1, sizeof *sparse->neighbours);
    sparse->targets = ow_arena_take(arena, squares + 1, sizeof *sparse->targets);
    if (!sparse->neighbours || !sparse->targets) {
        goto done;
    }
    list_neighbours(&bits, sparse);
    sparse->values = ow_arena_take(arena, (size_t)sparse->value_count, sizeof *sparse->values);
    if (!sparse->values) {
        goto done;
    }
    list_targets(sparse);
    form_groups(sparse);
    *out = sparse;
    status = OW_OK;
done:
    free(bits.words);
    free(degree);
    return status;
}

int ow_sparse_slot(const OwSparse *sparse, int row, int column) {
    if (row == column) {
        return sparse->pivots[sparse->position[row]].block;
    }
    const bool is_column = sparse->position[column] < sparse->position[row];
    const OwPivot *pivot = &sparse->pivots[sparse->position[is_column ? column : row]];
    const int other = is_column ? row : column;
    for (int i = 0; i < pivot->degree; i++) {
        if (sparse->neighbours[pivot->first + i] == other) {
            return pivot->block + 1 + (is_column ? 0 : pivot->degree) + i;
        }
    }
    return -1;
}

double *ow_sparse_values(OwSparse *sparse) {
    return sparse->values;
}

int ow_sparse_count(const OwSparse *sparse) {
    return sparse->value_count;
}

void ow_sparse_zero(OwSparse *sparse) {
    memset(sparse->values, 0, (size_t)sparse->value_count * sizeof *sparse->values);
}

/// Factorises a group; inlined with a constant degree so that the inner loops unroll. With `b` the right-hand
/// side is eliminated on the way.
static inline bool factor_group(const OwSparse *sparse, const OwGroup *group, int degree, double *b) {
    const OwPivot *first = &sparse->pivots[group->first];
    double *const values = sparse->values;
    double *block = values + first->block;
    const int *target = sparse->targets + first->first_target;
    const int *near = sparse->neighbours + first->first;
    const int *index = sparse->order + group->first;
    bool is_good = true;
    for (int k = 0; k < group->count; k++) {
        double *const column = block + 1;
        const double *const row = column + degree;
        is_good &= *block > 0.0;
        const double inverse = 1.0 / *block;
        const double right = b ? b[index[k]] : 0.0;
        *block = inverse;
        for (int i = 0; i < degree; i++) {
            const double factor = column[i] * inverse;
            column[i] = factor;
            for (int j = 0; j < degree; j++) {
                values[target[i * degree + j]] -= factor * row[j];
            }
            if (b) {
                b[near[i]] -= factor * right;
            }
        }
        target += degree * degree;
        near += degree;
        block += 1 + 2 * degree;
    }
    return is_good;
}

static inline bool factor_all(OwSparse *sparse, double *b) {
    bool is_good = true;
    for (int g = 0; g < sparse->group_count; g++) {
        const OwGroup *group = &sparse->groups[g];
        switch (group->degree) {
        case 1:
            is_good &= factor_group(sparse, group, 1, b);
            break;
        case 2:
            is_good &= factor_group(sparse, group, 2, b);
            break;
        case 3:
            is_good &= factor_group(sparse, group, 3, b);
            break;
        default:
            is_good &= factor_group(sparse, group, group->degree, b);
        }
    }
    return is_good;
}

static inline void back_group(const OwSparse *sparse, const OwGroup *group, int degree, double *b) {
    const OwPivot *first = &sparse->pivots[group->first];
    const double *block = sparse->values + first->block;
    const int *near = sparse->neighbours + first->first;
    const int *index = sparse->order + group->first;
    for (int k = 0; k < group->count; k++) {
        const double *row = block + 1 + degree;
        double x = b[index[k]];
        for (int i = 0; i < degree; i++) {
            x -= row[i] * b[near[i]];
        }
        b[index[k]] = x * *block;
        near += degree;
        block += 1 + 2 * degree;
    }
}

static void back_all(const OwSparse *sparse, double *b) {
    for (int g = sparse->group_count - 1; g >= 0; g--) {
        const OwGroup *group = &sparse->groups[g];
        switch (group->degree) {
        case 1:
            back_group(sparse, group, 1, b);
            break;
        case 2:
            back_group(sparse, group, 2, b);
            break;
        case 3:
            back_group(sparse, group, 3, b);
            break;
        default:
            back_group(sparse, group, group->degree, b);
        }
    }
}

bool ow_sparse_factor(OwSparse *sparse) {
    return factor_all(sparse, NULL);
}

bool ow_sparse_factor_solve(OwSparse *sparse, double *b) {
    const bool is_good = factor_all(sparse, b);
    if (is_good) {
        back_all(sparse, b);
    }
    return is_good;
}

void ow_sparse_solve(const OwSparse *sparse, double *b) {
    const double *const values = sparse->values;
    for (int k = 0; k < sparse->n; k++) {
        const OwPivot *pivot = &sparse->pivots[k];
        const int *near = sparse->neighbours + pivot->first;
        const double *column = values + pivot->block + 1;
        const double x = b[pivot->index];
        for (int a = 0; a < pivot->degree; a++) {
            b[near[a]] -= column[a] * x;
        }
    }
    back_all(sparse, b);
}
