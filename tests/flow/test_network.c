// SPDX-License-Identifier: GPL-3.0-or-later
// Networks against closed forms, bisection and random ones of any laws.
#include "random.h"
#include "net.h"

#include <string.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof(array)[0]))

/// Hagen-Poiseuille: 128 nu rho L / (pi D^4).
static double poiseuille(double kinematic_m2_s, double density_kg_m3, double length_m, double bore_m) {
    return 128.0 * kinematic_m2_s * density_kg_m3 * length_m / (3.14159265358979323846 * pow(bore_m, 4.0));
}

static OwLink pipe_of(int from, int to, double kinematic_m2_s, double length_m, double bore_m) {
    return (OwLink){.law = OW_LINK_PIPE,
                    .from = from,
                    .to = to,
                    .bore_m = bore_m,
                    .kinematic_m2_s = kinematic_m2_s,
                    .density_kg_m3 = 920.0,
                    .linear_pa_s_m3 = poiseuille(kinematic_m2_s, 920.0, length_m, bore_m)};
}

static void laminar_in_series_and_parallel(void **state) {
    (void)state;
    OwFlowNode nodes[] = {FIXED(3e4), FREE, FREE, FIXED(0.0)};
    OwLink links[] = {pipe_of(0, 1, 8e-5, 2.0, 0.008), pipe_of(1, 2, 8e-5, 1.0, 0.006),
                      pipe_of(1, 2, 8e-5, 1.0, 0.010), pipe_of(2, 3, 8e-5, 3.0, 0.010)};
    solve_net(nodes, COUNT(nodes), links, COUNT(links));
    const double r0 = poiseuille(8e-5, 920, 2.0, 0.008), r1 = poiseuille(8e-5, 920, 1.0, 0.006);
    const double r2 = poiseuille(8e-5, 920, 1.0, 0.010), r3 = poiseuille(8e-5, 920, 3.0, 0.010);
    const double both = r1 * r2 / (r1 + r2), q = 3e4 / (r0 + both + r3);
    assert_ratio(links[0].flow_m3_s, q, 1e-12);
    assert_ratio(links[1].flow_m3_s, q * both / r1, 1e-12);
    assert_ratio(links[2].flow_m3_s, q * both / r2, 1e-12);
    assert_ratio(nodes[1].pressure_pa, 3e4 - q * r0, 1e-12);
    assert_ratio(links[3].drop_pa, q * r3, 1e-12);
}

static void darcy_media_add_up(void **state) {
    (void)state;
    OwFlowNode nodes[] = {FIXED(2e4), FREE, FREE, FIXED(0.0)};
    OwLink links[] = {
        {.law = OW_LINK_DARCY, .from = 0, .to = 1, .linear_pa_s_m3 = 1e9},
        {.law = OW_LINK_DARCY, .from = 1, .to = 2, .linear_pa_s_m3 = 2.5e8, .square_pa_s2_m6 = 3e13},
        {.law = OW_LINK_DARCY, .from = 2, .to = 3, .linear_pa_s_m3 = 4e9, .square_pa_s2_m6 = 1e13}};
    solve_net(nodes, COUNT(nodes), links, COUNT(links));
    const double r = 1e9 + 2.5e8 + 4e9, s = 4e13, q = 2.0 * 2e4 / (r + sqrt(r * r + 4.0 * s * 2e4));
    for (int k = 0; k < COUNT(links); k++) {
        assert_ratio(links[k].flow_m3_s, q, 1e-9);
    }
}

static void reverse_flow_is_the_mirror(void **state) {
    (void)state;
    double forward = 0.0;
    for (int turn = 0; turn < 2; turn++) {
        OwFlowNode nodes[] = {FIXED(turn ? 0.0 : 5e4), FREE, FIXED(turn ? 5e4 : 0.0)};
        OwLink links[] = {pipe_of(0, 1, 1e-6, 1.0, 0.006), pipe_of(1, 2, 1e-6, 1.0, 0.006)};
        links[0].square_pa_s2_m6 = links[1].square_pa_s2_m6 = 1e12;
        solve_net(nodes, COUNT(nodes), links, COUNT(links));
        forward = turn ? forward : links[0].flow_m3_s;
        assert_true(forward > 1e-5);
        assert_ratio(links[0].flow_m3_s, turn ? -forward : forward, 1e-9);
        assert_near(nodes[1].pressure_pa, 2.5e4, 1e-3);
    }
}

