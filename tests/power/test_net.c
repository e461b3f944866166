// SPDX-License-Identifier: GPL-3.0-or-later
// The network solver: analytic circuits, odd networks explained, ten thousand random networks.
#include "near.h"

#include <stdio.h>
#include <string.h>

#include "oilwright/power.h"

static OwBranch resistance(int from, int to, double ohm) {
    return (OwBranch){.law = OW_BRANCH_RESISTANCE, .from = from, .to = to, .resistance_ohm = ohm};
}

static OwBranch battery(int plus, int minus, double volts, double ohm) {
    return (OwBranch){
        .law = OW_BRANCH_BATTERY, .from = plus, .to = minus, .source_v = volts, .resistance_ohm = ohm};
}

static OwNet *solved(OwNode *nodes, int n, OwBranch *branches, int m, OwArena *arena) {
    OwNet *net;
    assert_int_equal(ow_net_create(nodes, n, branches, m, arena, &net), OW_OK);
    assert_int_equal(ow_net_solve(net), OW_OK);
    return net;
}

// Unbalanced bridge, by hand (mesh equations): 10 V over arms 1, 2 / 3, 4 ohm with 5 ohm across.
static void bridge(void **state) {
    (void)state;
    OwArena *arena = ow_arena_create();
    OwNode nodes[4] = {{"earth"}, {"top"}, {"left"}, {"right"}};
    OwBranch b[] = {battery(1, 0, 10.0, 1e-6), resistance(1, 2, 1.0), resistance(2, 0, 2.0),
                    resistance(1, 3, 3.0),     resistance(3, 0, 4.0), resistance(2, 3, 5.0)};
    solved(nodes, 4, b, 6, arena);
    // left: (10-l)/1 = l/2 + (l-r)/5; right: (10-r)/3 + (l-r)/5 = r/4. Linear pair solved by Cramer's rule.
    const double a11 = 1.0 + 0.5 + 0.2, a12 = -0.2, a22 = 1.0 / 3 + 0.25 + 0.2, y1 = 10.0, y2 = 10.0 / 3;
    const double det = a11 * a22 - a12 * a12;
    assert_near(nodes[2].volt_v, (y1 * a22 - a12 * y2) / det, 2e-5);
    assert_near(nodes[3].volt_v, (a11 * y2 - a12 * y1) / det, 2e-5);
    ow_arena_destroy(&arena);
}

// Two batteries in parallel on one load (Millman 1940): V = sum(E/R) / (sum(1/R) + 1/load); charging through
// another resistance.
static void two_batteries(void **state) {
    (void)state;
    OwArena *arena = ow_arena_create();
    OwNode nodes[2] = {{"earth"}, {"plus"}};
    OwBranch b[] = {battery(1, 0, 12.6, 0.01), battery(1, 0, 12.0, 0.02), resistance(1, 0, 0.5)};
    solved(nodes, 2, b, 3, arena);
    assert_near(nodes[1].volt_v, (12.6 / 0.01 + 12.0 / 0.02) / (100.0 + 50.0 + 2.0), 1e-9);
    b[1].take_ohm = 0.2; // the weak one takes charge: its resistance is then another
    OwNet *net = solved(nodes, 2, b, 3, arena);
    assert_near(nodes[1].volt_v, (12.6 / 0.01 + 12.0 / 0.2) / (100.0 + 5.0 + 2.0), 1e-9);
    assert_true(b[1].current_a > 0.0 && b[0].current_a < 0.0);
    assert_int_equal(ow_net_explain(net, NULL, 0), 0);
    ow_arena_destroy(&arena);
}

// The alternator holds its set volts less the droop while it can, and gives its limit when it cannot.
static void alternator(void **state) {
    (void)state;
    OwArena *arena = ow_arena_create();
    OwNode nodes[2] = {{"earth"}, {"plus"}};
    OwBranch b[] = {
        {.law = OW_BRANCH_ALTERNATOR, .from = 1, .to = 0, .source_v = 14.2, .droop_v = 0.2, .limit_a = 50.0},
        resistance(1, 0, 1.0)};
    solved(nodes, 2, b, 2, arena);
    double low = 14.0, high = 14.2; // by bisection on 50 x^2 (3 - 2 x) = v / 1 ohm
    for (int i = 0; i < 60; i++) {
        const double mid = 0.5 * (low + high), x = (14.2 - mid) / 0.2;
        if (50.0 * x * x * (3.0 - 2.0 * x) > mid) {
            low = mid;
        } else {
            high = mid;
        }
    }
    assert_near(nodes[1].volt_v, low, 1e-5);
    assert_true(nodes[1].volt_v > 14.1 && nodes[1].volt_v < 14.2);
    b[1].resistance_ohm = 0.1; // asks 140 A of 50
    solved(nodes, 2, b, 2, arena);
    assert_near(nodes[1].volt_v, 5.0, 1e-5);
    ow_arena_destroy(&arena);
}

