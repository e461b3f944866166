// SPDX-License-Identifier: GPL-3.0-or-later
// Settling: Stokes and drag against worked examples, hindering, cooling tanks, size distributions, currents.
#include "near.h"

static OwFluid rapeseed, plain;

/// Worked examples. Geankoplis, Transport Processes and Unit Operations, problem after example 14.3-1: dust
/// of 60 um and 1280 kg/m3 in air of 1.202 kg/m3 and 1.828e-5 Pa s falls at 0.14 m/s. Seader, Henley & Roper,
/// Separation Process Principles, problem 19.10: cells of 0.7 um, 30 kg/m3 heavier than a broth of 1.02e-3 Pa
/// s, at 7.85e-9 m/s.
static void test_stokes(void **state) {
    (void)state;
    near(ow_yard_stokes(60e-6, 1280.0 - 1.202, 1.828e-5), 0.14, 0.02);
    near(ow_yard_stokes(0.7e-6, 30.0, 1.02e-3), 7.85e-9, 1e-3);
    // The formula for the task itself: 100 um water drops, 80 kg/m3 heavier: 0.58 m a day at 65 mPa s, 3.1
    // at 12.
    near(86400.0 * ow_yard_stokes(100e-6, 80.0, 65e-3), 0.58, 0.01);
    near(86400.0 * ow_yard_stokes(100e-6, 80.0, 12e-3), 3.1, 0.02);
    near(ow_yard_stokes(100e-6, -80.0, 65e-3), -ow_yard_stokes(100e-6, 80.0, 65e-3), 1e-12);
}

/// Hadamard 1911, Rybczynski 1911: limits of a hard drop and of a bubble; equal viscosities 6/5.
static void test_mobile(void **state) {
    (void)state;
    near(ow_yard_mobile(1e-3, 1e6), 1.0, 1e-6);
    near(ow_yard_mobile(1.0, 1e-9), 1.5, 1e-6);
    near(ow_yard_mobile(0.05, 0.05), 1.2, 1e-12);
}

/// Drag coefficient that a terminal speed implies, against the standard curve of the sphere (Lapple &
/// Shepherd 1940, Ind. Eng. Chem. 32:605: 26.5 at Re 1, 4.1 at 10, 1.07 at 100, 0.46 at 1000; from memory), 6
/// %.
static void test_drag(void **state) {
    (void)state;
    static const double curve[][2] = {{1, 26.5}, {10, 4.1}, {100, 1.07}, {1000, 0.46}};
    double last = 0.0, last_re = 0.0;
    for (double d = 1e-6; d < 0.02; d *= 1.01) {
        const double v = ow_yard_terminal(d, 1500.0, 1000.0, 1e-3), re = v * d * 1e6;
        const double drag = 4.0 * OW_GRAVITY_M_S2 * d * 1.5 / (3.0 * v * v);
        assert_true(v > last); // faster with size
        for (int i = 0; i < 4; i++) {
            if (last_re < curve[i][0] && re >= curve[i][0]) {
                near(drag, curve[i][1], 0.06);
            }
        }
        last = v;
        last_re = re;
    }
    assert_true(last_re > 2000.0); // the sweep went through Newton's range
    near(ow_yard_terminal(10e-6, 80.0, 915.0, 0.06), ow_yard_stokes(10e-6, 80.0, 0.06), 1e-4);
    near(ow_yard_terminal(1e-3, -80.0, 915.0, 0.06), -ow_yard_terminal(1e-3, 80.0, 915.0, 0.06), 1e-12);
}

