// SPDX-License-Identifier: GPL-3.0-or-later
// Loops that a pump drives round while their pressure hangs on a trickle: found, and found to be right by
// holding one of their nodes a little above and below.
#include "random.h"
#include "net.h"

#include <string.h>

enum { NODES = 7, LINKS = 9, LOOP_IN = 3 };

/// A frozen feed of thick oil, a lift pump that starves on it, and a distributor pump whose transfer stage
/// drives its own short return; `feed` and `demand` are shares of what such a rig of the random ones had.
static void starving_loop(uint64_t *seed, OwFlowNode nodes[NODES], OwLink links[LINKS]) {
    const OwFlowNode some[NODES] = {FIXED(1242.0), FREE, FREE, FREE, FREE, FREE, FREE};
    memcpy(nodes, some, sizeof some);
    const double feed = random_log(seed, 0.5, 2.0), demand = random_log(seed, 0.3, 3.0);
    const OwLink made[LINKS] = {
        {.law = OW_LINK_DARCY, .from = 0, .to = 1, .linear_pa_s_m3 = 5.4e13 * feed},
        {.law = OW_LINK_LIFT, .from = 1, .to = 2, .drive = 2e-5, .set_pa = 25e3, .square_pa_s2_m6 = 9.5e12},
        {.law = OW_LINK_DARCY, .from = 2, .to = LOOP_IN, .linear_pa_s_m3 = 7.3e12 * feed},
        {.law = OW_LINK_PIPE, .from = LOOP_IN, .to = 4, .linear_pa_s_m3 = 1e6, .square_pa_s2_m6 = 4.8e10},
        {.law = OW_LINK_TRANSFER, .from = 4, .to = 5, .drive = random_log(seed, 3e-6, 3e-5)},
        {.law = OW_LINK_CHECK, .from = 4, .to = 5, .set_pa = 5e3, .square_pa_s2_m6 = 3.8e13},
        {.law = OW_LINK_CHECK, .from = 5, .to = 6, .square_pa_s2_m6 = 2.7e14},
        {.law = OW_LINK_PIPE, .from = 6, .to = LOOP_IN, .linear_pa_s_m3 = 5.2e8, .square_pa_s2_m6 = 4.6e10},
        {.law = OW_LINK_DEMAND, .from = 5, .to = -1, .drive = 1.8e-9 * demand},
    };
    memcpy(links, made, sizeof made);
    for (int n = 1; n < NODES; n++) {
        nodes[n].pressure_pa = random_between(seed, -101e3, 50e3);
    }
}

/// What flows into the loop when its inlet is held at a pressure, all else solved from the given start.
static double inflow_at(double pa, const OwFlowNode *solved, const OwLink *links) {
    OwFlowNode nodes[NODES];
    OwLink held[LINKS];
    memcpy(nodes, solved, sizeof nodes);
    memcpy(held, links, sizeof held);
    nodes[LOOP_IN].is_fixed = true;
    nodes[LOOP_IN].pressure_pa = pa;
    solve_net(nodes, NODES, held, LINKS);
    double sum = 0.0;
    for (int k = 0; k < LINKS; k++) {
        sum += (held[k].from == LOOP_IN ? 1.0 : 0.0) * held[k].flow_m3_s;
        sum -= (held[k].to == LOOP_IN ? 1.0 : 0.0) * held[k].flow_m3_s;
    }
    return sum;
}

static void starving_loop_finds_its_level(void **state) {
    (void)state;
    uint64_t seed = 77;
    int most = 0, slow = 0;
    long all = 0;
    enum { RUNS = 1500 };
    for (int i = 0; i < RUNS; i++) {
        OwFlowNode nodes[NODES];
        OwLink links[LINKS];
        starving_loop(&seed, nodes, links);
        OwArena *arena = ow_arena_create();
        OwFlowNet *net = NULL;
        assert_int_equal(ow_flow_create(nodes, NODES, links, LINKS, arena, &net), OW_OK);
        assert_int_equal(ow_flow_solve(net), OW_OK);
        const int count = ow_flow_iterations(net);
        most = count > most ? count : most;
        all += count;
        slow += count > 1000;
        // Higher it would have to be fed, lower it would have to be bled: the level lies between.
        const double away_pa = 300.0;
        const double level_pa = nodes[LOOP_IN].pressure_pa;
        const double above = inflow_at(level_pa + away_pa, nodes, links),
                     below = inflow_at(level_pa - away_pa, nodes, links);
        double left = 3e-12; // as the solve leaves at most, and what this one says it left
        for (int n = 0; n < NODES; n++) {
            left += fabs(nodes[n].imbalance_m3_s);
        }
        if (!(above > -left && below < left)) {
            fail_msg("run %d: %.6g Pa, inflow %.3g above and %.3g below", i, level_pa, above, below);
        }
        ow_arena_destroy(&arena);
    }
    print_message("%d starving loops, %.1f iterations each, %d beyond 1000, at most %d\n", RUNS,
                  (double)all / RUNS, slow, most);
    // Proximal points alone took 178 each, one in fourteen beyond a thousand, and left one in fifty unsolved
    // or short of its level.
    assert_true(all < 100L * RUNS);
    assert_true(slow <= RUNS / 200);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(starving_loop_finds_its_level)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
