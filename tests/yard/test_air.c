// SPDX-License-Identifier: GPL-3.0-or-later
// Moist air and water against published tables, and what oil dissolves.
#include "near.h"

/// Saturation pressure: steam tables (Cengel & Boles, Thermodynamics, table A-4, kPa), whose source is
/// another equation (IAPWS); the two agree to 0.1 %.
static void test_saturation(void **state) {
    (void)state;
    static const double rows[][2] = {{5, 0.8725},  {20, 2.3392}, {25, 3.1698}, {40, 7.3851},
                                     {60, 19.947}, {80, 47.416}, {95, 84.609}, {100, 101.42}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        near(ow_air_saturation_pa(C(rows[i][0])), 1e3 * rows[i][1], 1e-3);
        near(ow_air_dew_point_k(1e3 * rows[i][1]), C(rows[i][0]), 1e-4);
    }
    // Over ice: ASHRAE Fundamentals 2017, ch. 1, table 3: 0.10326 kPa at -20 degC (from memory).
    near(ow_air_saturation_pa(C(-20)), 103.26, 1e-3);
}

/// ASHRAE Fundamentals (2001 ch. 6, 2017 ch. 1), table 2, moist air at saturation, 101.325 kPa (from memory).
/// Real gas: the perfect gas runs up to 0.7 % low between -50 and 50 degC (Kuehn et al. 1998, quoted there),
/// which is the tolerance.
static void test_table_2(void **state) {
    (void)state;
    static const struct {
        double t, ratio, enthalpy;
    } rows[] = {{10, 0.007661, 29352},
                {20, 0.014758, 57555},
                {25, 0.020170, 76500},
                {30, 0.027329, 99983},
                {50, 0.086858, 275345}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const double w = ow_air_humidity_ratio(C(rows[i].t), 1.0, 101325.0);
        assert_true(w < rows[i].ratio);
        near(w, rows[i].ratio, 7e-3);
        near(ow_air_enthalpy(C(rows[i].t), w), rows[i].enthalpy, 7e-3);
    }
}

/// ASHRAE Fundamentals 2017, ch. 1, example 1: air of 40 degC with a wet bulb of 20 degC at 101.325 kPa: 6.5
/// g/kg, 56.7 kJ/kg, dew point 7 degC, humidity 14 %, 0.896 m3/kg, all read off the chart (from memory).
static void test_example_1(void **state) {
    (void)state;
    const double w = 0.0065, p = 101325.0;
    near(ow_air_wet_bulb_k(C(40), w, p) - 273.15, 20.0, 5e-3);
    near(ow_air_enthalpy(C(40), w), 56.7e3, 5e-3);
    near(ow_air_volume(C(40), w, p), 0.896, 2e-3);
    const double relative = ow_air_relative(C(40), w, p);
    near(relative, 0.14, 0.02);
    // 7.66 degC computed; the chart was read to a whole degree.
    assert_true(fabs(ow_air_dew_point_k(relative * ow_air_saturation_pa(C(40))) - C(7)) < 1.0);
    near(ow_air_density(C(40), w, p), (1.0 + w) / 0.896, 2e-3);
    near(ow_air_humidity_ratio(C(40), relative, p), w, 1e-12); // there and back
}

/// Heat of evaporation: Cengel & Boles table A-4, h_fg 2453.5 kJ/kg at 20 degC, 2308.0 at 80 degC.
static void test_latent(void **state) {
    (void)state;
    near(ow_air_latent(C(20)), 2453.5e3, 1e-3);
    near(ow_air_latent(C(80)), 2308.0e3, 5e-3);
}

/// Density: Kell 1975, table: 999.8426 at 0 (ITS-68 edition), 999.9720 at 4, 997.0479 at 25, 988.04 at 50,
/// 958.36 at 100 degC. Viscosity: Incropera table A.6: 855e-6 at 300 K, 577e-6 at 320 K, 365e-6 at 350 K.
static void test_water(void **state) {
    (void)state;
    static const double density[][2] = {
        {0, 999.8426}, {4, 999.9720}, {25, 997.0479}, {50, 988.04}, {100, 958.36}};
    for (size_t i = 0; i < sizeof density / sizeof density[0]; i++) {
        near(ow_water_density(C(density[i][0])), density[i][1], 2e-5);
    }
    near(ow_water_viscosity(300.0), 855e-6, 0.025);
    near(ow_water_viscosity(320.0), 577e-6, 0.025);
    near(ow_water_viscosity(350.0), 365e-6, 0.025);
}