static void laws_rise_and_slope_fits(void **state) {
    (void)state;
    OwBranch laws[] = {
        resistance(1, 0, 0.3),
        battery(1, 0, 12.0, 0.01),
        {.law = OW_BRANCH_ALTERNATOR, .source_v = 14.0, .droop_v = 0.3, .limit_a = 40.0},
        {.law = OW_BRANCH_MOTOR, .rated_v = 12.0, .limit_a = 4.0},
        {.law = OW_BRANCH_LAMP, .rated_v = 12.0, .limit_a = 5.0},
    };
    laws[1].take_ohm = 0.05;
    for (int k = 0; k < 5; k++) {
        double before = -INFINITY;
        for (double v = -20.03; v < 30.0; v += 0.0413) {
            double slope;
            const double i = ow_branch_current(&laws[k], v, &slope);
            assert_true(i > before && slope > 0.0);
            const double h = 1e-6;
            const double up = ow_branch_current(&laws[k], v + h, NULL),
                         down = ow_branch_current(&laws[k], v - h, NULL);
            assert_near((up - down) / (2 * h), slope, 1e-4 * slope + 1e-7); // 1e-7: rounding of 100 A over h
            before = i;
        }
    }
    assert_near(ow_branch_current(&laws[3], 12.0, NULL), 4.0, 1e-12);
    assert_near(ow_branch_current(&laws[4], 12.0, NULL), 5.0, 1e-12);
    assert_near(ow_branch_current(&laws[4], -6.0, NULL), -5.0 * pow(0.5, 0.55), 1e-12);
}

static void odd_networks_are_explained(void **state) {
    (void)state;
    OwArena *arena = ow_arena_create();
    OwNode nodes[5] = {{"earth"}, {"plus"}, {"load"}, {"lone"}, {"far"}};
    OwBranch b[] = {battery(1, 0, 12.6, 0.01), resistance(1, 2, 0.02), resistance(2, 0, 0.0001),
                    resistance(2, 3, 1.0), battery(4, 3, 6.0, 0.1)};
    b[3].is_open = true;
    OwNet *net = solved(nodes, 5, b, 5, arena);
    OwNote notes[8];
    assert_int_equal(ow_net_explain(net, notes, 8), 1);
    assert_int_equal(notes[0].trouble, OW_TROUBLE_FLOATING);
    assert_int_equal(notes[0].node, 3);
    assert_non_null(strstr(notes[0].text, "live by themselves"));
    assert_true(nodes[3].is_floating && nodes[4].is_floating && !nodes[2].is_floating);
    assert_near(nodes[4].volt_v, 6.0, 1e-9);
    b[1].resistance_ohm = 1e-4;
    assert_int_equal(ow_net_solve(net), OW_OK);
    assert_int_equal(ow_net_explain(net, notes, 8), 2);
    assert_int_equal(notes[1].trouble, OW_TROUBLE_SHORTED);
    assert_int_equal(notes[1].branch, 0);
    assert_near(notes[1].value, 12.6 / 0.0102, 1e-6);
    assert_non_null(strstr(notes[1].text, "from plus to load"));
    b[1].resistance_ohm = 0.0;
    assert_int_equal(ow_net_solve(net), OW_ERROR_VALUE);
    assert_int_equal(ow_net_explain(net, notes, 8), 1);
    assert_int_equal(notes[0].trouble, OW_TROUBLE_VALUE);
    assert_int_equal(notes[0].branch, 1);
    b[1].resistance_ohm = NAN;
    assert_int_equal(ow_net_solve(net), OW_ERROR_VALUE);
    OwBranch wrong[] = {resistance(0, 7, 1.0)};
    OwNet *none;
    assert_int_equal(ow_net_create(nodes, 5, wrong, 1, arena, &none), OW_ERROR_USE);
    assert_null(none);
    ow_arena_destroy(&arena);
}

// ---- random networks ----

static uint64_t draw(uint64_t *s) { // xorshift64* of Vigna 2016
    *s ^= *s >> 12;
    *s ^= *s << 25;
    *s ^= *s >> 27;
    return *s * 2685821657736338717ull;
}

static double real(uint64_t *s, double low, double high) {
    return low + (high - low) * (double)(draw(s) >> 11) / 9007199254740992.0;
}

static int whole(uint64_t *s, int count) {
    return (int)(draw(s) % (uint64_t)count);
}

static OwBranch any_branch(uint64_t *s, int nodes) {
    OwBranch b = {.from = whole(s, nodes), .to = whole(s, nodes), .is_open = whole(s, 6) == 0};
    const int kind = whole(s, 12);
    b.law =
        kind < 6
            ? OW_BRANCH_RESISTANCE
            : (kind < 8 ? OW_BRANCH_BATTERY
                        : (kind < 9 ? OW_BRANCH_ALTERNATOR : (kind < 11 ? OW_BRANCH_MOTOR : OW_BRANCH_LAMP)));
    b.resistance_ohm = exp(real(s, log(1e-4), log(1e4)));
    b.take_ohm = whole(s, 2) ? b.resistance_ohm * real(s, 1.0, 40.0) : 0.0;
    b.source_v = real(s, 10.0, 29.0);
    b.droop_v = real(s, 0.05, 0.5);
    b.limit_a = exp(real(s, log(0.1), log(100.0)));
    b.rated_v = whole(s, 2) ? 12.0 : 24.0;
    if (whole(s, 400) == 0) {
        b.resistance_ohm = b.rated_v = b.droop_v = whole(s, 2) ? 0.0 : NAN;
    }
    return b;
}

