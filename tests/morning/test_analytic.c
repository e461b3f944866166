// SPDX-License-Identifier: GPL-3.0-or-later
// The time loop against what can be known exactly: its order, a thermostat's period, the spread of a front,
// balances, the clock, and that nothing is shared between mornings.
#include <math.h>
#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "digest.h"
#include "morning/morning_impl.h"
#include "support_rigs.h"

static OwMorning *run(const OwPlan *plan, double fixed_step_s, double until_s, double tolerance_k) {
    OwMorningSettings settings = ow_morning_default();
    settings.fixed_step_s = fixed_step_s;
    settings.until_s = until_s;
    settings.tolerance_k = tolerance_k;
    settings.has_full_load = false;
    OwMorning *morning;
    assert_int_equal(ow_morning_create(plan, &settings, &morning), OW_OK);
    assert_int_equal(ow_morning_repeat(morning), OW_OK);
    return morning;
}

static double rms_difference(const OwPlan *plan, const double *a, const double *b) {
    double sum = 0.0;
    for (int i = 0; i < plan->tank_at; i++) {
        sum += (a[i] - b[i]) * (a[i] - b[i]);
    }
    return sqrt(sum / plan->tank_at);
}

/// Error at `until_s` for steps of h, h/2, ... against a step 25 times shorter than the last; it must fall
/// with every halving until it is below `floor_k`. Returns the least order.
static double least_order(OwRig *rig, double until_s, double first_step_s, int halvings, double floor_k) {
    OwPlan *plan = ow_support_plan(rig);
    OwMorning *fine = run(plan, first_step_s / (1 << (halvings - 1)) / 25.0, until_s, 1e-4);
    double last = 0.0, least = 9.0;
    for (int k = 0; k < halvings; k++) {
        OwMorning *morning = run(plan, first_step_s / (1 << k), until_s, 1e-4);
        const double error = rms_difference(plan, morning->y, fine->y);
        if (k > 0) {
            least = fmin(least, log2(last / error));
            assert_true(error < last || error < floor_k);
        }
        print_message("  step %.4f s: rms error %.3g K%s", first_step_s / (1 << k), error, k ? "" : "\n");
        if (k > 0) {
            print_message(", order %.2f\n", log2(last / error));
        }
        last = error;
        ow_morning_destroy(&morning);
    }
    ow_morning_destroy(&fine);
    ow_plan_destroy(&plan);
    ow_rig_destroy(&rig);
    return least;
}

/// Extrapolation over 1, 2 and 3 sub-steps has order 3; on a smooth stretch (the pre-heat) nothing may lower
/// it.
static void third_order(void **state) {
    (void)state;
    print_message("single tank, 40 s of pre-heat\n");
    assert_true(least_order(ow_support_single_tank(268.15), 40.0, 1.0, 4, 0.0) >= 2.7);
    print_message("no boost pump, 4 s of cranking\n");
    assert_true(least_order(ow_support_suction(288.15), 4.0, 0.5, 4, 0.0) >= 2.7);
    print_message("two tanks, 4.8 s of cranking\n");
    assert_true(least_order(ow_support_two_tanks(278.15), 4.8, 1.2, 3, 0.0) >= 2.5);
}

/// With every switch, corner and kink (tables, valves) of a whole morning in it the error still falls with
/// every halving, near to second order.
static void falls_with_the_step(void **state) {
    (void)state;
    print_message("single tank, 700 s with start, thermostat and drive\n");
    (void)least_order(ow_support_single_tank(268.15), 700.0, 16.0, 5, 0.0);
}

/// One lump: heater of constant power, constant loss, lagging sensor. Exact between switches.
typedef struct Lump {
    double on_k, off_k, capacity_j_k, loss_w_k, power_w, around_k, lag_s;
} Lump;

/// Advances lump and sensor by t with the heater on or off; exact.
static void lump_after(const Lump *l, bool is_on, double t, double *lump_k, double *felt_k) {
    const double end_k = l->around_k + (is_on ? l->power_w / l->loss_w_k : 0.0);
    const double a = l->loss_w_k / l->capacity_j_k, start = *lump_k - end_k;
    const double forced = start / (1.0 - a * l->lag_s), own = *felt_k - end_k - forced;
    *lump_k = end_k + start * exp(-a * t);
    *felt_k = end_k + forced * exp(-a * t) + own * exp(-t / l->lag_s);
}

