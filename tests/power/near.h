// SPDX-License-Identifier: GPL-3.0-or-later
// The few assertions that the power tests share.
#ifndef OW_TEST_POWER_NEAR_H
#define OW_TEST_POWER_NEAR_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>

#define assert_near(got, want, tolerance) assert_near_at(got, want, tolerance, __FILE__, __LINE__)

static inline void assert_near_at(double got, double want, double tolerance, const char *file, int line) {
    if (!(fabs(got - want) <= tolerance)) {
        print_error("%s:%d: got %.9g, want %.9g within %.3g\n", file, line, got, want, tolerance);
        fail();
    }
}

#endif
