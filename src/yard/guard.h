// SPDX-License-Identifier: GPL-3.0-or-later
// Guards of the yard's laws: numbers held in a range, answers filled.
#ifndef OILWRIGHT_YARD_GUARD_H
#define OILWRIGHT_YARD_GUARD_H

#include "oilwright/yard.h"

#include <math.h>

/// x held between low and high; NaN gives low.
static inline double ow_hold(double x, double low, double high) {
    return !(x > low) ? low : x > high ? high : x;
}
/// x when it is a positive finite number, else `other`.
static inline double ow_positive(double x, double other) {
    return x > 0.0 && isfinite(x) ? x : other;
}
/// A positive number no larger than `most`, else 0.
static inline double ow_up_to(double x, double most) {
    return x > 0.0 ? (x < most ? x : most) : 0.0;
}
static inline bool ow_is_positive(double x) {
    return x > 0.0 && isfinite(x);
}

/// An answer without a time; text like printf.
OwYardTime ow_yard_answer(OwReach reach, const char *format, ...) __attribute__((format(printf, 2, 3)));
/// After a time; not a number or beyond ten years gives NEVER.
OwYardTime ow_yard_after(double time_s);

/// "60 °C (140 °F)": the laws' sentences do not know the reader's units.
typedef struct OwDegrees {
    char text[40];
} OwDegrees;
OwDegrees ow_degrees(double temperature_k);

#define OW_PI 3.14159265358979323846
#define OW_YARD_LONGEST_S (10.0 * 365.25 * 86400.0)

#endif
