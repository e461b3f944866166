// SPDX-License-Identifier: GPL-3.0-or-later
// The quick solve of the morning against the full network, and what battery and alternator do to the loads.
#include "near.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "demo.h"

static OwPower *demo(void) {
    const OwElectricSpec spec = demo_spec();
    OwPower *power;
    assert_int_equal(ow_power_create_from(&spec, &power, NULL), OW_OK);
    return power;
}

static double real(uint64_t *s, double low, double high) {
    *s = *s * 6364136223846793005ull + 1442695040888963407ull; // Knuth's MMIX constants
    return low + (high - low) * (double)(*s >> 11) / 9007199254740992.0;
}

static OwPowerInput random_input(const OwPower *power, uint64_t *s) {
    OwPowerInput in = ow_power_input(power, real(s, 250, 310));
    in.battery_charge = real(s, 0.05, 1.0);
    in.wire_k = real(s, 250, 360);
    in.is_cranking = real(s, 0, 1) < 0.2;
    in.engine_rad_s = in.is_cranking ? 20.0 : (real(s, 0, 1) < 0.3 ? 0.0 : real(s, 40, 500));
    for (int i = 0; i < DEMO_COUNT; i++) {
        in.is_on[i] = real(s, 0, 1) < 0.6;
        in.load_ohm[i] = real(s, 0, 1) < 0.5 ? real(s, 0.2, 2.0) : 0.0;
    }
    return in;
}

/// The volts over the load of a circuit and the battery's current from the full network, solved by the
/// general solver.
static void full(const OwPower *power, const OwPowerInput *in, double *load_v, double *battery_a,
                 double *battery_v) {
    OwArena *arena = ow_arena_create();
    OwNode *nodes;
    OwBranch *b;
    int n, m;
    OwNet *net;
    assert_int_equal(ow_power_net(power, in, arena, &nodes, &n, &b, &m), OW_OK);
    assert_int_equal(ow_net_create(nodes, n, b, m, arena, &net), OW_OK);
    assert_int_equal(ow_net_solve(net), OW_OK);
    for (int i = 0; i < m; i++) {
        if (b[i].tag >= 16 && (b[i].tag - 16) % 4 == 2) {
            load_v[(b[i].tag - 16) / 4] = nodes[b[i].from].volt_v - nodes[b[i].to].volt_v;
        }
    }
    *battery_a = -b[0].current_a;
    *battery_v = nodes[1].volt_v;
    ow_arena_destroy(&arena);
}

// Two codes, one answer: 3000 random states one after the other with the same work space, so that every kind
// of jump is met.
static void quick_equals_full(void **state) {
    (void)state;
    OwPower *power = demo();
    OwPowerWork work = {0};
    uint64_t s = 42;
    int most = 0;
    for (int k = 0; k < 3000; k++) {
        const OwPowerInput in = random_input(power, &s);
        OwPowerResult r;
        assert_int_equal(ow_power_volts(power, &in, &work, &r), OW_OK);
        double load_v[OW_MAX_CIRCUITS], battery_a, battery_v;
        full(power, &in, load_v, &battery_a, &battery_v);
        assert_near(r.battery_v, battery_v, 2e-6);
        assert_near(r.battery_a, battery_a, 2e-3);
        for (int i = 0; i < DEMO_COUNT; i++) {
            const bool on = i == DEMO_STARTER ? in.is_cranking : in.is_on[i];
            assert_near(r.load_v[i], on ? load_v[i] : 0.0, 1e-5);
        }
        most = r.iterations > most ? r.iterations : most;
    }
    print_message("most sweeps after a jump: %d\n", most);
    ow_power_destroy(&power);
    assert_null(power);
}

