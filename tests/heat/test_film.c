// SPDX-License-Identifier: GPL-3.0-or-later
// Correlations of heat transfer against published values, their limits, and rest.
#include "support.h"

#include "oilwright/heat.h"

static void churchill_chu(void **state) {
    (void)state;
    // Cengel, Heat Transfer, 2nd ed., example 9-1: horizontal pipe, Ra 1.867e6, Pr 0.7241, Nu 17.39 (17.40 in
    // some printings).
    assert_near(ow_heat_churchill_chu(1.867e6, 0.7241), 17.39, 0.015);
    // Still air: (0.60)^2, Churchill & Chu 1975, Int. J. Heat Mass Transfer 18:1049.
    assert_near(ow_heat_churchill_chu(0.0, 0.7), 0.36, 0.0);
    assert_near(ow_heat_churchill_chu(1e-12, 0.7), 0.36, 0.01);
    // Turbulent end: Nu ~ Ra^(1/3).
    const double ratio = ow_heat_churchill_chu(1e24, 0.7) / ow_heat_churchill_chu(1e21, 0.7);
    assert_near(ratio, 10.0, 0.01);
}

static void churchill_bernstein(void **state) {
    (void)state;
    // Incropera, DeWitt, Bergman & Lavine 2007, example 7.4: Re 6071, Pr 0.70, Nu 40.6.
    assert_near(ow_heat_churchill_bernstein(6071.0, 0.70), 40.6, 0.05);
    // The same formula to more digits, worked apart.
    assert_near(ow_heat_churchill_bernstein(6071.0, 0.70), 40.637086, 1e-6);
    assert_near(ow_heat_churchill_bernstein(0.0, 0.7), 0.3, 0.0);
}

static void laminar(void **state) {
    (void)state;
    // Hausen and Sieder-Tate at Gz 11000: worked values of the formulas (Incropera eq. 8.57 and 8.58).
    assert_near(ow_heat_hausen(11000.0), 39.0135, 5e-5);
    assert_near(ow_heat_sieder_tate(11000.0, 1.0), 41.3660, 5e-5);
    // Fully developed, constant wall temperature: Nu 3.66 (Incropera table 8.1).
    assert_near(ow_heat_hausen(0.0), 3.66, 0.0);
    assert_near(ow_heat_hausen(1e-9), 3.66, 1e-9);
    assert_near(ow_heat_sieder_tate(0.0, 1.0), 3.66, 0.0);
    // Outside its validity Sieder-Tate hands over to the developed value; the step there is 1.6 %.
    assert_near(ow_heat_sieder_tate(7.999, 1.0), 3.66, 0.0);
    assert_near(ow_heat_sieder_tate(8.001, 1.0), 3.72, 1e-3);
    // Thin oil at a hot wall takes heat better: the ratio to the power 0.14.
    assert_near(ow_heat_sieder_tate(1000.0, 10.0) / ow_heat_sieder_tate(1000.0, 1.0), pow(10.0, 0.14), 1e-12);
}

static void turbulent(void **state) {
    (void)state;
    // Gnielinski 1976 at Re 1e5, Pr 1.2, f 0.0185: worked value of the formula, quoted in a published code
    // test.
    assert_near(ow_heat_gnielinski(1e5, 1.2, 0.0185), 254.6268, 5e-5);
    assert_near(ow_heat_gnielinski(500.0, 100.0, 0.1), 3.66, 0.0);
    // Pr 1 leaves only f/8 (Re - 1000).
    assert_near(ow_heat_gnielinski(5e4, 1.0, 0.02), 0.0025 * 49000.0, 1e-9);
}

static void exchanger(void **state) {
    (void)state;
    assert_near(ow_heat_exchanger(50.0, 0.0), 0.0, 0.0);
    assert_near(ow_heat_exchanger(0.0, 50.0), 0.0, 0.0);
    // One transfer unit: effectiveness 1 - 1/e (Incropera eq. 11.35a).
    assert_near(ow_heat_exchanger(80.0, 80.0), 80.0 * (1.0 - exp(-1.0)), 1e-12);
    // Ends: all of the stream's capacity, all of the conductance.
    assert_near(ow_heat_exchanger(1e6, 3.0), 3.0, 1e-12);
    assert_near(ow_heat_exchanger(3.0, 1e9), 3.0, 1e-7);
}

