// SPDX-License-Identifier: GPL-3.0-or-later
// Published viscosities that the oil module is held against.
#ifndef OILWRIGHT_TEST_PUBLISHED_H
#define OILWRIGHT_TEST_PUBLISHED_H

#include "oilwright/oil.h"

typedef enum PublishedUse {
    PUBLISHED_TUNED,   ///< the profile models were fitted to it
    PUBLISHED_OWN,     ///< held back, with the sample's own profile
    PUBLISHED_TYPICAL, ///< held back, profile typical of the kind
    PUBLISHED_NONE,    ///< held back, no profile
    PUBLISHED_COLD     ///< below 20 degC; used once, to see which law runs low in the cold
} PublishedUse;

#define PUBLISHED_POINTS 10
typedef struct Published {
    const char *oil, *source;
    PublishedUse use;
    double profile[OW_ACID_COUNT];
    double points[PUBLISHED_POINTS][2]; ///< degC, mm2/s; ends at 0
} Published;
extern const Published published[];
extern const int published_count;

static inline int published_points(const Published *p) {
    int n = 0;
    while (n < PUBLISHED_POINTS && p->points[n][1] > 0.0) {
        ++n;
    }
    return n;
}

#endif
