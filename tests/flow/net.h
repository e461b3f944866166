// SPDX-License-Identifier: GPL-3.0-or-later
// For tests: a small network with its arena, solved in one call.
#ifndef OILWRIGHT_TESTS_FLOW_NET_H
#define OILWRIGHT_TESTS_FLOW_NET_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "oilwright/flow.h"

#include <math.h>

#define FIXED(pressure)                                                                                      \
    { .is_fixed = true, .pressure_pa = (pressure), .air_solubility = 0.1 }
#define FREE                                                                                                 \
    { .air_solubility = 0.1 }

#define assert_near(value, wanted, tolerance)                                                                \
    do {                                                                                                     \
        const double near_value = (value), near_wanted = (wanted);                                           \
        if (!(fabs(near_value - near_wanted) <= (tolerance))) {                                              \
            fail_msg("%s = %.15g, not %.15g", #value, near_value, near_wanted);                              \
        }                                                                                                    \
    } while (0)
#define assert_ratio(value, wanted, tolerance) assert_near((value) / (wanted), 1.0, tolerance)

static inline void solve_net(OwFlowNode *nodes, int node_count, OwLink *links, int link_count) {
    OwArena *arena = ow_arena_create();
    OwFlowNet *net = NULL;
    assert_non_null(arena);
    assert_int_equal(ow_flow_create(nodes, node_count, links, link_count, arena, &net), OW_OK);
    assert_int_equal(ow_flow_solve(net), OW_OK);
    ow_arena_destroy(&arena);
}

#endif