static void turbulent_pipe_meets_bisection(void **state) {
    (void)state;
    OwFlowNode nodes[] = {FIXED(1e5), FREE, FIXED(0.0)};
    OwLink links[] = {pipe_of(0, 1, 1e-6, 2.0, 0.008),
                      {.law = OW_LINK_DARCY, .from = 1, .to = 2, .linear_pa_s_m3 = 1e8}};
    links[0].roughness_m = 5e-5;
    solve_net(nodes, COUNT(nodes), links, COUNT(links));
    double low = 0.0, high = 1e-3;
    for (int i = 0; i < 200; i++) {
        const double q = 0.5 * (low + high), re = 4.0 * q / (3.14159265358979323846 * 0.008 * 1e-6);
        const double area = 3.14159265358979323846 * 0.008 * 0.008 / 4.0, v = q / area;
        const double drop =
            ow_flow_friction(re, 5e-5 / 0.008) * (2.0 / 0.008) * 920.0 * v * v / 2.0 + 1e8 * q;
        *(drop > 1e5 ? &high : &low) = q;
    }
    assert_ratio(links[0].flow_m3_s, low, 1e-9);
}

static void pump_line_meets_system_line(void **state) {
    (void)state;
    for (double drive = 0.3; drive < 1.05; drive += 0.1) {
        OwFlowNode nodes[] = {FIXED(0.0), FREE, FIXED(0.0)};
        OwLink links[] = {
            {.law = OW_LINK_PUMP,
             .from = 0,
             .to = 1,
             .drive = drive,
             .stall_pa = 4e4,
             .free_flow_m3_s = 4e-5},
            {.law = OW_LINK_DARCY, .from = 1, .to = 2, .linear_pa_s_m3 = 2e9, .static_pa = 3e3}};
        solve_net(nodes, COUNT(nodes), links, COUNT(links));
        assert_ratio(links[0].flow_m3_s, (drive * 4e4 - 3e3) / (4e4 / 4e-5 + 2e9), 1e-8);
        assert_ratio(nodes[1].pressure_pa, 3e3 + 2e9 * links[0].flow_m3_s, 1e-9);
    }
}

static void pump_curve_passes_its_points(void **state) {
    (void)state;
    const double flow[] = {0.0, 1e-5, 2e-5, 3e-5, 3.5e-5}, pa[] = {6e4, 5.5e4, 4e4, 1.5e4, 0.0};
    for (int i = 1; i < 4; i++) {
        // A resistance that needs just the pressure of point i at its flow: the working point is the point.
        OwFlowNode nodes[] = {FIXED(0.0), FREE, FIXED(0.0)};
        OwLink links[] = {
            {.law = OW_LINK_PUMP, .from = 0, .to = 1, .drive = 1.0, .curve_count = 5},
            {.law = OW_LINK_DARCY, .from = 1, .to = 2, .linear_pa_s_m3 = pa[i] / flow[i] - 1e4}};
        memcpy(links[0].curve_flow_m3_s, flow, sizeof flow);
        memcpy(links[0].curve_pa, pa, sizeof pa);
        solve_net(nodes, COUNT(nodes), links, COUNT(links)); // the pump's own least resistance is 1e4
        assert_ratio(links[0].flow_m3_s, flow[i], 1e-8);
        // At part speed n the curve is n h(Q / n): the same resistance meets it at n Q.
        links[0].drive = 0.6;
        solve_net(nodes, COUNT(nodes), links, COUNT(links));
        assert_ratio(links[0].flow_m3_s, 0.6 * flow[i], 1e-8);
    }
}

static void all_at_rest_is_hydrostatic(void **state) {
    (void)state;
    OwFlowNode nodes[] = {FIXED(0.0), FREE, FREE, FREE, FREE, FREE};
    OwLink links[] = {
        pipe_of(0, 1, 5e-4, 2.0, 0.008),
        {.law = OW_LINK_PUMP, .from = 1, .to = 2, .passes_when_off = true, .linear_pa_s_m3 = 1e9},
        pipe_of(2, 3, 5e-4, 2.0, 0.008),
        {.law = OW_LINK_TRANSFER, .from = 3, .to = 4},
        {.law = OW_LINK_DEMAND, .from = 4, .to = -1},
        {.law = OW_LINK_CLOSED, .from = 4, .to = 5},
        {.law = OW_LINK_RELIEF, .from = 4, .to = 0, .set_pa = 5e4, .linear_pa_s_m3 = 1e9}};
    links[0].static_pa = -2e3;
    links[2].static_pa = 6e3;
    solve_net(nodes, COUNT(nodes), links, COUNT(links));
    for (int k = 0; k < COUNT(links); k++) {
        assert_near(links[k].flow_m3_s, 0.0, 1e-13);
    }
    assert_near(nodes[1].pressure_pa, 2e3, 1e-3);
    // Behind the pump's check valve the pressure may be trapped, never less than before it.
    assert_true(nodes[2].pressure_pa > 2e3 - 1.0);
    assert_near(nodes[2].pressure_pa - nodes[3].pressure_pa, 6e3, 1.0);
}

