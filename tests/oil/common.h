// SPDX-License-Identifier: GPL-3.0-or-later
// What the oil tests share.
#ifndef OILWRIGHT_TEST_OIL_COMMON_H
#define OILWRIGHT_TEST_OIL_COMMON_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "oilwright/oil.h"

#define assert_near(got, want, tolerance) near_at((got), (want), (tolerance), __FILE__, __LINE__)
static inline void near_at(double got, double want, double tolerance, const char *file, int line) {
    if (!(fabs(got - want) <= tolerance)) {
        print_error("got %.9g, want %.9g within %.3g\n", got, want, tolerance);
        _fail(file, line);
    }
}

/// Study of a spec that must be good; on the heap.
static inline OwOilStudy *study_of(const OwOilSpec *spec) {
    OwOilStudy *study = calloc(1, sizeof *study);
    assert_non_null(study);
    OwFaults faults = {0};
    const OwStatus status = ow_oil_study(spec, study, &faults);
    if (status != OW_OK && faults.count) {
        print_error("%s\n", faults.items[0].message);
    }
    ow_faults_clear(&faults);
    assert_int_equal(status, OW_OK);
    return study;
}

static inline void study_free(OwOilStudy *study) {
    ow_oil_study_clear(study);
    free(study);
}

static inline OwFluid *fluid_of(const char *name) {
    OwOilSpec spec = {0};
    snprintf(spec.name, sizeof spec.name, "%s", name);
    OwFluid *fluid = calloc(1, sizeof *fluid);
    assert_non_null(fluid);
    assert_int_equal(ow_oil_make(&spec, fluid, NULL), OW_OK);
    return fluid;
}

static inline OwViscosityPoint at(double celsius, double mm2_s) {
    return (OwViscosityPoint){celsius + 273.15, 1e-6 * mm2_s};
}

#endif