/// Richardson & Zaki 1954 (Trans. IChemE 32:35). Examination questions with n = 4.5 (here Re 0.323): 0.1 of
/// the lone speed at a volume share of 0.40; 4.44 of 22.1 at 0.30. Steinour's law as used by Geankoplis
/// (eq. 14.3-16), for 0.05: 0.73, other law, 10 %.
static void test_hindered(void **state) {
    (void)state;
    near(ow_yard_hindered(0.40, 0.323), 0.100, 0.01);
    near(ow_yard_hindered(0.30, 0.323), 4.44 / 22.1, 0.01);
    near(ow_yard_hindered(0.05, 1e-4), 0.95 * 0.95 * pow(10.0, -1.82 * 0.05), 0.10);
    near(ow_yard_hindered(0.05, 1e-4), pow(0.95, 4.65), 1e-12);
    near(ow_yard_hindered(0.05, 1e4), pow(0.95, 2.39), 1e-12);
    for (double re = 1e-3; re < 1e4; re *= 1.1) {
        assert_true(ow_yard_hindered(0.2, re * 1.1) >= ow_yard_hindered(0.2, re) * (1.0 - 1e-12));
    }
}

static void test_tank(void **state) {
    (void)state;
    const OwSettle water = {.oil = &rapeseed, .height_m = 0.8};
    const OwCooling still = {C(60), C(15), 0.0};
    // Constant temperature: height over speed, and the cut is the inverse.
    const OwYardTime time = ow_yard_settle_time(&water, 50e-6, &still);
    assert_int_equal(time.reach, OW_REACH_YES);
    near(time.time_s, 0.8 / ow_yard_settle_speed(&water, 50e-6, C(60)), 1e-9);
    near(ow_yard_settle_cut(&water, &still, time.time_s), 50e-6, 1e-6);
    // The same at every size and temperature, by (d1/d2)^2.
    for (double t = 5.0; t < 90.0; t += 1.0) {
        const OwCooling at = {C(t), C(15), 0.0};
        const double one = ow_yard_settle_time(&water, 100e-6, &at).time_s;
        for (double d = 8e-6; d < 99e-6; d *= 1.3) {
            near(ow_yard_settle_time(&water, d, &at).time_s, one * 1e-8 / (d * d),
                 5e-3); // drag is a shade over Stokes' at 100 um
        }
        // A tank that hardly cools takes as long as one that does not.
        const OwCooling slow = {C(t), C(t) - 1e-9, 1e5};
        near(ow_yard_settle_time(&water, 100e-6, &slow).time_s, one, 1e-7);
    }
    // By hand: Stokes with the fluid's own numbers.
    OwOilState oil;
    ow_oil_state(&rapeseed, C(60), &oil);
    near(ow_yard_settle_speed(&water, 50e-6, C(60)),
         ow_yard_stokes(50e-6, ow_water_density(C(60)) - oil.density_kg_m3, oil.dynamic_pa_s), 1e-3);
    // Warmer and larger is faster.
    for (double t = 5.0; t < 90.0; t += 5.0) {
        const OwCooling at = {C(t), C(15), 0.0}, next = {C(t + 5.0), C(15), 0.0};
        assert_true(ow_yard_settle_time(&water, 50e-6, &next).time_s <
                    ow_yard_settle_time(&water, 50e-6, &at).time_s);
    }
    double last = 1.0;
    for (double s = 600.0; s < 3e7; s *= 2.0) {
        const double cut = ow_yard_settle_cut(&water, &still, s);
        assert_true(cut <= last);
        last = cut;
    }
}

