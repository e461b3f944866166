// SPDX-License-Identifier: GPL-3.0-or-later
// Shifted Sobol points and variance-based indices.
#include "money/quasi.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define BITS 30 // of GSL's Sobol numbers

static uint64_t next_random(uint64_t *state) {
    uint64_t z = (*state += 0x9E3779B97F4A7C15u);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
}

OwStatus ow_quasi_start(OwQuasi *quasi, int dimensions, uint64_t replicate) {
    memset(quasi, 0, sizeof *quasi);
    if (dimensions < 1) {
        return OW_ERROR_USE;
    }
    quasi->dimensions = dimensions;
    quasi->quasi = dimensions < OW_QUASI_MOST ? dimensions : OW_QUASI_MOST;
    quasi->random = 0x2545F4914F6CDD1Du + 0x632BE59BD9B4E019u * (replicate + 1);
    // gsl_qrng_alloc ends the process when out of memory: its state is made here.
    const unsigned d = (unsigned)quasi->quasi;
    quasi->generator =
        (gsl_qrng){.type = gsl_qrng_sobol, .dimension = d, .state_size = gsl_qrng_sobol->state_size(d)};
    quasi->generator.state = calloc(1, quasi->generator.state_size);
    if (quasi->generator.state == NULL) {
        return OW_ERROR_MEMORY;
    }
    gsl_qrng_init(&quasi->generator);
    for (int i = 0; i < quasi->quasi; i++) {
        quasi->shift[i] = (uint32_t)(next_random(&quasi->random) >> (64 - BITS));
    }
    quasi->is_first = true;
    return OW_OK;
}

void ow_quasi_next(OwQuasi *quasi, double *u) {
    const double step = 1.0 / (double)(1u << BITS);
    double point[OW_QUASI_MOST] = {0.0};
    // GSL leaves out the first point, the origin; without it 2^m points are no net.
    if (!quasi->is_first) {
        (void)gsl_qrng_get(&quasi->generator, point);
    }
    quasi->is_first = false;
    for (int i = 0; i < quasi->quasi; i++) {
        const uint32_t digits = (uint32_t)(point[i] / step + 0.5) ^ quasi->shift[i];
        u[i] = (digits + 0.5) * step;
    }
    for (int i = quasi->quasi; i < quasi->dimensions; i++) {
        u[i] = ((double)(next_random(&quasi->random) >> 12) + 0.5) * 0x1p-52;
    }
}

void ow_quasi_clear(OwQuasi *quasi) {
    free(quasi->generator.state);
    quasi->generator.state = NULL;
}

/// Sums over one replicate.
typedef struct Sums {
    double *first, *total; ///< of each coordinate
    double sum, square;
} Sums;

static OwStatus run_replicate(OwQuasiModel model, void *context, int count, int points, int replicate,
                              double centre, double *work, Sums *sums) {
    double *pair = work, *a = work + 2 * count, *b = a + count;
    OwQuasi quasi;
    const OwStatus status = ow_quasi_start(&quasi, 2 * count, (uint64_t)replicate);
    if (status != OW_OK) {
        return status;
    }
    memset(sums->first, 0, (size_t)count * sizeof *sums->first);
    memset(sums->total, 0, (size_t)count * sizeof *sums->total);
    sums->sum = sums->square = 0.0;
    for (int n = 0; n < points; n++) {
        ow_quasi_next(&quasi, pair);
        for (int i = 0; i < count; i++) {
            a[i] = pair[2 * i]; // neighbours, so that the first inputs have the best coordinates in both
            b[i] = pair[2 * i + 1];
        }
        const double at_a = model(context, a) - centre, at_b = model(context, b) - centre;
        sums->sum += at_a + at_b;
        sums->square += at_a * at_a + at_b * at_b;
        for (int i = 0; i < count; i++) {
            const double kept = a[i];
            a[i] = b[i];
            const double at_ab = model(context, a) - centre;
            a[i] = kept;
            sums->first[i] += at_b * (at_ab - at_a);
            sums->total[i] += (at_a - at_ab) * (at_a - at_ab);
        }
    }
    ow_quasi_clear(&quasi);
    return OW_OK;
}

OwStatus ow_quasi_indices(OwQuasiModel model, void *context, int count, int points, int replicates,
                          OwQuasiIndex *indices, double *variance) {
    *variance = 0.0;
    if (count < 1 || points < 2 || replicates < 2) {
        return OW_ERROR_USE;
    }
    double *work = calloc((size_t)count * 6, sizeof *work);
    if (work == NULL) {
        return OW_ERROR_MEMORY;
    }
    memset(indices, 0, (size_t)count * sizeof *indices);
    Sums sums = {.first = work + 4 * count, .total = work + 5 * count};
    for (int i = 0; i < count; i++) {
        work[i] = 0.5;
    }
    const double centre = model(context, work); // near the mean: takes most of the noise out of the products
    OwStatus status = OW_OK;
    double mean_variance = 0.0;
    for (int r = 0; r < replicates && status == OW_OK; r++) {
        status = run_replicate(model, context, count, points, r, centre, work, &sums);
        const double n = 2.0 * points, mean = sums.sum / n, v = fmax(0.0, sums.square / n - mean * mean);
        mean_variance += v / replicates;
        for (int i = 0; i < count && status == OW_OK && v > 0.0; i++) {
            const double first = sums.first[i] / points / v, total = 0.5 * sums.total[i] / points / v;
            indices[i].first += first / replicates;
            indices[i].total += total / replicates;
            indices[i].first_error += first * first / replicates; // squares until the end
            indices[i].total_error += total * total / replicates;
        }
    }
    for (int i = 0; i < count; i++) {
        OwQuasiIndex *x = &indices[i];
        const double share = 1.0 / (replicates - 1);
        x->first_error = sqrt(fmax(0.0, x->first_error - x->first * x->first) * share);
        x->total_error = sqrt(fmax(0.0, x->total_error - x->total * x->total) * share);
    }
    *variance = status == OW_OK ? mean_variance : 0.0;
    free(work);
    return status;
}