static void closed_everywhere_stays_determined(void **state) {
    (void)state;
    OwFlowNode nodes[] = {FIXED(1e4), FREE, FREE, FREE};
    OwLink links[] = {{.law = OW_LINK_CLOSED, .from = 0, .to = 1},
                      {.law = OW_LINK_DARCY, .from = 1, .to = 2, .linear_pa_s_m3 = 1e6},
                      {.law = OW_LINK_CLOSED, .from = 2, .to = 3}};
    solve_net(nodes, COUNT(nodes), links, COUNT(links));
    for (int i = 0; i < COUNT(nodes); i++) {
        assert_true(isfinite(nodes[i].pressure_pa));
        assert_true(nodes[i].pressure_pa >= -1.0 && nodes[i].pressure_pa <= 10001.0);
    }
}

static void relief_holds_the_pressure(void **state) {
    (void)state;
    OwFlowNode nodes[] = {FIXED(0.0), FREE};
    OwLink links[] = {{.law = OW_LINK_TRANSFER, .from = 0, .to = 1, .drive = 2e-5},
                      {.law = OW_LINK_RELIEF, .from = 1, .to = 0, .set_pa = 6e4, .linear_pa_s_m3 = 1e9}};
    solve_net(nodes, COUNT(nodes), links, COUNT(links));
    assert_ratio(nodes[1].pressure_pa, 6e4 + 1e9 * 2e-5, 1e-7);
}

static void long_cold_hose_starves_the_pump(void **state) {
    (void)state;
    // 5 m of 8 mm hose with oil of 1500 mm2/s: full flow would need twenty times the atmosphere.
    const double r = poiseuille(1.5e-3, 920.0, 5.0, 0.008), drive = 2e-5;
    OwFlowNode nodes[] = {FIXED(0.0), FREE, FIXED(0.0)};
    OwLink links[] = {pipe_of(0, 1, 1.5e-3, 5.0, 0.008),
                      {.law = OW_LINK_TRANSFER, .from = 1, .to = 2, .drive = drive}};
    solve_net(nodes, COUNT(nodes), links, COUNT(links));
    double low = -OW_ATMOSPHERE_PA, high = 0.0; // Henry's law written out: -p / r = drive * fill(p)
    for (int i = 0; i < 200; i++) {
        const double p = 0.5 * (low + high), a = p + OW_ATMOSPHERE_PA, fill = 1.0 / (1.0 - 0.1 * p / a);
        *(-p / r > drive * fill ? &low : &high) = p;
    }
    assert_true(low < -OW_ATMOSPHERE_PA + 5e4 && low > -OW_ATMOSPHERE_PA + 500.0);
    assert_near(nodes[1].pressure_pa, low, 1e-2);
    assert_ratio(links[1].flow_m3_s, -low / r, 1e-6);
    assert_true(links[1].flow_m3_s < 0.2 * drive);
}

static void one_unknown_meets_its_bracket(void **state) {
    (void)state;
    uint64_t random = UINT64_C(0x2545F4914F6CDD1D);
    for (int t = 0; t < 2000; t++) {
        OwFlowNode nodes[] = {FIXED(random_between(&random, -2e4, 5e4)), FREE,
                              FIXED(random_between(&random, -2e4, 5e4))};
        OwLink links[2] = {{.law = OW_LINK_PIPE, .from = 0, .to = 1},
                           {.law = OW_LINK_DARCY, .from = 1, .to = 2}};
        random_coefficients(&random, &links[0]);
        random_coefficients(&random, &links[1]);
        links[1].linear_pa_s_m3 = fmax(links[1].linear_pa_s_m3, 1e6);
        solve_net(nodes, 3, links, 2);
        double low = -1e-1, high = 1e-1; // flow by bisection on the sum of the drops
        for (int i = 0; i < 200; i++) {
            const double q = 0.5 * (low + high),
                         sum = ow_flow_drop(&links[0], q, NULL) + ow_flow_drop(&links[1], q, NULL);
            *(sum > nodes[0].pressure_pa - nodes[2].pressure_pa ? &high : &low) = q;
        }
        assert_near(links[0].flow_m3_s, low, 2e-12 + 1e-9 * fabs(low));
    }
}