/// Steady period: switch after switch until the period no longer changes.
static double exact_period(const Lump *l, double *on_time_s) {
    double lump_k = l->around_k, felt_k = l->around_k, last_open_s = -1.0, time_s = 0.0, period_s = 0.0;
    bool is_on = true;
    for (int turn = 0; turn < 60; turn++) {
        double low = 0.0, high = 0.0;
        for (;;) { // first half second in which the level is passed
            high += 0.5;
            double x = lump_k, s = felt_k;
            lump_after(l, is_on, high, &x, &s);
            if (is_on ? s >= l->off_k : s <= l->on_k) {
                break;
            }
            low = high;
            assert_true(high < 1e5);
        }
        for (int i = 0; i < 60; i++) {
            const double middle = 0.5 * (low + high);
            double x = lump_k, s = felt_k;
            lump_after(l, is_on, middle, &x, &s);
            *((is_on ? s >= l->off_k : s <= l->on_k) ? &high : &low) = middle;
        }
        lump_after(l, is_on, high, &lump_k, &felt_k);
        time_s += high;
        if (is_on) {
            *on_time_s = high;
            period_s = time_s - last_open_s;
            last_open_s = time_s;
        }
        is_on = !is_on;
    }
    return period_s;
}

/// A still chamber whose oil is a millilitre and whose jacket is nearly all of its resistance: one lump in
/// effect.
static OwRig *lump_rig(void) {
    OwRig *rig = ow_support_rig(273.15);
    assert_non_null(rig);
    (void)ow_support_part(rig, OW_PART_TANK, "tank", OW_PLACE_UNDER_FLOOR);
    OwChamber *chamber = &ow_support_part(rig, OW_PART_CHAMBER, "chamber", OW_PLACE_UNDER_FLOOR)->as.chamber;
    chamber->oil_volume_m3 = 1e-6;
    chamber->cells = 1;
    chamber->metal_mass_kg = 0.5;
    chamber->outer_area_m2 = 5.0;
    chamber->insulation_w_m2k = 0.1;
    chamber->inner_w_k = 1e3;
    OwElement *element = ow_support_heater(&chamber->elements, "rod", 45.0);
    element->cold_ratio = 1.0;
    element->heat_capacity_j_k = 0.5;
    element->conductance_w_k = 500.0;
    element->to_oil = 0.0;
    ow_support_thermostat(element, 323.15, 6.0, 15.0);
    element->senses_oil = false;
    (void)ow_support_part(rig, OW_PART_INJECTION_PUMP, "injection pump", OW_PLACE_ENGINE_BAY);
    ow_support_join(rig, "tank", 0, "chamber", 0);
    ow_support_join(rig, "chamber", 1, "injection pump", 0);
    ow_support_join(rig, "injection pump", 1, "tank", 1);
    rig->electrics.battery_v = 12.0;
    rig->electrics.wire_drop = 0.0;
    rig->climate.wind_m_s = 0.0;
    rig->drive.earliest_start_s = rig->drive.ready_wait_s = 5000.0;
    return rig;
}

static void thermostat_period(void **state) {
    (void)state;
    OwRig *rig = lump_rig();
    OwPlan *plan = ow_support_plan(rig);
    const int part = ow_rig_find(rig, "chamber"), wall = plan->parts[part].wall;
    Lump lump = {.off_k = 323.15, .on_k = 317.15, .power_w = 45.0, .around_k = 273.15, .lag_s = 15.0};
    for (int i = 0; i < plan->tie_count; i++) {
        if (plan->ties[i].a == wall && plan->plan_ties[i].role == OW_TIE_SURFACE) {
            lump.loss_w_k =
                ow_heat_surface_value(&plan->surfaces[plan->plan_ties[i].surface], 320.65, 273.15, 0.0);
        }
    }
    lump.capacity_j_k = plan->lump_j_k[wall] + plan->lump_j_k[plan->parts[part].oil_first] + 0.5;
    assert_true(lump.loss_w_k > 0.45 && lump.loss_w_k < 0.5);
    double on_s = 0.0;
    const double wanted_s = exact_period(&lump, &on_s);
    OwMorning *morning = run(plan, 0.0, 4000.0, 1e-3);
    const OwRecord *record = ow_morning_record(morning);
    double opened_s = -1.0, closed_s = -1.0, period_s = 0.0, heated_s = 0.0;
    for (int i = 0; i < record->event_count; i++) {
        const OwEvent *e = &record->events[i];
        if (e->kind == OW_EVENT_THERMOSTAT_OPENS) {
            period_s = e->time_s - opened_s;
            heated_s = e->time_s - closed_s;
            opened_s = e->time_s;
        } else if (e->kind == OW_EVENT_THERMOSTAT_CLOSES) {
            closed_s = e->time_s;
        }
    }
    print_message("period %.3f s, exact %.3f s; heated %.3f s, exact %.3f s\n", period_s, wanted_s, heated_s,
                  on_s);
    // What is left: the loss varies by 0.1 % over the band, oil and rod follow the metal within a second.
    assert_true(fabs(period_s / wanted_s - 1.0) < 0.004);
    assert_true(fabs(heated_s / on_s - 1.0) < 0.004);
    ow_morning_destroy(&morning);
    ow_plan_destroy(&plan);
    ow_rig_destroy(&rig);
}