/// A cooling tank against a fine sum done here; between the hot and the cold tank.
static void test_cooling(void **state) {
    (void)state;
    const OwSettle water = {.oil = &rapeseed, .height_m = 0.8};
    const OwCooling cooling = {C(70), C(10), 8.0 * 3600.0};
    near(ow_cooling_value(&cooling, 8.0 * 3600.0), C(10) + 60.0 * exp(-1.0), 1e-12);
    near(ow_cooling_time(&cooling, C(10) + 60.0 * exp(-1.0)).time_s, 8.0 * 3600.0, 1e-9);
    assert_int_equal(ow_cooling_time(&cooling, C(5)).reach, OW_REACH_NEVER);
    assert_int_equal(ow_cooling_time(&cooling, C(75)).reach, OW_REACH_NEVER);
    const double span = 30.0 * 3600.0;
    double sum = 0.0;
    const int n = 20000;
    for (int i = 0; i < n; i++) {
        sum +=
            span / n * ow_yard_settle_speed(&water, 60e-6, ow_cooling_value(&cooling, (i + 0.5) * span / n));
    }
    near(ow_yard_settle_way(&water, 60e-6, &cooling, span), sum, 1e-6);
    // Past eight time constants it falls as in a tank that was always cold: sixteen more hours of it.
    const double late = 9.0 * cooling.constant_s, later = late + 16.0 * 3600.0;
    near(ow_yard_settle_way(&water, 60e-6, &cooling, later) -
             ow_yard_settle_way(&water, 60e-6, &cooling, late),
         16.0 * 3600.0 * ow_yard_settle_speed(&water, 60e-6, C(10)), 1e-9);
    const OwYardTime time = ow_yard_settle_time(&water, 60e-6, &cooling);
    const OwCooling hot = {C(70), C(10), 0.0}, cold = {C(10), C(10), 0.0};
    assert_true(time.time_s > ow_yard_settle_time(&water, 60e-6, &hot).time_s);
    assert_true(time.time_s < ow_yard_settle_time(&water, 60e-6, &cold).time_s);
    near(ow_yard_settle_way(&water, 60e-6, &cooling, time.time_s), 0.8, 1e-9);
}

/// What does not settle says why.
static void test_never(void **state) {
    (void)state;
    const OwCooling cold = {C(-5), C(-5), 0.0}, warm = {C(20), C(20), 0.0};
    const OwSettle water = {.oil = &rapeseed, .height_m = 0.8};
    OwYardTime t = ow_yard_settle_time(&water, 50e-6, &cold);
    assert_int_equal(t.reach, OW_REACH_NEVER);
    assert_non_null(strstr(t.reason, "frozen"));
    const OwSettle light = {.oil = &rapeseed, .kind = OW_GRAIN_CRUMB, .grain_kg_m3 = 900.0, .height_m = 0.8};
    t = ow_yard_settle_time(&light, 50e-6, &warm);
    assert_int_equal(t.reach, OW_REACH_NEVER);
    assert_non_null(strstr(t.reason, "no heavier"));
    near(ow_yard_settle_cut(&light, &warm, 1e6), 0.01, 1e-12);
    t = ow_yard_settle_time(&water, 0.1e-6, &warm);
    assert_int_equal(t.reach, OW_REACH_NEVER);
    assert_non_null(strstr(t.reason, "ten years"));
    const OwSettle crumb = {.oil = &rapeseed, .kind = OW_GRAIN_CRUMB, .height_m = 0.8};
    assert_int_equal(ow_yard_settle_time(&crumb, 50e-6, &warm).reach, OW_REACH_YES);
}

