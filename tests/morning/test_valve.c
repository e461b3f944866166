// SPDX-License-Identifier: GPL-3.0-or-later
// A valve takes its travel time from one position to another: partly open on both sides meanwhile, there on
// the second, half the way back from half-way, and heat and volume are kept.
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "morning/morning_impl.h"
#include "support_rigs.h"

#define PI 3.14159265358979323846

static OwRig *rig_of(double travel_s, double first_s, double second_s) {
    OwRig *rig = ow_support_single_tank(278.15);
    rig->parts[ow_rig_find(rig, "loop valve")].as.valve.travel_s = travel_s;
    (void)ow_support_rule(rig, OW_TRIGGER_AFTER_KEY, NULL, first_s, "loop valve", 1);
    if (second_s > 0.0) {
        (void)ow_support_rule(rig, OW_TRIGGER_AFTER_KEY, NULL, second_s, "loop valve", 0);
    }
    return rig;
}

static OwMorning *run(const OwPlan *plan, double until_s) {
    OwMorningSettings settings = ow_morning_default();
    settings.until_s = until_s;
    settings.has_full_load = false;
    OwMorning *morning;
    assert_int_equal(ow_morning_create(plan, &settings, &morning), OW_OK);
    assert_int_equal(ow_morning_repeat(morning), OW_OK);
    return morning;
}

static void close_to(double got, double want, double tolerance) {
    if (!(fabs(got - want) <= tolerance)) {
        fail_msg("%.12g, wanted %.12g within %.3g", got, want, tolerance);
    }
}

/// Flow of the valve's side a or b where the run stopped, and the drop over it.
static void side(const OwMorning *morning, int port, double *flow_m3_s, double *drop_pa, double *density) {
    const OwPlan *plan = morning->plan;
    const OwPlanPart *part = &plan->parts[ow_rig_find(plan->rig, "loop valve")];
    const OwLink *link = &morning->system->links[part->link_first + port - 1];
    *flow_m3_s = link->flow_m3_s;
    *drop_pa = link->drop_pa;
    *density = link->density_kg_m3;
}

/// Straight in time between the two positions; the loss is that of a bore narrowed to the share that is open:
/// dp = K rho Q^2 / (2 (x A)^2), and of the jet behind it, (1/x - 1)^2 rho Q^2 / (2 A^2) (sudden expansion,
/// Borda and Carnot), by hand.
static void opens_evenly(void **state) {
    (void)state;
    OwRig *rig = rig_of(20.0, 10.0, 0.0);
    OwPlan *plan = ow_support_plan(rig);
    const OwValve *valve = &rig->parts[ow_rig_find(rig, "loop valve")].as.valve;
    const double area_m2 = 0.25 * PI * valve->loss_bore_m * valve->loss_bore_m;
    for (double at_s = 12.0; at_s < 30.0; at_s += 4.0) {
        OwMorning *morning = run(plan, at_s);
        const double b_open = (at_s - 10.0) / 20.0;
        for (int port = 1; port <= 2; port++) {
            const double open = port == 2 ? b_open : 1.0 - b_open;
            double flow, drop, density;
            side(morning, port, &flow, &drop, &density);
            close_to(ow_system_valve_open(morning->system, ow_rig_find(rig, "loop valve"), port, at_s), open,
                     1e-12);
            // The tank's side may be passed either way: the loss goes with the flow. 1e4 Pa s/m3 is the least
            // resistance of any link.
            const double loss = density * flow * fabs(flow) / (2.0 * pow(area_m2, 2.0)) *
                                    (valve->loss_k / (open * open) + pow(1.0 / open - 1.0, 2.0)) +
                                1e4 * flow;
            assert_true(fabs(flow) > 1e-9);
            close_to(drop, loss, 1e-6 * fabs(loss) + 1e-6);
        }
        ow_morning_destroy(&morning);
    }
    ow_plan_destroy(&plan);
    ow_rig_destroy(&rig);
}

static bool has_sample_at(const OwRecord *record, double time_s) {
    for (int s = 0; s < record->sample_count; s++) {
        if (fabs(record->samples[s].time_s - time_s) < 1e-9) {
            return true;
        }
    }
    return false;
}

