// SPDX-License-Identifier: GPL-3.0-or-later
// Shared by the tests of heat: a repeatable random source and comparison with a stated tolerance.
#ifndef OILWRIGHT_TESTS_HEAT_SUPPORT_H
#define OILWRIGHT_TESTS_HEAT_SUPPORT_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

/// xorshift64 (Marsaglia 2003, J. Stat. Softw. 8(14)).
typedef struct OwTestRandom {
    uint64_t state;
} OwTestRandom;

static inline double ow_test_random(OwTestRandom *random, double low, double high) {
    random->state ^= random->state << 13;
    random->state ^= random->state >> 7;
    random->state ^= random->state << 17;
    return low + (high - low) * (double)(random->state >> 11) * 0x1p-53;
}

static inline int ow_test_random_int(OwTestRandom *random, int below) {
    const int value = (int)ow_test_random(random, 0.0, below);
    return value < below ? value : below - 1;
}

#define assert_near(value, wanted, tolerance)                                                                \
    do {                                                                                                     \
        const double v_ = (value), w_ = (wanted), t_ = (tolerance);                                          \
        if (!(fabs(v_ - w_) <= t_)) {                                                                        \
            fail_msg("%s: %.12g, wanted %.12g within %.3g", #value, v_, w_, t_);                             \
        }                                                                                                    \
    } while (0)

#endif
