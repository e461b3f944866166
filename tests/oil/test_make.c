// SPDX-License-Identifier: GPL-3.0-or-later
// Fluids from names, measured points, use and blends: against published viscosities, and bad input refused
// with the reason.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <string.h>

#include "oilwright/oil.h"

static void assert_near(double got, double want, double tolerance) {
    if (!(fabs(got - want) <= tolerance)) {
        print_error("got %.9g, want %.9g within %.3g\n", got, want, tolerance);
        fail();
    }
}

static OwOilSpec named(const char *name) {
    OwOilSpec spec = {0};
    strncpy(spec.name, name, sizeof spec.name - 1);
    return spec;
}

// ASTM D341 through 32 mm2/s at 40 degC and 5.4 at 100: arithmetic of the standard's equation gives 8.533 at
// 80 degC.
static void walther_worked_example(void **state) {
    (void)state;
    const OwViscosityPoint points[] = {{313.15, 32e-6}, {373.15, 5.4e-6}};
    double a, b;
    assert_int_equal(ow_oil_walther_fit(points, 2, &a, &b), OW_OK);
    assert_near(a, 9.53082, 2e-5);
    assert_near(b, 3.74658, 1e-5);
    assert_near(1e6 * ow_oil_walther_value(a, b, 353.15), 8.533, 0.001);
}

// Soybean of Noureddini, Teoh & Clements 1992 (JAOCS 69:1189): two points predict the others within the
// rounding of the table.
static void two_points_predict_soybean(void **state) {
    (void)state;
    OwOilSpec spec = named("my soybean");
    spec.points[0] = (OwViscosityPoint){297.05, 59e-6};
    spec.points[1] = (OwViscosityPoint){373.15, 8e-6};
    spec.point_count = 2;
    OwFluid fluid;
    assert_int_equal(ow_oil_make(&spec, &fluid, NULL), OW_OK);
    assert_near(1e6 * ow_curve_value(&fluid.kinematic_m2_s, 322.05), 26.0, 1.0);
    assert_near(1e6 * ow_curve_value(&fluid.kinematic_m2_s, 333.15), 18.0, 0.9);
    assert_near(1e6 * ow_curve_value(&fluid.kinematic_m2_s, 355.35), 11.0, 0.5);
}

static void every_name_makes_a_sound_fluid(void **state) {
    (void)state;
    for (const char *const *name = ow_oil_names(); *name; ++name) {
        const OwOilSpec spec = named(*name);
        OwFluid fluid;
        assert_int_equal(ow_oil_make(&spec, &fluid, NULL), OW_OK);
        double before = INFINITY;
        for (double t = 220.0; t < 460.0; t += 0.37) {
            const double v = ow_curve_value(&fluid.kinematic_m2_s, t);
            assert_true(v > 0.0 && v <= before && isfinite(v));
            before = v;
            if (ow_curve_value(&fluid.wax_share, t - 1.0) ==
                0.0) { // where crystals set in, v leaps within one knot
                assert_near(ow_curve_value(&fluid.log_kinematic, t), log(v), 3e-3);
            }
            const double rho = ow_curve_value(&fluid.density_kg_m3, t);
            assert_true(rho > 600.0 && rho < 1000.0);
            const double heat = ow_curve_value(&fluid.specific_heat_j_kgk, t);
            assert_true(heat > 1400.0 && heat < 2800.0);
            const double lambda = ow_curve_value(&fluid.conductivity_w_mk, t);
            assert_true(lambda > 0.08 && lambda < 0.2);
        }
        assert_true(fluid.air_solubility > 0.0 && fluid.net_heat_j_kg > 30e6 &&
                    fluid.surface_tension_n_m > 0.02);
        assert_true(fluid.valid_low_k < fluid.valid_high_k);
    }
}

static void unknown_name_gets_the_nearest(void **state) {
    (void)state;
    const OwOilSpec spec = named("rapseed");
    OwFluid fluid;
    OwFaults faults = {0};
    assert_int_equal(ow_oil_make(&spec, &fluid, &faults), OW_ERROR_VALUE);
    assert_int_equal(faults.count, 1);
    assert_non_null(strstr(faults.items[0].remedy, "\"rapeseed\""));
    ow_faults_clear(&faults);
}