/// It sets out and arrives on the second; turned back after a quarter of its way it needs a quarter of the
/// time.
static void arrives_on_the_second(void **state) {
    (void)state;
    OwRig *rig = rig_of(20.0, 10.0, 15.0);
    OwPlan *plan = ow_support_plan(rig);
    OwMorning *morning = run(plan, 60.0);
    const OwRecord *record = ow_morning_record(morning);
    assert_true(has_sample_at(record, 10.0));
    assert_true(has_sample_at(record, 15.0));
    assert_true(has_sample_at(record, 20.0));
    int moves = 0;
    for (int e = 0; e < record->event_count; e++) {
        moves += record->events[e].kind == OW_EVENT_VALVE;
    }
    assert_int_equal(moves, 2);
    double flow, drop, density;
    side(morning, 2, &flow, &drop, &density);
    close_to(flow, 0.0, 1e-12);
    ow_morning_destroy(&morning);
    ow_plan_destroy(&plan);
    ow_rig_destroy(&rig);
}

/// Heat and volume are kept whatever the travel, a move costs a few steps only, and a short travel nears
/// none.
static void keeps_the_balance(void **state) {
    (void)state;
    const double travels[] = {0.0, 0.5, 5.0, 20.0, 120.0};
    double still_k = 0.0;
    long still_steps = 0;
    for (size_t i = 0; i < sizeof travels / sizeof travels[0]; i++) {
        OwRig *rig = rig_of(travels[i], 60.0, 0.0);
        OwPlan *plan = ow_support_plan(rig);
        OwMorning *morning = run(plan, 600.0);
        const OwRecord *record = ow_morning_record(morning);
        const double inlet_k = record->samples[record->sample_count - 1].inlet_k;
        print_message("  travel %5.1f s: inlet %.4f K, %ld steps, energy gap %.2g, volume gap %.2g\n",
                      travels[i], inlet_k, record->stats.steps, record->audit.energy_gap,
                      record->audit.volume_gap);
        assert_true(record->audit.energy_gap <= 1e-6);
        assert_true(record->audit.volume_gap <= 1e-6);
        if (i == 0) {
            still_k = inlet_k;
            still_steps = record->stats.steps;
        } else {
            assert_true(record->stats.steps <= still_steps + 60);
            assert_true(travels[i] > 0.5 || fabs(inlet_k - still_k) < 0.05);
        }
        ow_morning_destroy(&morning);
        ow_plan_destroy(&plan);
        ow_rig_destroy(&rig);
    }
}

/// What the record shows of a valve is the side that its position opens, not always side a.
static void shows_the_open_side(void **state) {
    (void)state;
    OwRig *rig = rig_of(0.5, 10.0, 0.0);
    const int p = ow_rig_find(rig, "loop valve");
    assert_true(rig->parts[p].as.valve.opens_b[1] && !rig->parts[p].as.valve.opens_a[1]);
    OwPlan *plan = ow_support_plan(rig);
    for (int port = 1; port <= 2; port++) {
        OwMorning *morning = run(plan, port == 1 ? 5.0 : 30.0);
        const OwRecord *record = ow_morning_record(morning);
        const OwPartSample *s =
            &record->parts[(size_t)(record->sample_count - 1) * (size_t)record->part_count + (size_t)p];
        double flow, drop, density;
        side(morning, port, &flow, &drop, &density);
        const OwPlanPart *part = &plan->parts[p];
        assert_int_equal(s->position, port - 1);
        close_to(s->flow_m3_s, flow, 1e-15);
        close_to(s->in_pa, morning->system->nodes[part->port_node[0]].pressure_pa, 1e-9);
        close_to(s->out_pa, morning->system->nodes[part->port_node[port]].pressure_pa, 1e-9);
        ow_morning_destroy(&morning);
    }
    ow_plan_destroy(&plan);
    ow_rig_destroy(&rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(opens_evenly),
        cmocka_unit_test(arrives_on_the_second),
        cmocka_unit_test(keeps_the_balance),
        cmocka_unit_test(shows_the_open_side),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