static void radiation(void **state) {
    (void)state;
    // h (T1 - T2) must be e s (T1^4 - T2^4) exactly; black body at 1000 K radiates 56.7 kW/m2 (Incropera
    // sect. 12.3).
    assert_near(ow_heat_radiation(1.0, 1000.0, 0.0) * 1000.0, 56703.74, 0.01);
    const double h = ow_heat_radiation(0.8, 353.0, 268.0);
    assert_near(h * 85.0, 0.8 * 5.670374419e-8 * (pow(353.0, 4) - pow(268.0, 4)), 1e-9);
}

static void air(void **state) {
    (void)state;
    double k, nu, pr;
    // Incropera 2007 table A.4 at 350 K.
    ow_heat_air(350.0, &k, &nu, &pr);
    assert_near(k, 30.0e-3, 1e-15);
    assert_near(nu, 20.92e-6, 1e-18);
    assert_near(pr, 0.700, 1e-15);
    // Between rows a straight line; beside the power law of Sutherland's viscosity that is within 1 %.
    ow_heat_air(275.0, &k, &nu, &pr);
    assert_near(k, 24.3e-3, 1e-15);
    double k_low, k_high;
    ow_heat_air(100.0, &k_low, &nu, &pr);
    assert_near(k_low, 18.1e-3, 0.0);
    ow_heat_air(900.0, &k_high, &nu, &pr);
    assert_near(k_high, 37.3e-3, 1e-15);
}

static void rising(void **state) {
    (void)state;
    double last[5] = {0};
    for (double x = 1e-6; x < 1e11; x *= 1.3) {
        const double now[] = {ow_heat_hausen(x), ow_heat_sieder_tate(x, 1.0),
                              ow_heat_gnielinski(x, 5.0, 0.02), ow_heat_churchill_chu(x, 0.7),
                              ow_heat_churchill_bernstein(x, 0.7)};
        for (int i = 0; i < 5; i++) {
            assert_true(isfinite(now[i]) && now[i] > 0.0);
            assert_true(now[i] >= last[i]);
            last[i] = now[i];
        }
    }
    for (double c = 1e-3; c < 1e4; c *= 1.5) {
        const double g = ow_heat_exchanger(20.0, c);
        assert_true(g > 0.0 && g <= c && g <= 20.0 && g <= ow_heat_exchanger(20.0, 1.5 * c));
    }
}

/// Nonsense gives the value at rest, never NaN.
static void nonsense(void **state) {
    (void)state;
    const double bad[] = {NAN, -1.0, -INFINITY};
    for (int i = 0; i < 3; i++) {
        assert_near(ow_heat_hausen(bad[i]), 3.66, 0.0);
        assert_near(ow_heat_sieder_tate(bad[i], 1.0), 3.66, 0.0);
        assert_near(ow_heat_sieder_tate(100.0, bad[i]), 3.66, 0.0);
        assert_near(ow_heat_gnielinski(bad[i], 5.0, 0.02), 3.66, 0.0);
        assert_near(ow_heat_churchill_chu(bad[i], 0.7), 0.36, 0.0);
        assert_near(ow_heat_churchill_bernstein(bad[i], 0.7), 0.3, 0.0);
        assert_near(ow_heat_exchanger(bad[i], 5.0), 0.0, 0.0);
        assert_near(ow_heat_exchanger(5.0, bad[i]), 0.0, 0.0);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(churchill_chu), cmocka_unit_test(churchill_bernstein),
        cmocka_unit_test(laminar),       cmocka_unit_test(turbulent),
        cmocka_unit_test(exchanger),     cmocka_unit_test(radiation),
        cmocka_unit_test(air),           cmocka_unit_test(rising),
        cmocka_unit_test(nonsense),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
