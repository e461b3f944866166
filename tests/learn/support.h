// SPDX-License-Identifier: GPL-3.0-or-later
// Random numbers that are the same everywhere, and comparisons.
#ifndef OW_TESTS_LEARN_SUPPORT_H
#define OW_TESTS_LEARN_SUPPORT_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

typedef struct Random {
    uint64_t state;
} Random;

/// 0 < u < 1; SplitMix64 (Steele, Lea & Flood 2014, OOPSLA).
static inline double uniform(Random *r) {
    uint64_t z = (r->state += 0x9E3779B97F4A7C15u);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return ((double)((z ^ (z >> 31)) >> 11) + 0.5) / 9007199254740992.0;
}

/// Box & Muller 1958.
static inline double normal(Random *r) {
    const double radius = sqrt(-2.0 * log(uniform(r)));
    return radius * cos(6.283185307179586 * uniform(r));
}

static inline void assert_close(double value, double wanted, double tolerance) {
    if (!(fabs(value - wanted) <= tolerance)) {
        print_error("%.8g, wanted %.8g within %g\n", value, wanted, tolerance);
    }
    assert_true(fabs(value - wanted) <= tolerance);
}

static inline void assert_between(double value, double low, double high) {
    if (!(value >= low && value <= high)) {
        print_error("%.8g, wanted %.8g to %.8g\n", value, low, high);
    }
    assert_true(value >= low && value <= high);
}

#endif