/// Mean and variance of the arrival of a front at the end of a pipe of n cells, by third-order steps.
static void front(int cells, double film_w_k, double step_s, double *mean_s, double *variance_s2) {
    const double liquid_j_k = 800.0, wall_j_k = 600.0, rate_w_k = 10.0;
    OwArena *arena = ow_arena_create();
    const OwHeatChain chain = {.from = 0,
                               .to = 1,
                               .cells = cells,
                               .first = 2,
                               .liquid_j_k = liquid_j_k / cells,
                               .wall_j_k = wall_j_k / cells,
                               .warmer = -1};
    OwHeatNet *net;
    OwHeatRates rates;
    assert_int_equal(ow_heat_net_create(2, NULL, 0, NULL, 0, &chain, 1, arena, &net), OW_OK);
    assert_int_equal(ow_heat_rates_create(net, arena, &rates), OW_OK);
    rates.capacity_j_k[0] = rates.capacity_j_k[1] = 1.0;
    rates.chain_w_k[0] = rate_w_k;
    rates.film_w_k[0] = film_w_k / cells;
    const int n = net->state_count, last = 2 + cells - 1;
    double *y = ow_arena_take(arena, (size_t)n, sizeof *y), *rows[5];
    for (int i = 0; i < 5; i++) {
        rows[i] = ow_arena_take(arena, (size_t)n, sizeof *y);
    }
    y[0] = 1.0;
    *mean_s = *variance_s2 = 0.0;
    double second = 0.0;
    const int steps = (int)(900.0 / step_s);
    for (int k = 0; k < steps; k++) {
        const double before = 1.0 - y[last];
        for (int parts = 1; parts <= 3; parts++) {
            const double *from = y;
            for (int i = 0; i < parts; i++) {
                OwHeatSums sums;
                double *to = i == parts - 1 ? rows[parts - 1] : rows[3 + i % 2];
                assert_true(ow_heat_net_step(net, &rates, step_s / parts, from, to, &sums));
                from = to;
            }
        }
        for (int i = 0; i < n; i++) {
            y[i] = 4.5 * rows[2][i] - 4.0 * rows[1][i] + 0.5 * rows[0][i];
        }
        const double after = 1.0 - y[last], t = (k + 0.5) * step_s;
        *mean_s += step_s * 0.5 * (before + after);
        second += step_s * 0.5 * (before + after) * 2.0 * t;
    }
    *variance_s2 = second - *mean_s * *mean_s;
    ow_arena_destroy(&arena);
}

/// The spread of a front over its passage time is 1/sqrt(n) for n stirred cells (Levenspiel 1999, ch. 14),
/// beside the true spread by a lazy wall: variance 2 tau R theta, theta = wall capacity over film.
static void front_spread(void **state) {
    (void)state;
    const double film_w_k = 60.0, passage_s = 80.0, retard = 600.0 / 800.0, theta_s = 600.0 / film_w_k;
    for (int cells = 8; cells <= 128; cells *= 2) {
        double mean_s, variance_s2;
        front(cells, film_w_k, 0.25, &mean_s, &variance_s2);
        const double numerical = variance_s2 - 2.0 * passage_s * retard * theta_s;
        const double spread = sqrt(numerical) / mean_s;
        print_message("  %3d cells: spread %.5f of the passage, 1/sqrt(n) %.5f\n", cells, spread,
                      1.0 / sqrt(cells));
        assert_true(fabs(mean_s - passage_s * (1.0 + retard)) < 1e-3 * passage_s);
        assert_true(fabs(spread * sqrt(cells) - 1.0) < 0.01);
    }
}

