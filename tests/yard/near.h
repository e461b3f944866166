// SPDX-License-Identifier: GPL-3.0-or-later
// What the yard's tests share: comparison of numbers, a generator, oils.
#ifndef OILWRIGHT_TEST_YARD_NEAR_H
#define OILWRIGHT_TEST_YARD_NEAR_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "oilwright/yard.h"

#define PI 3.14159265358979323846
#define C(t) ((t) + 273.15)

/// Fails unless value is within `share` of the expected one.
#define near(value, expected, share) near_at((value), (expected), (share), #value, __FILE__, __LINE__)
static inline void near_at(double value, double expected, double share, const char *text, const char *file,
                           int line) {
    if (!(fabs(value - expected) <= share * fabs(expected))) {
        print_error("%s:%d: %s = %.9g, expected %.9g within %.2g of it\n", file, line, text, value, expected,
                    share);
        _fail(file, line);
    }
}

/// xorshift64*, even in 0..1.
static inline double even(uint64_t *state) {
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return (double)((*state * 0x2545F4914F6CDD1Dull) >> 11) * 0x1p-53;
}
static inline double between(uint64_t *state, double low, double high) {
    return low + (high - low) * even(state);
}

/// A named oil; `fluid` is large, keep it static.
static inline void make_oil(const char *name, OwFluid *fluid) {
    OwOilSpec spec = {0};
    OwFaults faults = {0};
    snprintf(spec.name, sizeof spec.name, "%s", name);
    const OwStatus status = ow_oil_make(&spec, fluid, &faults);
    ow_faults_clear(&faults);
    assert_int_equal(status, OW_OK);
}

/// A made-up fluid of constant properties.
static inline void make_plain(double viscosity_pa_s, double density_kg_m3, OwFluid *fluid) {
    *fluid = (OwFluid){.name = "plain", .valid_low_k = 200.0, .valid_high_k = 500.0};
    for (int i = 0; i < OW_CURVE_POINTS; i++) {
        fluid->density_kg_m3.c[i][0] = density_kg_m3;
        fluid->kinematic_m2_s.c[i][0] = viscosity_pa_s / density_kg_m3;
        fluid->specific_heat_j_kgk.c[i][0] = 2000.0;
        fluid->conductivity_w_mk.c[i][0] = 0.17;
    }
}

#endif