// A warm call after a small change costs one sweep or two and is as right as a cold one.
static void warm_is_quick(void **state) {
    (void)state;
    OwPower *power = demo();
    OwPowerWork work = {0};
    OwPowerInput in = demo_input(power, DEMO_IDLE);
    OwPowerResult r;
    assert_int_equal(ow_power_volts(power, &in, &work, &r), OW_OK);
    for (int k = 1; k <= 200; k++) {
        in.load_ohm[DEMO_CHAMBER] = 0.6 + 0.001 * k;
        in.battery_charge -= 1e-5;
        assert_int_equal(ow_power_volts(power, &in, &work, &r), OW_OK);
        assert_true(k == 1 || r.iterations <= 2);
        double load_v[OW_MAX_CIRCUITS], battery_a, battery_v;
        full(power, &in, load_v, &battery_a, &battery_v);
        assert_near(r.load_v[DEMO_CHAMBER], load_v[DEMO_CHAMBER], 1e-5);
    }
    ow_power_destroy(&power);
}

static void what_the_states_do(void **state) {
    (void)state;
    OwPower *power = demo();
    OwPowerResult r[DEMO_STATES];
    for (int k = 0; k < DEMO_STATES; k++) {
        OwPowerWork work = {0};
        const OwPowerInput in = demo_input(power, k);
        assert_int_equal(ow_power_volts(power, &in, &work, &r[k]), OW_OK);
        double sum = r[k].starter_a; // Kirchhoff: battery and alternator feed exactly the loads
        for (int i = 0; i < DEMO_COUNT; i++) {
            sum += i == DEMO_STARTER ? 0.0 : r[k].load_a[i];
        }
        assert_near(r[k].battery_a + r[k].alternator_a, sum, 1e-3);
    }
    assert_true(r[DEMO_PREHEAT].battery_v < r[DEMO_KEY_ON].battery_v); // more load, deeper sag
    assert_true(r[DEMO_CRANK].battery_v < r[DEMO_PREHEAT].battery_v - 0.5);
    assert_true(r[DEMO_CRANK].starter_a > 200.0 && r[DEMO_CRANK].starter_v < r[DEMO_CRANK].battery_v);
    assert_true(r[DEMO_IDLE].battery_a >
                0.0); // an alternator of 65 A cannot carry all at idle: the battery helps
    assert_true(r[DEMO_DRIVE].battery_a < 0.0); // and is charged on the road
    assert_true(r[DEMO_DRIVE].battery_v > 13.5 && r[DEMO_DRIVE].charge_rate_1_s > 0.0);
    assert_true(r[DEMO_PREHEAT].charge_rate_1_s < 0.0);
    // Charge drawn: 1 C a second and ampere out of the aged capacity.
    assert_near(r[DEMO_PREHEAT].charge_rate_1_s,
                -r[DEMO_PREHEAT].battery_a / ow_battery_capacity(&ow_power_spec(power)->battery), 1e-12);
    ow_power_destroy(&power);
}

// Ten minutes of pre-heat by plain Euler in the caller, as the morning will do it: charge lost is amperes
// times seconds, the volts sag on the way, and less is left to crank with.
static void preheat_drains(void **state) {
    (void)state;
    OwPower *power = demo();
    OwPowerWork work = {0};
    OwPowerInput in = demo_input(power, DEMO_PREHEAT);
    OwPowerResult r;
    const double first = in.battery_charge, crank_first = ow_power_crank_v(power, first, in.battery_k);
    double coulomb = 0.0, volts_before = INFINITY;
    for (int k = 0; k < 600; k++) {
        assert_int_equal(ow_power_volts(power, &in, &work, &r), OW_OK);
        assert_true(r.battery_v < volts_before);
        volts_before = r.battery_v;
        coulomb += r.battery_a;
        in.battery_charge += r.charge_rate_1_s;
        in.battery_k += 0.0 * r.battery_rate_k_s;
    }
    assert_near(first - in.battery_charge, coulomb / ow_battery_capacity(&ow_power_spec(power)->battery),
                1e-9);
    assert_true(coulomb > 600.0 * 50.0 && coulomb < 600.0 * 80.0);
    assert_true(ow_power_crank_v(power, in.battery_charge, in.battery_k) < crank_first);
    // Twice the battery, half the loss of charge and a better crank.
    OwElectricSpec twice = demo_spec();
    twice.battery.count = 2;
    OwPower *pair;
    assert_int_equal(ow_power_create_from(&twice, &pair, NULL), OW_OK);
    assert_true(ow_power_crank_v(pair, first, in.battery_k) > crank_first + 0.3);
    ow_power_destroy(&pair);
    ow_power_destroy(&power);
}

