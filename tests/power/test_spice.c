// SPDX-License-Identifier: GPL-3.0-or-later
// Node volts against ngspice, an independent circuit solver: the demo at six states and six random networks,
// 0.1 %.
#include "near.h"

#include <stdlib.h>
#include <string.h>

#include "demo.h"

static void write_branch(FILE *f, int i, const OwBranch *b) {
    const int p = b->from, q = b->to;
    if (b->is_open || p == q) {
        return;
    }
    switch (b->law) {
    case OW_BRANCH_RESISTANCE:
        fprintf(f, "R%d %d %d %.12g\n", i, p, q, b->resistance_ohm);
        break;
    case OW_BRANCH_BATTERY: {
        const double take = b->take_ohm > 0.0 ? b->take_ohm : b->resistance_ohm;
        fprintf(f, "B%d %d %d I = v(%d,%d) > %.12g ? (v(%d,%d)-%.12g)/%.12g : (v(%d,%d)-%.12g)/%.12g\n", i, p,
                q, p, q, b->source_v, p, q, b->source_v, take, p, q, b->source_v, b->resistance_ohm);
        break;
    }
    case OW_BRANCH_ALTERNATOR:
        fprintf(f,
                "B%d %d %d I = "
                "-%.12g*min(max((%.12g-v(%d,%d))/%.12g,0),1)^2*(3-2*min(max((%.12g-v(%d,%d))/%.12g,0),1))\n",
                i, p, q, b->limit_a, b->source_v, p, q, b->droop_v, b->source_v, p, q, b->droop_v);
        break;
    case OW_BRANCH_MOTOR: // 98 % saturating with a knee at a third of the rated volts, 2 % straight, whole at
                          // the rated volts
        fprintf(f,
                "B%d %d %d I = "
                "%.12g*(0.98*sqrt(10)/3*(3*v(%d,%d)/%g)/sqrt(1+(3*v(%d,%d)/%g)^2)+0.02*v(%d,%d)/%g)\n",
                i, p, q, b->limit_a, p, q, b->rated_v, p, q, b->rated_v, p, q, b->rated_v);
        break;
    case OW_BRANCH_LAMP:
        fprintf(f,
                "B%d %d %d I = abs(v(%d,%d))<0.05*%g ? %.12g*pow(0.05,-0.45)*v(%d,%d)/%g : "
                "sgn(v(%d,%d))*%.12g*pow(abs(v(%d,%d))/%g,0.55)\n",
                i, p, q, p, q, b->rated_v, b->limit_a, p, q, b->rated_v, p, q, b->limit_a, p, q, b->rated_v);
        break;
    }
}

/// Runs ngspice on the network; fills volts of nodes 1.. that take part. Returns how many came back.
/// `settle`: by letting the network settle in time with 1 mF at every node, for the regulated sources on
/// which ngspice's undamped operating point fails.
static int run_spice(const OwNode *nodes, int n, const OwBranch *b, int m, bool settle, double *volts) {
    char path[] = "/tmp/ow-spice-XXXXXX", command[200], line[256];
    const int handle = mkstemp(path);
    FILE *f = handle >= 0 ? fdopen(handle, "w") : NULL;
    assert_non_null(f);
    fprintf(f, "network\n");
    for (int i = 0; i < m; i++) {
        if (!nodes[b[i].from].is_floating) {
            write_branch(f, i, &b[i]);
        }
    }
    for (int i = 1; i < n && settle; i++) {
        if (!nodes[i].is_floating) {
            fprintf(f, "C%d %d 0 1m ic=0\n", i, i);
        }
    }
    fprintf(f,
            ".options reltol=1e-7 abstol=1e-9 vntol=1e-9 gmin=1e-15 itl1=2000\n.control\nset numdgt=12\n%s\n",
            settle ? "tran 10m 10 uic" : "op");
    for (int i = 1; i < n; i++) {
        if (!nodes[i].is_floating) {
            fprintf(f, settle ? "let last = v(%d)[length(v(%d))-1]\necho v(%d) = $&last\n" : "print v(%d)\n",
                    i, i, i);
        }
    }
    fprintf(f, "quit\n.endc\n.end\n");
    fclose(f);
    snprintf(command, sizeof command, "ngspice -b %s 2>/dev/null", path);
    FILE *out = popen(command, "r");
    assert_non_null(out);
    int count = 0;
    while (fgets(line, sizeof line, out)) {
        int node;
        double value;
        if (sscanf(line, "v(%d) = %lf", &node, &value) == 2 && node > 0 && node < n) {
            volts[node] = value;
            count++;
        }
    }
    pclose(out);
    remove(path);
    return count;
}