static void random_networks_all_converge(void **state) {
    (void)state;
    uint64_t random = UINT64_C(0x9E3779B97F4A7C15);
    int most = 0;
    for (int t = 0; t < 20000; t++) {
        RandomNet made;
        OwFlowNet *net = NULL;
        random_net(&random, &made);
        OwArena *arena = ow_arena_create();
        assert_non_null(arena);
        assert_int_equal(
            ow_flow_create(made.nodes, made.node_count, made.links, made.link_count, arena, &net), OW_OK);
        if (ow_flow_solve(net) != OW_OK) {
            int node, link;
            ow_flow_worst(net, &node, &link);
            fail_msg("network %d: node %d, link %d, imbalance %g", t, node, link,
                     made.nodes[node].imbalance_m3_s);
        }
        most = ow_flow_iterations(net) > most ? ow_flow_iterations(net) : most;
        double out[MOST_NODES] = {0.0}, largest = 0.0;
        for (int k = 0; k < made.link_count; k++) {
            const OwLink *link = &made.links[k];
            assert_true(isfinite(link->flow_m3_s) && isfinite(link->drop_pa));
            out[link->from] += link->flow_m3_s;
            if (link->to >= 0) {
                out[link->to] -= link->flow_m3_s;
            }
            largest = fmax(largest, fabs(link->flow_m3_s));
            // What draws more than leaks draws above vacuum. (A lift pump may also pass by, drawn from
            // behind.)
            const bool is_suction =
                link->law == OW_LINK_PUMP || link->law == OW_LINK_TRANSFER || link->law == OW_LINK_DEMAND;
            if (is_suction && link->drive > 0.0 && link->flow_m3_s > 1e-10) {
                assert_true(made.nodes[link->from].pressure_pa > -OW_ATMOSPHERE_PA);
            }
        }
        for (int i = 0; i < made.node_count; i++) {
            assert_true(isfinite(made.nodes[i].pressure_pa) && fabs(made.nodes[i].pressure_pa) < 1e8);
            if (!made.nodes[i].is_fixed) { // 2e-11: what a hard network may leave
                assert_near(out[i], 0.0, fmax(2.1e-11, 1.1e-10 * largest));
            }
        }
        ow_arena_destroy(&arena);
    }
    assert_true(most <= 2200);
}

/// A pump that drives its own short return while its pressure hangs on a trickle through a shut-in feed: the
/// feed gives what is burned, so the inlet stands at -R_feed d; the pump gives its displacement times the
/// fill there, and the return brings all but d back. By hand for any size, from any start.
static void loop_on_a_trickle_by_hand(void **state) {
    (void)state;
    uint64_t seed = 41;
    int most = 0, found = 0;
    long all = 0;
    for (int i = 0; i < 4000; i++) {
        const double burned = pow(10.0, random_between(&seed, -10.0, -8.0));
        const double inlet_pa = -random_between(&seed, 1e3, 95e3);
        const double displacement = pow(10.0, random_between(&seed, -6.0, -4.0));
        const double fill = ow_flow_fill(inlet_pa, 0.1, NULL);
        const double outlet_pa = random_between(&seed, 1.0, 15e5);
        const double back = displacement * fill - burned;
        if (back < 10.0 * burned) {
            continue;
        }
        OwFlowNode nodes[] = {FIXED(0), FREE, FREE, FREE};
        OwLink links[] = {
            {.law = OW_LINK_DARCY, .from = 0, .to = 1, .linear_pa_s_m3 = -inlet_pa / burned},
            {.law = OW_LINK_TRANSFER, .from = 1, .to = 2, .drive = displacement},
            {.law = OW_LINK_DARCY, .from = 2, .to = 3, .linear_pa_s_m3 = 0.4 * (outlet_pa - inlet_pa) / back},
            {.law = OW_LINK_DARCY, .from = 3, .to = 1, .linear_pa_s_m3 = 0.6 * (outlet_pa - inlet_pa) / back},
            {.law = OW_LINK_DEMAND, .from = 2, .to = -1, .drive = burned},
        };
        for (int n = 1; n < 4; n++) {
            nodes[n].pressure_pa = random_between(&seed, -1e5, 1e6);
        }
        OwArena *arena = ow_arena_create();
        OwFlowNet *net = NULL;
        assert_int_equal(ow_flow_create(nodes, 4, links, 5, arena, &net), OW_OK);
        assert_int_equal(ow_flow_solve(net), OW_OK);
        // A balance to 1e-12 m3/s, or to 1e-10 of the greatest flow, at each of three nodes leaves that much
        // over the feed's resistance undecided.
        const double open_m3_s = 3.0 * fmax(1e-12, 1e-10 * displacement);
        const double open_pa = open_m3_s * -inlet_pa / burned + 1e-3;
        assert_near(nodes[1].pressure_pa, inlet_pa, open_pa);
        assert_near(links[1].flow_m3_s, displacement * ow_flow_fill(nodes[1].pressure_pa, 0.1, NULL),
                    1e-6 * displacement + 2e-12);
        const int count = ow_flow_iterations(net);
        most = count > most ? count : most;
        all += count;
        found++;
        ow_arena_destroy(&arena);
    }
    print_message("%d loops on a trickle, %.1f iterations each, at most %d\n", found, (double)all / found,
                  most);
    assert_true(found > 2000);
    assert_true(most <= 20);
}

