// SPDX-License-Identifier: GPL-3.0-or-later
// Blends: rules against worked figures, crystals in the blend, the least diluent proved from both sides.
#include "common.h"

static void rules_agree_where_they_must(void **state) {
    (void)state;
    OwBlendRules r;
    const double same[] = {5e-6, 5e-6}, rho[] = {900, 850}, x[] = {0.3, 0.7};
    assert_int_equal(ow_oil_blend_rules(same, rho, x, 2, &r), OW_OK);
    assert_near(1e6 * r.low, 5.0, 1e-6);
    assert_near(1e6 * r.high, 5.0, 1e-6);
    unsigned seed = 7;
    for (int n = 0; n < 2000; ++n) {
        double v[2], share[2];
        for (int i = 0; i < 2; ++i) {
            seed = seed * 1664525u + 1013904223u;
            v[i] = 1e-6 * exp(7.0 * (double)(seed >> 8) / 16777216.0);
        }
        seed = seed * 1664525u + 1013904223u;
        share[0] = (double)(seed >> 8) / 16777216.0;
        share[1] = 1.0 - share[0];
        assert_int_equal(ow_oil_blend_rules(v, rho, share, 2, &r), OW_OK);
        const double thin = fmin(v[0], v[1]) * (1 - 1e-9), thick = fmax(v[0], v[1]) * (1 + 1e-9);
        assert_true(r.low >= thin && r.high <= thick);
        assert_true(r.low <= r.arrhenius && r.arrhenius <= r.high &&
                    r.kendall_monroe >= r.arrhenius * (1 - 1e-9));
    }
    const double bad[] = {-1e-6, 5e-6}, off[] = {0.3, 0.3}, odd[] = {NAN, 5e-6};
    assert_int_equal(ow_oil_blend_rules(bad, rho, x, 2, &r), OW_ERROR_VALUE);
    assert_int_equal(ow_oil_blend_rules(odd, rho, x, 2, &r), OW_ERROR_VALUE);
    assert_int_equal(ow_oil_blend_rules(same, rho, off, 2, &r), OW_ERROR_VALUE);
}

// Maples 2000: 2.234 mm2/s has a blending number of 12.492; so a blend of that with itself gives it back, and
// of two by mass the mean number.
static void refutas_number(void **state) {
    (void)state;
    // 2.234 is rounded to 0.0005, which is 0.0022 of the number.
    assert_near(14.534 * log(log(2.234 + 0.8)) + 10.975, 12.492, 0.0022);
    const double v[] = {2.234e-6, 40e-6}, rho[] = {800, 900}, x[] = {0.5, 0.5};
    OwBlendRules r;
    assert_int_equal(ow_oil_blend_rules(v, rho, x, 2, &r), OW_OK);
    const double number = (800 * 12.492 + 900 * (14.534 * log(log(40.8)) + 10.975)) / 1700;
    assert_near(1e6 * r.refutas, exp(exp((number - 10.975) / 14.534)) - 0.8, 0.005);
}

static void blend_of_one_is_itself(void **state) {
    (void)state;
    OwFluid *oil = fluid_of("rapeseed"), *made = calloc(1, sizeof *made);
    const OwFluid *list[] = {oil};
    const double whole[] = {1.0};
    assert_int_equal(ow_oil_blend(list, whole, 1, "same", made, NULL), OW_OK);
    for (double t = 240.0; t < 440.0; t += 7.3) {
        OwOilState a, b;
        ow_oil_state(oil, t, &a);
        ow_oil_state(made, t, &b);
        if (a.kinematic_m2_s < 1.0) { // above that both are solid and the value is only a cap
            assert_near(b.kinematic_m2_s / a.kinematic_m2_s, 1.0, 1e-6);
        }
        assert_near(b.density_kg_m3, a.density_kg_m3, 1e-9);
        assert_near(b.wax_share, a.wax_share, 1e-9);
    }
    assert_near(made->flash_point_k, oil->flash_point_k, 1e-6);
    free(made);
    free(oil);
}

static void thinner_means_clearer_and_easier_to_light(void **state) {
    (void)state;
    OwFluid *oil = fluid_of("peanut"), *kerosene = fluid_of("kerosene"), *made = calloc(1, sizeof *made);
    double cloud = 1e9, flash = 1e9, v = 1e9;
    for (double share = 0.0; share < 0.91; share += 0.15) {
        const OwFluid *list[] = {oil, kerosene};
        const double x[] = {1.0 - share, share};
        assert_int_equal(ow_oil_blend(list, x, 2, "b", made, NULL), OW_OK);
        assert_true(made->flash_point_k < flash && made->cloud_point_k < cloud + 0.1);
        assert_true(ow_curve_value(&made->kinematic_m2_s, 313.15) < v);
        cloud = made->cloud_point_k;
        flash = made->flash_point_k;
        v = ow_curve_value(&made->kinematic_m2_s, 313.15);
    }
    free(made);
    free(kerosene);
    free(oil);
}