/// Nodes that can be reached from node 0 over closed branches: plain flooding, another way than the solver's.
static void flood(const OwBranch *b, int m, int n, bool *reached) {
    memset(reached, 0, (size_t)n * sizeof *reached);
    reached[0] = true;
    for (int pass = 0; pass < n; pass++) {
        for (int i = 0; i < m; i++) {
            if (!b[i].is_open && (reached[b[i].from] || reached[b[i].to])) {
                reached[b[i].from] = reached[b[i].to] = true;
            }
        }
    }
}

static void ten_thousand_random_networks(void **state) {
    (void)state;
    uint64_t s = 88172645463325252ull;
    int solved_count = 0, refused = 0, floating = 0, shorted = 0, worst_steps = 0;
    for (int trial = 0; trial < 10000; trial++) {
        OwArena *arena = ow_arena_create();
        OwNode nodes[24] = {0};
        OwBranch b[60];
        const int n = 2 + whole(&s, 22), m = 1 + whole(&s, 2 * n);
        for (int i = 0; i < n; i++) {
            snprintf(nodes[i].name, sizeof nodes[i].name, "n%d", i);
            nodes[i].volt_v = whole(&s, 10) == 0 ? real(&s, -30, 30) : 0.0;
        }
        for (int i = 0; i < m; i++) {
            b[i] = any_branch(&s, n);
        }
        OwNet *net;
        assert_int_equal(ow_net_create(nodes, n, b, m, arena, &net), OW_OK);
        const OwStatus status = ow_net_solve(net);
        OwNote notes[64];
        const int count = ow_net_explain(net, notes, 64);
        if (status == OW_ERROR_VALUE) {
            assert_int_equal(count, 1);
            assert_int_equal(notes[0].trouble, OW_TROUBLE_VALUE);
            refused++;
            ow_arena_destroy(&arena);
            continue;
        }
        if (status != OW_OK) {
            print_error("trial %d: status %d, imbalance %.3g\n", trial, status, ow_net_imbalance(net));
            fail();
        }
        worst_steps = ow_net_iterations(net) > worst_steps ? ow_net_iterations(net) : worst_steps;
        // Kirchhoff at every node from the published volts, and Tellegen over all branches, with our own
        // sums.
        double sum[24] = {0}, most = 0.0, power = 0.0, throughput = 0.0;
        for (int i = 0; i < m; i++) {
            if (b[i].is_open || b[i].from == b[i].to) {
                assert_near(b[i].current_a, 0.0, 0.0);
                continue;
            }
            const double v = nodes[b[i].from].volt_v - nodes[b[i].to].volt_v;
            assert_true(isfinite(v) && isfinite(b[i].current_a));
            sum[b[i].from] += b[i].current_a;
            sum[b[i].to] -= b[i].current_a;
            most = fmax(most, fabs(b[i].current_a));
            power += v * b[i].current_a;
            throughput += fabs(v * b[i].current_a);
        }
        for (int i = 0; i < n; i++) {
            assert_near(sum[i], 0.0, 1e-7 * (1.0 + most));
        }
        assert_near(power, 0.0, 1e-7 * (1.0 + throughput));
        // Every floating node is marked, and explained by a note on its island; every shorted source has a
        // note.
        bool reached[24];
        flood(b, m, n, reached);
        int marked = 0, noted = 0;
        for (int i = 0; i < n; i++) {
            assert_int_equal(nodes[i].is_floating, !reached[i]);
            marked += nodes[i].is_floating;
        }
        for (int i = 0; i < count; i++) {
            noted += notes[i].trouble == OW_TROUBLE_FLOATING;
            shorted += notes[i].trouble == OW_TROUBLE_SHORTED;
            assert_true(strlen(notes[i].text) > 10);
        }
        assert_int_equal(marked > 0, noted > 0);
        floating += marked > 0;
        solved_count++;
        ow_arena_destroy(&arena);
    }
    print_message(
        "10000 networks: %d solved (%d with floating parts, %d shorted sources), %d refused for a value; "
        "%d steps at most\n",
        solved_count, floating, shorted, refused, worst_steps);
    assert_true(solved_count > 8000 && refused > 100 && floating > 1000 && shorted > 500);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bridge),
        cmocka_unit_test(two_batteries),
        cmocka_unit_test(alternator),
        cmocka_unit_test(laws_rise_and_slope_fits),
        cmocka_unit_test(odd_networks_are_explained),
        cmocka_unit_test(ten_thousand_random_networks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