static double compare(OwNode *nodes, int n, OwBranch *b, int m, OwArena *arena) {
    OwNet *net;
    assert_int_equal(ow_net_create(nodes, n, b, m, arena, &net), OW_OK);
    assert_int_equal(ow_net_solve(net), OW_OK);
    double volts[256] = {0}, worst = 0.0;
    int expected = 0;
    for (int i = 1; i < n; i++) {
        expected += !nodes[i].is_floating;
    }
    if (run_spice(nodes, n, b, m, false, volts) != expected) {
        print_message("(settled in time) ");
        assert_int_equal(run_spice(nodes, n, b, m, true, volts), expected);
    }
    assert_true(expected >= 3);
    for (int i = 1; i < n; i++) {
        if (!nodes[i].is_floating) {
            const double gap = fabs(nodes[i].volt_v - volts[i]);
            worst = fmax(worst, gap / fmax(fabs(volts[i]), 1e-3)); // a point within 1 mV of earth: 1 uV
            if (gap > 1e-3 * fabs(volts[i]) + 1e-6) {
                print_error("%s: %.9g, ngspice %.9g\n", nodes[i].name, nodes[i].volt_v, volts[i]);
                fail();
            }
        }
    }
    return worst;
}

static void demo_at_six_states(void **state) {
    (void)state;
    const OwElectricSpec spec = demo_spec();
    OwPower *power;
    assert_int_equal(ow_power_create_from(&spec, &power, NULL), OW_OK);
    for (int k = 0; k < DEMO_STATES; k++) {
        OwArena *arena = ow_arena_create();
        const OwPowerInput in = demo_input(power, k);
        OwNode *nodes;
        OwBranch *b;
        int n, m;
        assert_int_equal(ow_power_net(power, &in, arena, &nodes, &n, &b, &m), OW_OK);
        print_message("state %d: worst gap %.2g\n", k, compare(nodes, n, b, m, arena));
        ow_arena_destroy(&arena);
    }
    ow_power_destroy(&power);
}

static uint64_t draw(uint64_t *s) {
    *s ^= *s >> 12;
    *s ^= *s << 25;
    *s ^= *s >> 27;
    return *s * 2685821657736338717ull;
}

static double real(uint64_t *s, double low, double high) {
    return low + (high - low) * (double)(draw(s) >> 11) / 9007199254740992.0;
}

// Six meshed networks with every law in them; resistances over four decades.
static void six_random_networks(void **state) {
    (void)state;
    uint64_t s = 1234567;
    for (int k = 0; k < 6; k++) {
        OwArena *arena = ow_arena_create();
        OwNode nodes[12] = {0};
        OwBranch b[40];
        int m = 0;
        for (int i = 0; i < 12; i++) {
            snprintf(nodes[i].name, sizeof nodes[i].name, "n%d", i);
        }
        for (int i = 1; i < 12; i++) { // a tree, so that all is joined
            b[m++] = (OwBranch){.law = OW_BRANCH_RESISTANCE,
                                .from = i,
                                .to = (int)(draw(&s) % (uint64_t)i),
                                .resistance_ohm = exp(real(&s, log(0.001), log(10.0)))};
        }
        for (int i = 0; i < 14; i++) {
            const OwBranchLaw law = (OwBranchLaw)(i % 5);
            b[m] =
                (OwBranch){.law = law,
                           .from = 1 + (int)(draw(&s) % 11),
                           .to = (int)(draw(&s) % 12),
                           .resistance_ohm = law == OW_BRANCH_BATTERY ? real(&s, 0.005, 0.05)
                                                                      : exp(real(&s, log(0.1), log(100.0))),
                           .source_v = real(&s, 12.0, 14.5),
                           .droop_v = 0.3,
                           .limit_a = real(&s, 1.0, 40.0),
                           .rated_v = 12.0};
            b[m].take_ohm = b[m].resistance_ohm * 8.0;
            m++;
        }
        print_message("random %d: worst gap %.2g\n", k, compare(nodes, 12, b, m, arena));
        ow_arena_destroy(&arena);
    }
}

int main(void) {
    if (system("ngspice --version >/dev/null 2>&1") != 0) {
        print_message("ngspice is not installed: skipped\n");
        return 77;
    }
    const struct CMUnitTest tests[] = {cmocka_unit_test(demo_at_six_states),
                                       cmocka_unit_test(six_random_networks)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