static void least_diluent_is_least(void **state) {
    (void)state;
    OwFluid *oil = fluid_of("rapeseed"), *diesel = fluid_of("diesel no. 1"), *made = calloc(1, sizeof *made);
    const double target[] = {5e-6, 10e-6, 20e-6, 40e-6};
    for (size_t i = 0; i < 4; ++i) {
        OwDilution d;
        assert_int_equal(ow_oil_least_diluent(oil, diesel, 283.15, target[i], 0.0, &d), OW_OK);
        assert_true(d.is_possible && d.share_low <= d.share && d.share <= d.share_high);
        const OwFluid *list[] = {oil, diesel};
        for (int k = 0; k < 2; ++k) {
            const double share = d.share + (k ? -0.01 : 1e-4);
            const double x[] = {1.0 - share, share};
            assert_int_equal(ow_oil_blend(list, x, 2, "b", made, NULL), OW_OK);
            const double v = ow_curve_value(&made->kinematic_m2_s, 283.15);
            assert_true(k ? v > target[i] : v <= target[i] * (1 + 1e-6));
        }
    }
    OwDilution d;
    assert_int_equal(ow_oil_least_diluent(oil, diesel, 283.15, 1000e-6, 0.0, &d), OW_OK);
    assert_true(d.is_possible && d.share == 0.0);
    assert_int_equal(ow_oil_least_diluent(oil, diesel, 283.15, 0.5e-6, 0.0, &d), OW_OK);
    assert_false(d.is_possible);
    assert_true(strlen(d.reason) > 10);
    assert_int_equal(ow_oil_least_diluent(oil, diesel, 283.15, 0.0, 255.15, &d), OW_OK);
    assert_true(d.is_possible && d.share > 0.05);
    snprintf(diesel->name, sizeof diesel->name, "petrol");
    assert_int_equal(ow_oil_least_diluent(oil, diesel, 283.15, 10e-6, 0.0, &d), OW_OK);
    assert_false(d.is_possible);
    assert_non_null(strstr(d.reason, "petrol"));
    assert_int_equal(ow_oil_least_diluent(oil, diesel, 283.15, 0.0, 0.0, &d), OW_ERROR_USE);
    assert_int_equal(ow_oil_least_diluent(oil, diesel, NAN, 10e-6, 0.0, &d), OW_ERROR_VALUE);
    free(made);
    free(diesel);
    free(oil);
}

/// A dash of diesel makes nothing better known: the band of a blend carries the bands of its parts, each by
/// its share of ln v, and that of the rule. Used oil of which nothing is known keeps most of its wide band,
/// measured oil its narrow one.
static void a_diluent_adds_no_knowledge(void **state) {
    (void)state;
    OwOilSpec used = {.name = "used"}, read = {.name = "rapeseed", .point_count = 3};
    read.points[0] = at(20, 76);
    read.points[1] = at(40, 34.5);
    read.points[2] = at(80, 11.3);
    OwFluid *diesel = fluid_of("diesel");
    OwOilSpec *const oils[] = {&used, &read};
    double band[2];
    for (int i = 0; i < 2; ++i) {
        OwOilStudy *study = study_of(oils[i]), *blend = calloc(1, sizeof *blend);
        assert_non_null(blend);
        const OwOilValue alone = ow_oil_study_viscosity(study, 313.15);
        const OwFluid *list[] = {&study->fluid, diesel};
        for (double share = 0.01; share < 0.5; share += 0.12) {
            OwOilSpec spec = {.name = "b", .blend_count = 2, .blend_fraction = {1.0 - share, share}};
            snprintf(spec.blend_name[0], sizeof spec.blend_name[0], "%s", study->fluid.name);
            snprintf(spec.blend_name[1], sizeof spec.blend_name[1], "%s", diesel->name);
            assert_int_equal(ow_oil_study_among(&spec, list, 2, blend, NULL), OW_OK);
            const OwOilValue v = ow_oil_study_viscosity(blend, 313.15);
            // at least the oil's own part of the band: ln v goes by share
            assert_true(log(v.high / v.low) >= 0.99 * (1.0 - share) * log(alone.high / alone.low));
            band[i] = v.high / v.low;
            ow_oil_study_clear(blend);
        }
        free(blend);
        study_free(study);
    }
    assert_true(band[0] > 2.0 && band[1] < 1.6);
    free(diesel);
}

static void petrol_by_any_name(void **state) {
    (void)state;
    const char *yes[] = {"petrol 95", "Gasoline", "BENZIN", "E10", "white spirit"},
               *no[] = {"diesel", "kerosene", "rapeseed", "", "gas oil"};
    for (int i = 0; i < 5; ++i) {
        assert_true(ow_oil_is_petrol(yes[i]));
        assert_false(ow_oil_is_petrol(no[i]));
    }
    assert_false(ow_oil_is_petrol(NULL));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rules_agree_where_they_must),
        cmocka_unit_test(refutas_number),
        cmocka_unit_test(blend_of_one_is_itself),
        cmocka_unit_test(thinner_means_clearer_and_easier_to_light),
        cmocka_unit_test(least_diluent_is_least),
        cmocka_unit_test(a_diluent_adds_no_knowledge),
        cmocka_unit_test(petrol_by_any_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
