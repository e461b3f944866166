// SPDX-License-Identifier: GPL-3.0-or-later
// Single links: friction, fill, each law's smoothness and its behaviour at its ends.
#include "net.h"

static void churchill_meets_published_values(void **state) {
    (void)state;
    // Churchill 1977, Chem. Eng. 84(24):91, equation evaluated in the literature at Re 1e5, e/D 1e-4:
    // 0.0184626.
    assert_near(ow_flow_friction(1e5, 1e-4), 0.0184626, 5e-8);
    // Hagen-Poiseuille 64/Re.
    assert_near(ow_flow_friction(500.0, 0.0), 0.128, 1e-15);
    // Colebrook 1939 in fully rough flow, 1/sqrt(f) = 2 log10(3.7/k): Churchill stays within 2 %.
    const double rough = 1.0 / pow(2.0 * log10(3.7 / 0.01), 2.0);
    assert_ratio(ow_flow_friction(1e8, 0.01), rough, 0.02);
}

/// The formula as printed, without shortcuts.
static double churchill(double re, double e) {
    const double a = pow(2.457 * log(1.0 / (pow(7.0 / re, 0.9) + 0.27 * e)), 16.0),
                 b = pow(37530.0 / re, 16.0);
    return 8.0 * pow(pow(8.0 / re, 12.0) + pow(a + b, -1.5), 1.0 / 12.0);
}

static void friction_is_the_formula_everywhere(void **state) {
    (void)state;
    for (double re = 1.0; re < 1e7; re *= 1.07) {
        assert_ratio(ow_flow_friction(re, 2e-4), churchill(re, 2e-4), 2e-14);
    }
    assert_ratio(ow_flow_friction(800.0 * (1.0 + 1e-12), 0.0), ow_flow_friction(800.0, 0.0), 2e-12);
    assert_true(isfinite(ow_flow_friction(0.0, 0.0)) && isfinite(ow_flow_friction(1e300, 1e300)));
    assert_true(isfinite(ow_flow_friction(-5.0, -1.0)));
}

static void drop_has_the_slope_it_says(void **state) {
    (void)state;
    OwLink pipe = {.law = OW_LINK_PIPE,
                   .linear_pa_s_m3 = 1e7,
                   .square_pa_s2_m6 = 1e12,
                   .static_pa = 300.0,
                   .bore_m = 0.008,
                   .roughness_m = 1e-5,
                   .kinematic_m2_s = 1e-6,
                   .density_kg_m3 = 900.0};
    for (double q = 1e-7; q < 1e-3; q *= 1.11) {
        double slope;
        const double h = 1e-5 * q, drop = ow_flow_drop(&pipe, q, &slope);
        const double measured =
            (ow_flow_drop(&pipe, q + h, NULL) - ow_flow_drop(&pipe, q - h, NULL)) / (2.0 * h);
        assert_ratio(slope, measured, 1e-5);
        assert_near(ow_flow_drop(&pipe, -q, NULL) - 300.0, 300.0 - drop, 1e-12 * fabs(drop) + 1e-9);
    }
    assert_near(ow_flow_drop(&pipe, 0.0, NULL), 300.0, 0.0);
}

static void fill_is_henrys_law(void **state) {
    (void)state;
    const double p0 = OW_ATMOSPHERE_PA;
    for (double p = 600.0; p < p0 - 2000.0; p += 1000.0) {
        double slope;
        assert_ratio(ow_flow_fill(p - p0, 0.1, &slope), 1.0 / (1.0 + 0.1 * (p0 - p) / p), 1e-14);
        const double h = 0.5;
        const double measured =
            (ow_flow_fill(p - p0 + h, 0.1, NULL) - ow_flow_fill(p - p0 - h, 0.1, NULL)) / (2.0 * h);
        assert_ratio(slope, measured, 1e-5);
    }
    double slope = 1.0;
    assert_near(ow_flow_fill(0.0, 0.1, &slope), 1.0, 0.0);
    assert_near(slope, 0.0, 0.0);
    assert_near(ow_flow_fill(1e6, 0.1, NULL), 1.0, 0.0);
    assert_near(ow_flow_fill(-p0, 0.1, NULL), 0.0, 0.0);
    assert_near(ow_flow_fill(-1e7, 0.1, NULL), 0.0, 0.0);
    assert_true(isfinite(ow_flow_fill(-5e4, 0.0, NULL)) && isfinite(ow_flow_fill(-5e4, 1e9, NULL)));
}

static double flow_between(OwLink link, double from_pa, double to_pa) {
    OwFlowNode nodes[2] = {FIXED(from_pa), FIXED(to_pa)};
    link.from = 0;
    link.to = link.law == OW_LINK_DEMAND ? -1 : 1;
    solve_net(nodes, 2, &link, 1);
    return link.flow_m3_s;
}