/// More cells, same morning: the difference halves as their number doubles.
static void cells_converge(void **state) {
    (void)state;
    double inlet_k[4], last = 0.0;
    for (int k = 0; k < 4; k++) {
        OwRig *rig = ow_support_fine(268.15, 60 << k);
        OwPlan *plan = ow_support_plan(rig);
        OwMorning *morning = run(plan, 0.0, 300.0, 1e-3);
        inlet_k[k] = morning->y[plan->node_lump[plan->inlet_node]];
        ow_morning_destroy(&morning);
        ow_plan_destroy(&plan);
        ow_rig_destroy(&rig);
    }
    for (int k = 0; k < 3; k++) {
        const double difference = fabs(inlet_k[k + 1] - inlet_k[k]);
        print_message("  %d to %d cells: inlet changes by %.4f K\n", 60 << k, 120 << k, difference);
        if (k > 0) {
            assert_true(difference < 0.65 * last && difference > 0.35 * last);
        }
        last = difference;
    }
}

static void balances(void **state) {
    (void)state;
    for (int which = 0; which < 7; which++) {
        OwRig *rig = which == 0   ? ow_support_single_tank(268.15)
                     : which == 1 ? ow_support_single_tank(293.15)
                     : which == 2 ? ow_support_two_tanks(268.15)
                     : which == 3 ? ow_support_suction(288.15)
                     : which == 4 ? ow_support_fine(258.15, 400)
                     : which == 5 ? lump_rig()
                                  : ow_support_single_tank(308.15);
        if (which == 6) {
            rig->drive.kind = OW_DRIVE_NEDC;
        }
        OwPlan *plan = ow_support_plan(rig);
        for (int coarse = 0; coarse < 2; coarse++) {
            OwMorning *morning = run(plan, 0.0, which == 5 ? 1000.0 : 0.0, coarse ? 0.3 : 0.01);
            const OwAudit *audit = &ow_morning_record(morning)->audit;
            print_message("  rig %d: energy gap %.2g, volume gap %.2g\n", which, audit->energy_gap,
                          audit->volume_gap);
            assert_true(audit->heat_in_j > 1000.0);
            assert_true(audit->energy_gap <= 1e-6);
            assert_true(audit->volume_gap <= 1e-6);
            ow_morning_destroy(&morning);
        }
        ow_plan_destroy(&plan);
        ow_rig_destroy(&rig);
    }
}

/// An idling engine that loses heat to the cab's heater only settles where the heater takes what the fuel
/// gives: T = ambient + Q / (m c (1 - exp(-UA / (m c)))) by effectiveness and NTU with fresh air as cold as
/// outside (Incropera 11.35a). What the driver takes while the engine stands is nothing.
static void cab_heater(void **state) {
    (void)state;
    double last_k = 0.0;
    for (double ua = 40.0; ua <= 160.0; ua *= 2.0) {
        OwRig *rig = ow_support_single_tank(268.15);
        rig->parts[ow_rig_find(rig, "coil")].as.coil.is_fitted = false;
        rig->parts[ow_rig_find(rig, "injection pump")].as.injection_pump.engine_w_k = 0.0;
        rig->engine.radiator_w_k = rig->engine.bay_loss_w_k = 0.0;
        rig->engine.cab_heater_w_k = ua;
        rig->drive.leg_count = 1;
        rig->drive.legs[0] = (OwLeg){.name = "idle", .duration_s = 30000.0};
        OwPlan *plan = ow_support_plan(rig);
        OwMorning *morning = run(plan, 0.0, 0.0, 0.01);
        const OwRecord *record = ow_morning_record(morning);
        const OwSample *end = &record->samples[record->sample_count - 1], *before = NULL;
        for (int i = 0; i < record->sample_count && record->samples[i].time_s <= record->start_s; i++) {
            before = &record->samples[i];
        }
        assert_true(record->has_started && before != NULL);
        assert_true(fabs(before->coolant_k - 268.15) < 1e-3);
        const double rate_w_k = 0.15 * 3500.0 * end->engine_rad_s / rig->engine.rated_speed_rad_s;
        const double heat_w =
            morning->start.in.coolant_heat_w * end->fuel_burned_m3_s / end->fuel_request_m3_s;
        const double want_k = 268.15 + heat_w / (rate_w_k * (1.0 - exp(-ua / rate_w_k)));
        print_message("  %3.0f W/K: coolant %.2f K, by hand %.2f K, energy gap %.2g\n", ua, end->coolant_k,
                      want_k, record->audit.energy_gap);
        assert_true(fabs(end->coolant_k - want_k) < 0.05);
        assert_true(last_k == 0.0 || end->coolant_k < last_k);
        assert_true(record->audit.energy_gap <= 1e-6);
        last_k = end->coolant_k;
        ow_morning_destroy(&morning);
        ow_plan_destroy(&plan);
        ow_rig_destroy(&rig);
    }
}

