// SPDX-License-Identifier: GPL-3.0-or-later
// What the tests of the money module share.
#ifndef OW_TEST_MONEY_COMMON_H
#define OW_TEST_MONEY_COMMON_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "oilwright/money.h"

#define check_near(got, wanted, tolerance)                                                                   \
    do {                                                                                                     \
        const double got_ = (got), wanted_ = (wanted);                                                       \
        if (!(fabs(got_ - wanted_) <= (tolerance))) {                                                        \
            print_message("%s: got %.12g, wanted %.12g\n", #got, got_, wanted_);                             \
        }                                                                                                    \
        assert_true(fabs(got_ - wanted_) <= (tolerance));                                                    \
    } while (0)

/// A plan with every input exact and every cost nought; life times as they are.
static inline OwCostPlan free_plan(void) {
    static const OwCostInput prices[] = {
        OW_COST_PURGE_DIESEL, OW_COST_DUTY,         OW_COST_OIL_PRICE,       OW_COST_PICKUP_RATE,
        OW_COST_PICKUP_TIME,  OW_COST_ENERGY_PRICE, OW_COST_YARD_TIME,       OW_COST_YARD_FILTERS,
        OW_COST_WASTE_FEE,    OW_COST_TESTS,        OW_COST_ADDITIVES,       OW_COST_EQUIPMENT,
        OW_COST_PERMITS,      OW_COST_PARTS,        OW_COST_CONVERSION_TIME, OW_COST_FILTER_PRICE,
        OW_COST_LUBE_PRICE,   OW_COST_UPKEEP,       OW_COST_UPKEEP_TIME,     OW_COST_RISK_CHANCE,
        OW_COST_RESALE_LOSS,  OW_COST_GROWTH,
    };
    OwCostPlan plan;
    ow_cost_default(&plan);
    for (int i = 0; i < OW_COST_INPUTS; i++) {
        plan.inputs[i].spread = OW_COST_PLAIN;
    }
    for (size_t i = 0; i < sizeof prices / sizeof prices[0]; i++) {
        plan.inputs[prices[i]].value = 0.0;
    }
    return plan;
}

/// splitmix64, 0 to 1.
static inline double random_share(uint64_t *state) {
    uint64_t z = (*state += 0x9E3779B97F4A7C15u);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return (double)((z ^ (z >> 31)) >> 11) * 0x1p-53;
}

#endif