/// What oil dissolves. Published: the data sheet of a transformer fluid from vegetable oil gives 30 mg/kg as
/// 2 to 3 % of saturation (25 degC): 1000 to 1500 mg/kg. From memory: Hilder 1968 (JAOCS 45:703), some 0.1 %
/// at 20 to 25 degC, 0.2 to 0.3 % at 70 to 90 degC.
static void test_solubility(void **state) {
    (void)state;
    const OwSolubility s = ow_yard_solubility_default();
    assert_int_equal(s.trust, OW_TRUST_ASSUMED);
    const double warm = ow_yard_soluble(&s, C(25));
    assert_true(30e-6 / warm > 0.02 && 30e-6 / warm < 0.03);
    assert_true(ow_yard_soluble(&s, C(20)) > 0.9e-3 && warm < 1.15e-3);
    assert_true(ow_yard_soluble(&s, C(70)) > 2e-3 && ow_yard_soluble(&s, C(90)) < 3e-3);
    // Falls with the cold, and two points give their own line back.
    for (double t = 250.0; t < 400.0; t += 5.0) {
        assert_true(ow_yard_soluble(&s, t + 5.0) > ow_yard_soluble(&s, t));
    }
    OwSolubility own;
    assert_int_equal(ow_yard_solubility_fit(C(20), 0.9e-3, C(80), 2.7e-3, &own), OW_OK);
    near(ow_yard_soluble(&own, C(20)), 0.9e-3, 1e-9);
    near(ow_yard_soluble(&own, C(80)), 2.7e-3, 1e-9);
    assert_int_equal(own.trust, OW_TRUST_MEASURED);
    // A moisture instrument's user guide (published): 213 mg/kg read as activity 0.478 at 24.1 degC and 0.188
    // at 57.6 degC gives the line 6.6503583 - 1189.4581 / (t + 273.16): the same form, and the same activity
    // = content / solubility.
    assert_int_equal(
        ow_yard_solubility_fit(24.1 + 273.16, 213e-6 / 0.478, 57.6 + 273.16, 213e-6 / 0.188, &own), OW_OK);
    near(own.a, 6.6503583, 1e-5);
    near(own.b_k, 1189.4581, 1e-5);
    near(ow_yard_activity(&own, 213e-6, 57.6 + 273.16), 0.188, 1e-6);
    assert_int_equal(ow_yard_solubility_fit(C(20), 2e-3, C(80), 1e-3, &own), OW_ERROR_VALUE);
    assert_int_equal(ow_yard_solubility_fit(C(20), 1e-3, C(20), 1e-3, &own), OW_ERROR_VALUE);
    assert_int_equal(ow_yard_solubility_fit(C(20), NAN, C(80), 1e-3, &own), OW_ERROR_VALUE);
}

/// A hot clear oil sheds the difference of the two solubilities, and nothing when it is dry enough.
static void test_reappear(void **state) {
    (void)state;
    const OwSolubility s = ow_yard_solubility_default();
    const double hot = ow_yard_soluble(&s, C(80)), cold = ow_yard_soluble(&s, C(10));
    OwReappear r = ow_yard_reappear(&s, 0.01, C(80), C(10), 180.0);
    near(r.free_hot, 0.01 - hot, 1e-9);
    near(r.free_kg, 180.0 * (hot - cold), 1e-9);
    near(r.free_m3, r.free_kg / 999.70, 1e-4); // Kell 1975, 10 degC
    near(r.dissolved_cold + r.free_cold, 0.01, 1e-12);
    assert_true(r.free_m3 > 200e-6 && r.free_m3 < 400e-6); // some 300 mL from a 200 L drum
    r = ow_yard_reappear(&s, 0.9 * cold, C(80), C(10), 180.0);
    assert_true(r.free_kg == 0.0 && r.free_cold == 0.0);
    r = ow_yard_reappear(&s, 0.01, C(10), C(80), 180.0);
    assert_true(r.free_kg == 0.0);
    near(ow_yard_activity(&s, 0.5 * hot, C(80)), 0.5, 1e-12);
    near(ow_yard_activity(&s, 3.0 * hot, C(80)), 1.0, 1e-12);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_saturation), cmocka_unit_test(test_table_2),
                                       cmocka_unit_test(test_example_1),  cmocka_unit_test(test_latent),
                                       cmocka_unit_test(test_water),      cmocka_unit_test(test_solubility),
                                       cmocka_unit_test(test_reappear)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