static void a_solved_network_is_left_alone(void **state) {
    (void)state;
    OwFlowNode nodes[] = {FIXED(0.0), FREE, FREE};
    OwLink links[] = {pipe_of(0, 1, 8e-5, 2.0, 0.008),
                      pipe_of(1, 2, 8e-5, 1.0, 0.006),
                      {.law = OW_LINK_DEMAND, .from = 2, .to = -1, .drive = 1e-6}};
    OwArena *arena = ow_arena_create();
    OwFlowNet *net = NULL;
    assert_int_equal(ow_flow_create(nodes, COUNT(nodes), links, COUNT(links), arena, &net), OW_OK);
    assert_int_equal(ow_flow_solve(net), OW_OK);
    assert_true(ow_flow_iterations(net) > 0);
    const double before = nodes[2].pressure_pa;
    assert_int_equal(ow_flow_solve(net), OW_OK);
    assert_int_equal(ow_flow_iterations(net), 0);
    assert_near(nodes[2].pressure_pa, before, 0.0);
    ow_arena_destroy(&arena);
}

static void wrong_use_is_refused(void **state) {
    (void)state;
    OwArena *arena = ow_arena_create();
    OwFlowNet *net = NULL;
    OwFlowNode nodes[] = {FIXED(0.0), FREE};
    OwLink links[] = {{.law = OW_LINK_DARCY, .from = 0, .to = 2, .linear_pa_s_m3 = 1e9}};
    assert_int_equal(ow_flow_create(nodes, 2, links, 1, arena, &net), OW_ERROR_USE);
    assert_null(net);
    links[0].to = 0;
    assert_int_equal(ow_flow_create(nodes, 2, links, 1, arena, &net), OW_ERROR_USE);
    links[0].to = -1;
    assert_int_equal(ow_flow_create(nodes, 2, links, 1, arena, &net), OW_ERROR_USE);
    assert_int_equal(ow_flow_create(nodes, 0, links, 1, arena, &net), OW_ERROR_USE);
    links[0].to = 1;
    assert_int_equal(ow_flow_create(nodes, 2, links, 1, arena, &net), OW_OK);
    links[0].static_pa = NAN;
    assert_int_equal(ow_flow_solve(net), OW_ERROR_VALUE);
    int node, link;
    ow_flow_worst(net, &node, &link);
    assert_int_equal(link, 0);
    links[0].static_pa = 0.0;
    nodes[1].pressure_pa = INFINITY;
    assert_int_equal(ow_flow_solve(net), OW_ERROR_VALUE);
    ow_flow_worst(net, &node, &link);
    assert_int_equal(node, 1);
    ow_arena_destroy(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(laminar_in_series_and_parallel),
        cmocka_unit_test(darcy_media_add_up),
        cmocka_unit_test(reverse_flow_is_the_mirror),
        cmocka_unit_test(turbulent_pipe_meets_bisection),
        cmocka_unit_test(pump_line_meets_system_line),
        cmocka_unit_test(pump_curve_passes_its_points),
        cmocka_unit_test(all_at_rest_is_hydrostatic),
        cmocka_unit_test(closed_everywhere_stays_determined),
        cmocka_unit_test(relief_holds_the_pressure),
        cmocka_unit_test(long_cold_hose_starves_the_pump),
        cmocka_unit_test(one_unknown_meets_its_bracket),
        cmocka_unit_test(random_networks_all_converge),
        cmocka_unit_test(loop_on_a_trickle_by_hand),
        cmocka_unit_test(a_solved_network_is_left_alone),
        cmocka_unit_test(wrong_use_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