// Cranking volts by hand: rest volts over battery, cables and the motor in series.
static void crank_by_hand(void **state) {
    (void)state;
    OwPower *power = demo();
    OwPowerInput in = ow_power_input(power, 263.15);
    in.is_cranking = true;
    in.wire_k = 263.15;
    OwPowerWork work = {0};
    OwPowerResult r;
    assert_int_equal(ow_power_volts(power, &in, &work, &r), OW_OK);
    const OwSource source =
        ow_battery_source(&ow_power_spec(power)->battery, in.battery_charge, in.battery_k);
    const double way =
        1.5 * ow_wire_ohm_m(50e-6, 263.15) + 0.3e-3 + 0.6 * ow_wire_ohm_m(50e-6, 263.15) + 0.3e-3;
    const double motor = 9.0 / 250.0, amps = source.rest_v / (source.give_ohm + way + motor);
    assert_near(r.starter_a, amps, 1e-3);
    assert_near(r.battery_v, source.rest_v - amps * source.give_ohm, 1e-6);
    assert_near(ow_power_crank_v(power, in.battery_charge, in.battery_k), r.battery_v, 1e-6);
    ow_power_destroy(&power);
}

static void bad_input_is_refused(void **state) {
    (void)state;
    OwPower *power = demo();
    OwPowerInput in = demo_input(power, DEMO_IDLE);
    OwPowerWork work = {0};
    OwPowerResult r;
    in.load_ohm[1] = NAN;
    assert_int_equal(ow_power_volts(power, &in, &work, &r), OW_ERROR_VALUE);
    in = demo_input(power, DEMO_IDLE);
    in.battery_k = INFINITY;
    assert_int_equal(ow_power_volts(power, &in, &work, &r), OW_ERROR_VALUE);
    OwElectricSpec spec = demo_spec();
    spec.circuits[1].rated_a = NAN;
    spec.battery.rated_v = 6.0;
    OwFaults faults = {0};
    OwPower *none;
    assert_int_equal(ow_power_create_from(&spec, &none, &faults), OW_ERROR_VALUE);
    assert_null(none);
    assert_int_equal(faults.errors, 2);
    assert_int_equal(faults.items[1].line, spec.circuits[1].line);
    assert_string_equal(faults.items[1].part, "boost chamber");
    ow_faults_clear(&faults);
    assert_int_equal(ow_power_find(power, 3, 0), DEMO_CHAMBER);
    assert_int_equal(ow_power_find(power, 3, 1), -1);
    assert_int_equal(ow_power_find(power, -1, -1), -1);
    ow_power_destroy(&power);
}

typedef struct OwRunner {
    const OwPower *power;
    double sum;
} OwRunner;

static void *run_states(void *context) {
    OwRunner *runner = context;
    OwPowerWork work = {0};
    uint64_t s = 5;
    for (int k = 0; k < 3000; k++) {
        const OwPowerInput in = random_input(runner->power, &s);
        OwPowerResult r;
        if (ow_power_volts(runner->power, &in, &work, &r) == OW_OK) {
            runner->sum += r.battery_v;
        }
    }
    return NULL;
}

// One compiled side, two threads, each with its own work space: the same digits as alone.
static void two_threads_share_it(void **state) {
    (void)state;
    OwPower *power = demo();
    OwRunner alone = {power, 0.0}, pair[2] = {{power, 0.0}, {power, 0.0}};
    (void)run_states(&alone);
    pthread_t threads[2];
    for (int i = 0; i < 2; i++) {
        assert_int_equal(pthread_create(&threads[i], NULL, run_states, &pair[i]), 0);
    }
    for (int i = 0; i < 2; i++) {
        assert_int_equal(pthread_join(threads[i], NULL), 0);
        assert_true(pair[i].sum == alone.sum && alone.sum > 3000 * 5.0);
    }
    ow_power_destroy(&power);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(quick_equals_full),    cmocka_unit_test(warm_is_quick),
        cmocka_unit_test(what_the_states_do),   cmocka_unit_test(preheat_drains),
        cmocka_unit_test(crank_by_hand),        cmocka_unit_test(bad_input_is_refused),
        cmocka_unit_test(two_threads_share_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
