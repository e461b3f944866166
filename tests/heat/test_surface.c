// SPDX-License-Identifier: GPL-3.0-or-later
// Outer surfaces: the tables against the correlations they stand for, mixing, insulation, order.
#include "support.h"

#include "oilwright/heat.h"

static double direct_natural(double diameter_m, double rise_k, double reference_k) {
    double k, nu, pr;
    const double film_k = reference_k + 0.5 * rise_k;
    ow_heat_air(film_k, &k, &nu, &pr);
    const double ra = 9.80665 / film_k * rise_k * pow(diameter_m, 3) * pr / (nu * nu);
    return ow_heat_churchill_chu(ra, pr) * k / diameter_m;
}

static double direct_forced(double diameter_m, double speed_m_s, double reference_k) {
    double k, nu, pr;
    ow_heat_air(reference_k + 10.0, &k, &nu, &pr);
    return ow_heat_churchill_bernstein(speed_m_s * diameter_m / nu, pr) * k / diameter_m;
}

static const double diameters_m[] = {0.012, 0.03, 0.1, 0.4};
static const double references_k[] = {253.15, 273.15, 303.15};

/// Free convection: within 0.5 % above 4 K of difference. Between the first rows of the table the law bends
/// like the fourth root; there 5.5 %, at a film so weak that with the radiation of painted metal 2 % are
/// left.
static void natural(void **state) {
    (void)state;
    double worst_low = 0.0, worst_high = 0.0, worst_painted = 0.0;
    for (int d = 0; d < 4; d++) {
        for (int r = 0; r < 3; r++) {
            OwSurface surface;
            ow_heat_surface_make(0.5, diameters_m[d], 0.0, 0.0, 0.0, references_k[r], &surface);
            for (double rise = 0.5; rise < 238.0; rise += 0.37) {
                const double got =
                    ow_heat_surface_value(&surface, references_k[r] + rise, references_k[r], 0.0);
                const double wanted = 0.5 * direct_natural(diameters_m[d], rise, references_k[r]);
                const double error = fabs(got / wanted - 1.0);
                double *worst = rise < 4.0 ? &worst_low : &worst_high;
                *worst = fmax(*worst, error);
                const double glow = 0.5 * ow_heat_radiation(0.9, references_k[r] + rise, references_k[r]);
                worst_painted = fmax(worst_painted, fabs(got - wanted) / (wanted + glow));
            }
        }
    }
    print_message("free convection table: worst %.2g under 4 K, %.2g above, painted %.2g\n", worst_low,
                  worst_high, worst_painted);
    assert_true(worst_low < 0.055);
    assert_true(worst_high < 0.005);
    assert_true(worst_painted < 0.025);
}

/// Cross flow: within 0.5 % above 3 m/s, 3 % at walking pace.
static void forced(void **state) {
    (void)state;
    double worst_low = 0.0, worst_high = 0.0;
    for (int d = 0; d < 4; d++) {
        OwSurface surface;
        ow_heat_surface_make(1.0, diameters_m[d], 0.0, 0.0, 0.5, 273.15, &surface);
        for (double speed = 1.0; speed < 59.5; speed += 0.13) {
            // No difference between wall and air leaves the table's still-air value, small in the fourth
            // power.
            const double still = direct_natural(diameters_m[d], 0.25, 273.15);
            const double wanted =
                pow(pow(direct_forced(diameters_m[d], speed, 273.15), 4) + pow(still, 4), 0.25);
            const double got = ow_heat_surface_value(&surface, 273.15, 273.15, 2.0 * speed);
            double *worst = speed < 3.0 ? &worst_low : &worst_high;
            *worst = fmax(*worst, fabs(got / wanted - 1.0));
        }
    }
    print_message("cross flow table: worst %.2g under 3 m/s, %.2g above\n", worst_low, worst_high);
    assert_true(worst_low < 0.03);
    assert_true(worst_high < 0.005);
}

static void parts_add_up(void **state) {
    (void)state;
    OwSurface bare, black, lagged;
    ow_heat_surface_make(0.2, 0.05, 0.0, 0.0, 0.3, 273.15, &bare);
    ow_heat_surface_make(0.2, 0.05, 0.9, 0.0, 0.3, 273.15, &black);
    ow_heat_surface_make(0.2, 0.05, 0.9, 4.0, 0.3, 273.15, &lagged);
    const double g_bare = ow_heat_surface_value(&bare, 333.15, 273.15, 20.0);
    const double g_black = ow_heat_surface_value(&black, 333.15, 273.15, 20.0);
    const double g_lagged = ow_heat_surface_value(&lagged, 333.15, 273.15, 20.0);
    assert_near(g_black - g_bare, 0.2 * ow_heat_radiation(0.9, 333.15, 273.15), 1e-12);
    assert_near(1.0 / g_lagged, 1.0 / g_black + 1.0 / (0.2 * 4.0), 1e-9);
    // A wind share of nothing: speed does not matter.
    OwSurface sheltered;
    ow_heat_surface_make(0.2, 0.05, 0.9, 0.0, 0.0, 273.15, &sheltered);
    assert_near(ow_heat_surface_value(&sheltered, 333.15, 273.15, 30.0),
                ow_heat_surface_value(&sheltered, 333.15, 273.15, 0.0), 0.0);
    // A wall as much colder as warmer, without radiation: the same table.
    assert_near(ow_heat_surface_value(&bare, 253.15, 273.15, 0.0),
                ow_heat_surface_value(&bare, 293.15, 273.15, 0.0), 1e-12);
}

static void rising(void **state) {
    (void)state;
    OwSurface surface;
    ow_heat_surface_make(0.2, 0.05, 0.9, 6.0, 0.35, 263.15, &surface);
    double last = 0.0;
    for (double rise = 0.0; rise < 600.0; rise += 1.3) {
        const double g = ow_heat_surface_value(&surface, 263.15 + rise, 263.15, 0.0);
        assert_true(isfinite(g) && g >= last);
        last = g;
    }
    last = 0.0;
    for (double speed = 0.0; speed < 400.0; speed += 0.7) {
        const double g = ow_heat_surface_value(&surface, 300.0, 263.15, speed);
        assert_true(isfinite(g) && g >= last);
        last = g;
    }
    assert_true(isfinite(ow_heat_surface_value(&surface, 300.0, 263.15, NAN)));
    assert_true(ow_heat_surface_value(&surface, 300.0, 263.15, -3.0) > 0.0);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(natural), cmocka_unit_test(forced),
                                       cmocka_unit_test(parts_add_up), cmocka_unit_test(rising)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