static void every_law_is_monotone_and_smooth(void **state) {
    (void)state;
    const OwLink laws[] = {
        {.law = OW_LINK_PIPE,
         .linear_pa_s_m3 = 1e7,
         .square_pa_s2_m6 = 1e11,
         .static_pa = 5e3,
         .bore_m = 0.006,
         .roughness_m = 1e-6,
         .kinematic_m2_s = 1e-6},
        {.law = OW_LINK_PIPE, .linear_pa_s_m3 = 1e7, .bore_m = 0.006, .kinematic_m2_s = 1e-6},
        {.law = OW_LINK_DARCY, .linear_pa_s_m3 = 1e9, .square_pa_s2_m6 = 1e14},
        {.law = OW_LINK_CHECK, .linear_pa_s_m3 = 1e9, .square_pa_s2_m6 = 1e13, .set_pa = 5e3},
        {.law = OW_LINK_RELIEF, .linear_pa_s_m3 = 1e9, .set_pa = 3e4},
        {.law = OW_LINK_PUMP, .drive = 0.8, .stall_pa = 5e4, .free_flow_m3_s = 3e-5, .square_pa_s2_m6 = 1e12},
        {.law = OW_LINK_PUMP,
         .drive = 0.8,
         .curve_count = 4,
         .curve_flow_m3_s = {0.0, 1e-5, 2e-5, 3e-5},
         .curve_pa = {5e4, 4e4, 2.5e4, 0.0}},
        {.law = OW_LINK_PUMP, .linear_pa_s_m3 = 1e9, .passes_when_off = true},
        {.law = OW_LINK_LIFT, .drive = 2e-5, .set_pa = 3e4, .linear_pa_s_m3 = 1e9},
        {.law = OW_LINK_TRANSFER, .drive = 2e-5},
        {.law = OW_LINK_DEMAND, .drive = 2e-5},
        {.law = OW_LINK_DEMAND, .drive = -2e-5},
        {.law = OW_LINK_CLOSED},
    };
    for (size_t k = 0; k < sizeof laws / sizeof laws[0]; k++) {
        // Scan both ends from below vacuum to over all set pressures; the slope of one step hardly differs
        // from the next.
        for (int side = 0; side < 2; side++) {
            const double step = 5.0;
            double before = NAN, slope_before = NAN, largest = 0.0, jump = 0.0;
            for (double p = -1.1e5; p < 8e4; p += step) {
                const double q = side == 0 ? flow_between(laws[k], p, -3e3) : flow_between(laws[k], 2e3, p);
                const double slope = (q - before) / step;
                assert_true(isfinite(q));
                if (!isnan(before)) {
                    assert_true(side == 0 ? q >= before : q <= before);
                    largest = fmax(largest, fabs(slope));
                }
                if (!isnan(slope_before)) {
                    jump = fmax(jump, fabs(slope - slope_before));
                }
                before = q;
                slope_before = isnan(slope) ? slope_before : slope;
            }
            // A corner would jump by the whole slope. The steepest bend (200 Pa) turns by 4/200 a pascal: 0.1
            // in 5 Pa; the square law about its laminar middle by somewhat more.
            if (jump > 0.25 * largest) {
                fail_msg("law %zu side %d: slope jumps %g of %g", k, side, jump, largest);
            }
        }
    }
}

/// Relative tolerance of laws that leak 1e-18 m3/s per Pa besides.
#define LEAKY 1e-8

static void check_and_relief_open_forward_only(void **state) {
    (void)state;
    const OwLink check = {
        .law = OW_LINK_CHECK, .linear_pa_s_m3 = 1e9, .square_pa_s2_m6 = 1e13, .set_pa = 5e3};
    const double q = flow_between(check, 3e4, 0.0);
    assert_ratio(1e9 * q + 1e13 * q * q, 2.5e4, LEAKY);
    assert_near(flow_between(check, 4.9e3, 0.0), 0.0, 1e-13);
    assert_near(flow_between(check, 0.0, 5e5), 0.0, 1e-12);
    const OwLink relief = {.law = OW_LINK_RELIEF, .linear_pa_s_m3 = 1e9, .set_pa = 1e5};
    assert_near(flow_between(relief, 9.9e4, 0.0), 0.0, 1e-12);
    assert_ratio(flow_between(relief, 1.5e5, 0.0), 5e-5, LEAKY);
}

static void pump_off_passes_or_shuts(void **state) {
    (void)state;
    OwLink pump = {.law = OW_LINK_PUMP, .stall_pa = 4e4, .free_flow_m3_s = 4e-5, .linear_pa_s_m3 = 1e9};
    assert_near(flow_between(pump, 2e4, 0.0), 0.0, 1e-12);
    pump.passes_when_off = true;
    assert_ratio(flow_between(pump, 2e4, 0.0), 2e-5, LEAKY);
    assert_near(flow_between(pump, 0.0, 2e4), 0.0, 1e-12);
    pump.drive = 1.0;
    assert_near(flow_between(pump, 0.0, 5e4), 0.0, 1e-12);
}

static void lift_pump_stops_at_its_spring(void **state) {
    (void)state;
    const OwLink lift = {.law = OW_LINK_LIFT, .drive = 2e-5, .set_pa = 3e4, .linear_pa_s_m3 = 1e8};
    assert_ratio(flow_between(lift, 0.0, 1e4), 2e-5, LEAKY);
    assert_ratio(flow_between(lift, 0.0, 2.55e4), 1e-5, LEAKY); // half way down the last 30 %
    assert_near(flow_between(lift, 0.0, 3e4), 0.0, 1e-12);
    assert_near(flow_between(lift, 0.0, 9e4), 0.0, 1e-12);
    assert_ratio(flow_between(lift, 3e4, 1e4), 2e-5 + 2e4 / 1e8, LEAKY);
}

static void transfer_pump_slips(void **state) {
    (void)state;
    const OwLink pump = {.law = OW_LINK_TRANSFER, .drive = 2e-5};
    assert_ratio(flow_between(pump, 0.0, 1.9e6), 2e-5, 1e-6);
    assert_ratio(flow_between(pump, 0.0, 2.25e6), 1e-5, 1e-6);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(churchill_meets_published_values),
        cmocka_unit_test(friction_is_the_formula_everywhere),
        cmocka_unit_test(drop_has_the_slope_it_says),
        cmocka_unit_test(fill_is_henrys_law),
        cmocka_unit_test(every_law_is_monotone_and_smooth),
        cmocka_unit_test(check_and_relief_open_forward_only),
        cmocka_unit_test(pump_off_passes_or_shuts),
        cmocka_unit_test(lift_pump_stops_at_its_spring),
        cmocka_unit_test(transfer_pump_slips),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