/// Share removed: the analytic forms against sums over the distribution done here.
static void test_sizes(void **state) {
    (void)state;
    const OwSizes both[] = {{OW_SIZES_LOG_NORMAL, 40e-6, 0.9},
                            {OW_SIZES_ROSIN_RAMMLER, 100e-6, 0.9},
                            {OW_SIZES_ROSIN_RAMMLER, 30e-6, 2.5}};
    for (int k = 0; k < 3; k++) {
        double last = 1.0;
        for (double cut = 1e-6; cut < 1e-3; cut *= 1.7) {
            double still = 0.0, stirred = 0.0;
            const int n = 40000;
            const double low = log(1e-10), high = log(1.0);
            for (int i = 0; i < n; i++) {
                const double a = exp(low + (high - low) * i / n), b = exp(low + (high - low) * (i + 1) / n),
                             x = sqrt(a * b) / cut;
                const double mass = ow_sizes_coarser(&both[k], a) - ow_sizes_coarser(&both[k], b);
                still += mass * fmin(x * x, 1.0);
                stirred += mass * (1.0 - exp(-x * x));
            }
            const double removed = ow_sizes_removed(&both[k], cut);
            near(removed, still, 2e-4);
            near(ow_sizes_removed_stirred(&both[k], cut), stirred, 2e-3);
            assert_true(ow_sizes_removed_stirred(&both[k], cut) < removed);
            assert_true(removed <= last && removed >= ow_sizes_coarser(&both[k], cut));
            last = removed;
        }
        near(ow_sizes_removed(&both[k], 0.0), 1.0, 1e-12);
    }
    near(ow_sizes_coarser(&both[0], 40e-6), 0.5, 1e-12);        // median
    near(ow_sizes_coarser(&both[1], 100e-6), exp(-1.0), 1e-12); // Rosin & Rammler 1933
    // All of one size: a tank settled half way to that size has taken half (Hazen 1904).
    const OwSizes one = {OW_SIZES_LOG_NORMAL, 50e-6, 1e-3};
    near(ow_sizes_removed(&one, 50e-6 * sqrt(2.0)), 0.5, 1e-3);
    near(ow_sizes_removed_stirred(&one, 50e-6), 1.0 - exp(-1.0), 1e-3);
}

/// A heated tank is no settling tank; without a difference it is.
static void test_still(void **state) {
    (void)state;
    const OwSettle water = {.oil = &rapeseed, .height_m = 0.8};
    OwStill s = ow_yard_still(&water, C(60), 10.0, 50e-6);
    assert_false(s.is_still);
    assert_true(s.speed_m_s > 100.0 * ow_yard_settle_speed(&water, 50e-6, C(60)));
    assert_non_null(strstr(s.text, "without heat"));
    // Ra by hand: expansion of the density curve, 1/K; nu, alpha of the fluid.
    OwOilState a, b;
    ow_oil_state(&rapeseed, C(60), &a);
    ow_oil_state(&rapeseed, C(65), &b);
    const double beta = (a.density_kg_m3 - b.density_kg_m3) / (5.0 * a.density_kg_m3);
    assert_true(beta > 6e-4 && beta < 9e-4);
    near(s.rayleigh,
         OW_GRAVITY_M_S2 * beta * 10.0 * 0.512 /
             (a.kinematic_m2_s * a.conductivity_w_mk / (a.density_kg_m3 * a.specific_heat_j_kgk)),
         1e-9);
    s = ow_yard_still(&water, C(60), 0.0, 50e-6);
    assert_true(s.is_still && s.rayleigh == 0.0);
    // Below the onset of convection (Rayleigh 1916; 1708 between rigid plates) a thin layer is still, however
    // slow the grain.
    const OwSettle layer = {.oil = &rapeseed, .height_m = 5e-3};
    s = ow_yard_still(&layer, C(20), 0.5, 1e-6);
    assert_true(s.rayleigh > 1.0 && s.rayleigh < 1708.0 && s.is_still);
    assert_true(s.speed_m_s > 100.0 * ow_yard_settle_speed(&layer, 1e-6, C(20)));
    // And past it a grain that falls ten times as fast as the current is not held up by it.
    s = ow_yard_still(&water, C(20), 1e-3, 5e-3);
    assert_true(s.rayleigh > 1708.0 && s.is_still);
    assert_true(s.speed_m_s <= 0.1 * ow_yard_settle_speed(&water, 5e-3, C(20)));
}

static int setup(void **state) {
    (void)state;
    make_oil("rapeseed", &rapeseed);
    make_plain(0.06, 915.0, &plain);
    return 0;
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_stokes),   cmocka_unit_test(test_mobile), cmocka_unit_test(test_drag),
        cmocka_unit_test(test_hindered), cmocka_unit_test(test_tank),   cmocka_unit_test(test_cooling),
        cmocka_unit_test(test_never),    cmocka_unit_test(test_sizes),  cmocka_unit_test(test_still)};
    return cmocka_run_group_tests(tests, setup, NULL);
}