/// Whatever the start's odd moment, each leg begins on its second and the engine stops on its own.
static void legs_on_their_second(void **state) {
    (void)state;
    for (double celsius = -3.0; celsius < 25.0; celsius += 1.37) {
        OwRig *rig = ow_support_single_tank(OW_ZERO_CELSIUS_K + celsius);
        rig->drive.leg_count = 4;
        for (int i = 0; i < 4; i++) {
            rig->drive.legs[i] = (OwLeg){
                .name = "leg", .duration_s = 61.3, .speed_m_s = i % 2 ? 11.1 : 0.0, .engine_off = i == 2};
        }
        OwPlan *plan = ow_support_plan(rig);
        OwMorning *morning = run(plan, 0.0, 0.0, 0.01);
        const OwRecord *record = ow_morning_record(morning);
        int starts = 0, stops = 0, legs = 0;
        double second_s = -1.0;
        for (int i = 0; i < record->event_count; i++) {
            const OwEvent *e = &record->events[i];
            starts += e->kind == OW_EVENT_START;
            second_s = e->kind == OW_EVENT_START && starts == 2 ? e->time_s : second_s;
            if (e->kind == OW_EVENT_STOP) {
                stops++;
                assert_true(fabs(e->time_s - record->start_s - plan->drive.stop_s) < 1e-6);
            }
            if (e->kind == OW_EVENT_LEG) {
                assert_int_equal((int)e->value, legs);
                if (legs < 3) {
                    assert_true(fabs(e->time_s - record->start_s - 61.3 * legs) < 1e-6);
                }
                legs++;
            }
        }
        assert_int_equal(starts, 2);
        assert_int_equal(stops, 1);
        assert_int_equal(legs, 4);
        assert_true(fabs(record->end_s - second_s - 61.3) < 1e-6); // the drive waited for the second start
        ow_morning_destroy(&morning);
        ow_plan_destroy(&plan);
        ow_rig_destroy(&rig);
    }
}

typedef struct Job {
    const OwPlan *plan;
    uint64_t digest;
} Job;

static void *work(void *context) {
    Job *job = context;
    const OwMorningSettings settings = ow_morning_default();
    OwMorning *morning = NULL;
    job->digest = 0;
    if (ow_morning_create(job->plan, &settings, &morning) == OW_OK) {
        for (int i = 0; i < 3; i++) {
            (void)ow_morning_repeat(morning);
            const uint64_t digest = ow_support_digest(ow_morning_record(morning));
            job->digest = i == 0 || digest == job->digest ? digest : 0; // every repeat the same
        }
    }
    ow_morning_destroy(&morning);
    return NULL;
}

/// Mornings side by side over one plan are the same to the last bit, and the same as one alone.
static void threads_share_nothing(void **state) {
    (void)state;
    OwRig *rigs[] = {ow_support_single_tank(268.15), ow_support_two_tanks(278.15)};
    for (int r = 0; r < 2; r++) {
        OwPlan *plan = ow_support_plan(rigs[r]);
        Job alone = {.plan = plan}, jobs[4];
        (void)work(&alone);
        assert_true(alone.digest != 0);
        pthread_t threads[4];
        for (int i = 0; i < 4; i++) {
            jobs[i] = (Job){.plan = plan};
            assert_int_equal(pthread_create(&threads[i], NULL, work, &jobs[i]), 0);
        }
        for (int i = 0; i < 4; i++) {
            assert_int_equal(pthread_join(threads[i], NULL), 0);
            assert_true(jobs[i].digest == alone.digest);
        }
        ow_plan_destroy(&plan);
        ow_rig_destroy(&rigs[r]);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(third_order),
        cmocka_unit_test(falls_with_the_step),
        cmocka_unit_test(thermostat_period),
        cmocka_unit_test(front_spread),
        cmocka_unit_test(cells_converge),
        cmocka_unit_test(balances),
        cmocka_unit_test(cab_heater),
        cmocka_unit_test(legs_on_their_second),
        cmocka_unit_test(threads_share_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
