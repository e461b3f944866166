// SPDX-License-Identifier: GPL-3.0-or-later
// What the two check programs share: counting of differences and coverage, and the study of a published oil.
#ifndef OILWRIGHT_TEST_OIL_TALLY_H
#define OILWRIGHT_TEST_OIL_TALLY_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "checks.h"
#include "published.h"

typedef struct Tally {
    int count, covered;
    double square, sum;
} Tally;

static inline void tally(Tally *t, double published_value, double ours, bool is_covered) {
    const double e = ours / published_value - 1.0;
    ++t->count;
    t->square += e * e;
    t->sum += e;
    t->covered += is_covered;
}

static inline double rms(const Tally *t) {
    return t->count ? 100.0 * sqrt(t->square / t->count) : 0.0;
}

static inline void say(const char *format, ...) __attribute__((format(printf, 1, 2)));
static inline void say(const char *format, ...) {
    char text[512];
    va_list list;
    va_start(list, format);
    vsnprintf(text, sizeof text, format, list);
    va_end(list);
    checks_text(text);
    print_message("%s\n", text);
}

static inline bool in_band(const OwOilValue *band, double mm2_s) {
    return 1e6 * band->low <= mm2_s && mm2_s <= 1e6 * band->high;
}

/// Study of a published oil from its profile and the chosen readings.
static inline void study_of(const Published *p, const int *reading, int count, OwOilStudy *study) {
    OwOilSpec spec = {0};
    strcpy(spec.name, "sample");
    memcpy(spec.profile, p->profile, sizeof spec.profile);
    for (int i = 0; i < count; ++i) {
        spec.points[i] =
            (OwViscosityPoint){p->points[reading[i]][0] + 273.15, 1e-6 * p->points[reading[i]][1]};
        // Standard error of a table value: 2.5 %, and its rounding.
        spec.point_error[i] = hypot(0.025, 0.2887 / p->points[reading[i]][1]);
    }
    spec.point_count = count;
    OwFaults faults = {0};
    const OwStatus status = ow_oil_study(&spec, study, &faults);
    if (status != OW_OK) {
        print_error("%s: %s\n", p->oil, faults.count ? faults.items[0].message : "?");
    }
    ow_faults_clear(&faults);
    assert_int_equal(status, OW_OK);
}

#endif