static void thicker_when_hot_is_refused(void **state) {
    (void)state;
    OwOilSpec spec = named("odd");
    spec.points[0] = (OwViscosityPoint){313.15, 30e-6};
    spec.points[1] = (OwViscosityPoint){353.15, 35e-6};
    spec.point_count = 2;
    OwFluid fluid;
    OwFaults faults = {0};
    assert_int_equal(ow_oil_make(&spec, &fluid, &faults), OW_ERROR_VALUE);
    assert_non_null(strstr(faults.items[0].message, "rises with heat"));
    ow_faults_clear(&faults);
}

static void petrol_is_refused_with_the_reason(void **state) {
    (void)state;
    OwOilSpec spec = named("thinned");
    strcpy(spec.blend_name[0], "rapeseed");
    strcpy(spec.blend_name[1], "Petrol");
    spec.blend_fraction[0] = 0.9;
    spec.blend_fraction[1] = 0.1;
    spec.blend_count = 2;
    OwFluid fluid;
    OwFaults faults = {0};
    assert_int_equal(ow_oil_make(&spec, &fluid, &faults), OW_ERROR_VALUE);
    assert_non_null(strstr(faults.items[0].message, "fire"));
    ow_faults_clear(&faults);
}

// Arrhenius on 35 and 2.7 mm2/s half and half: sqrt(35 * 2.7) = 9.72.
static void blend_is_arrhenius(void **state) {
    (void)state;
    OwOilSpec thick = named("thick"), thin = named("thin");
    thick.points[0] = (OwViscosityPoint){313.15, 35e-6};
    thick.points[1] = (OwViscosityPoint){373.15, 8e-6};
    thin.points[0] = (OwViscosityPoint){313.15, 2.7e-6};
    thin.points[1] = (OwViscosityPoint){373.15, 1.1e-6};
    thick.point_count = thin.point_count = 2;
    OwFluid fluids[3];
    assert_int_equal(ow_oil_make(&thick, &fluids[0], NULL), OW_OK);
    assert_int_equal(ow_oil_make(&thin, &fluids[1], NULL), OW_OK);
    const OwFluid *list[] = {&fluids[0], &fluids[1]};
    const double half[] = {0.5, 0.5}, off[] = {0.5, 0.7};
    assert_int_equal(ow_oil_blend(list, half, 2, "half", &fluids[2], NULL), OW_OK);
    const double parts =
        ow_curve_value(&fluids[0].kinematic_m2_s, 313.15) * ow_curve_value(&fluids[1].kinematic_m2_s, 313.15);
    assert_near(ow_curve_value(&fluids[2].kinematic_m2_s, 313.15) / sqrt(parts), 1.0, 1e-9);
    assert_near(1e6 * ow_curve_value(&fluids[2].kinematic_m2_s, 313.15), sqrt(35 * 2.7), 0.02);
    OwFaults faults = {0};
    assert_int_equal(ow_oil_blend(list, off, 2, "off", &fluids[2], &faults), OW_ERROR_VALUE);
    assert_int_equal(faults.errors, 1);
    ow_faults_clear(&faults);
}

static void used_oil_is_thicker(void **state) {
    (void)state;
    OwOilSpec spec = named("soybean");
    OwFluid fresh, used;
    assert_int_equal(ow_oil_make(&spec, &fresh, NULL), OW_OK);
    spec.used_factor = 1.4;
    assert_int_equal(ow_oil_make(&spec, &used, NULL), OW_OK);
    assert_near(ow_curve_value(&used.kinematic_m2_s, 313.15) / ow_curve_value(&fresh.kinematic_m2_s, 313.15),
                1.4, 0.001);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(walther_worked_example),
        cmocka_unit_test(two_points_predict_soybean),
        cmocka_unit_test(every_name_makes_a_sound_fluid),
        cmocka_unit_test(unknown_name_gets_the_nearest),
        cmocka_unit_test(thicker_when_hot_is_refused),
        cmocka_unit_test(petrol_is_refused_with_the_reason),
        cmocka_unit_test(blend_is_arrhenius),
        cmocka_unit_test(used_oil_is_thicker),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
