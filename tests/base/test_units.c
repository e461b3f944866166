// SPDX-License-Identifier: GPL-3.0-or-later
// Units in and out: published factors, the trade's spellings, refusals with their reason, round trips, two
// threads.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>
#include <cmocka.h>

#include "oilwright/units.h"

static OwUnits *units;

static int set_up(void **state) {
    (void)state;
    return ow_units_create(&units) == OW_OK ? 0 : -1;
}

static int tear_down(void **state) {
    (void)state;
    ow_units_destroy(&units);
    ow_units_destroy(&units);
    return units == NULL ? 0 : -1;
}

static double read_si(const char *text, OwQuantity quantity) {
    double si = 1e99;
    char why[200];
    const OwStatus status = ow_units_read(units, text, quantity, NULL, &si, why, sizeof why);
    if (status != OW_OK) {
        print_error("\"%s\": %s\n", text, why);
    }
    assert_int_equal(status, OW_OK);
    return si;
}

/// NIST Special Publication 811 (2008), Appendix B.8, seven digits as printed there (digits from memory, each
/// confirmed by the exact definition: inch 0.0254 m, pound 0.45359237 kg, gallon 231 in3, Btu_IT
/// 1055.05585262 J).
static void nist_sp811_factors(void **state) {
    (void)state;
    static const struct {
        const char *text;
        OwQuantity quantity;
        double si;
    } rows[] = {
        {"1 ft", OW_Q_LENGTH, 3.048e-01},
        {"1 in", OW_Q_LENGTH, 2.54e-02},
        {"1 mi", OW_Q_LENGTH, 1.609344e+03},
        {"1 mil", OW_Q_LENGTH, 2.54e-05},
        {"1 in2", OW_Q_AREA, 6.4516e-04},
        {"1 ft2", OW_Q_AREA, 9.290304e-02},
        {"1 US gal", OW_Q_VOLUME, 3.785412e-03},
        {"1 imp gal", OW_Q_VOLUME, 4.54609e-03},
        {"1 US qt", OW_Q_VOLUME, 9.463529e-04},
        {"1 US fl oz", OW_Q_VOLUME, 2.957353e-05},
        {"1 in3", OW_Q_VOLUME, 1.638706e-05},
        {"1 L", OW_Q_VOLUME, 1.0e-03},
        {"1 lb", OW_Q_MASS, 4.535924e-01},
        {"1 oz", OW_Q_MASS, 2.834952e-02},
        {"1 mph", OW_Q_SPEED, 4.4704e-01},
        {"1 km/h", OW_Q_SPEED, 2.777778e-01},
        {"1 psi", OW_Q_PRESSURE, 6.894757e+03},
        {"1 inHg", OW_Q_PRESSURE, 3.386389e+03},
        {"1 mmHg", OW_Q_PRESSURE, 1.333224e+02},
        {"1 bar", OW_Q_PRESSURE, 1.0e+05},
        {"1 kgf/cm2", OW_Q_PRESSURE, 9.80665e+04},
        {"1 US gal/min", OW_Q_VOLUME_FLOW, 6.309020e-05},
        {"1 hp", OW_Q_POWER, 7.456999e+02},
        {"1 PS", OW_Q_POWER, 7.354988e+02},
        {"1 BTU/h", OW_Q_POWER, 2.930711e-01},
        {"1 BTU", OW_Q_ENERGY, 1.055056e+03},
        {"1 kWh", OW_Q_ENERGY, 3.6e+06},
        {"1 Ah", OW_Q_CHARGE, 3.6e+03},
        {"1 cSt", OW_Q_KINEMATIC_VISCOSITY, 1.0e-06},
        {"1 cP", OW_Q_DYNAMIC_VISCOSITY, 1.0e-03},
        {"1 lb/US gal", OW_Q_DENSITY, 1.198264e+02},
        {"1 BTU/(lb degF)", OW_Q_SPECIFIC_HEAT, 4.1868e+03},
        {"1 BTU/(h ft degF)", OW_Q_CONDUCTIVITY, 1.730735e+00},
        {"1 BTU/(h ft2 degF)", OW_Q_PER_AREA_CONDUCTANCE, 5.678263e+00},
        {"1 BTU/lb", OW_Q_HEATING_VALUE, 2.326e+03},
        {"1 rpm", OW_Q_ROTATION, 1.047198e-01},
        {"1 darcy", OW_Q_PERMEABILITY, 9.869233e-13},
        {"32 degF", OW_Q_TEMPERATURE, 273.15},
        {"212 degF", OW_Q_TEMPERATURE, 373.15},
        {"-40 degF", OW_Q_TEMPERATURE, 233.15},
        {"-40 degC", OW_Q_TEMPERATURE, 233.15},
        {"9 degF", OW_Q_TEMPERATURE_DIFFERENCE, 5.0},
        {"5 degC", OW_Q_TEMPERATURE_DIFFERENCE, 5.0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const double si = read_si(rows[i].text, rows[i].quantity);
        const double last_digit = pow(10.0, floor(log10(rows[i].si)) - 6.0);
        if (fabs(si - rows[i].si) > 0.501 * last_digit) {
            print_error("%s: %.9g, published %.9g\n", rows[i].text, si, rows[i].si);
        }
        assert_true(fabs(si - rows[i].si) <= 0.501 * last_digit); // rounded to the last printed digit
    }
}

/// ASTM B258: AWG 10 is 5.261 mm2; AWG 36 is 0.005 in and AWG 4/0 0.46 in by definition of the series.
static void wire_gauge(void **state) {
    (void)state;
    assert_true(fabs(read_si("AWG 10", OW_Q_AREA) - 5.261e-6) < 0.0005e-6);
    assert_true(fabs(read_si("10 AWG", OW_Q_AREA) - 5.261e-6) < 0.0005e-6);
    assert_true(read_si("10 ga", OW_Q_AREA) == read_si("AWG 10", OW_Q_AREA));
    assert_true(read_si("16 gauge", OW_Q_AREA) == read_si("AWG 16", OW_Q_AREA));
    const double pi = 3.14159265358979323846;
    assert_true(fabs(read_si("AWG 36", OW_Q_AREA) / (pi / 4 * 0.127e-3 * 0.127e-3) - 1) < 1e-12);
    assert_true(fabs(read_si("AWG 4/0", OW_Q_AREA) / (pi / 4 * 11.684e-3 * 11.684e-3) - 1) < 1e-12);
    assert_true(read_si("0000 AWG", OW_Q_AREA) == read_si("AWG 4/0", OW_Q_AREA));
    assert_true(read_si("AWG 0", OW_Q_AREA) == read_si("1/0 AWG", OW_Q_AREA));
    assert_true(read_si("2.5 mm\xC2\xB2", OW_Q_AREA) == read_si("2.5 mm2", OW_Q_AREA));
}

static void fractions_sums_and_spellings(void **state) {
    (void)state;
    static const struct {
        const char *text;
        OwQuantity quantity;
        double si;
    } rows[] = {
        {"5/16 in", OW_Q_LENGTH, 0.0079375},
        {"1 1/2 in", OW_Q_LENGTH, 0.0381},
        {"1-1/2 in", OW_Q_LENGTH, 0.0381},
        {"1\xC2\xBD in", OW_Q_LENGTH, 0.0381},
        {"3/8\"", OW_Q_LENGTH, 0.009525},
        {"-1 1/2 in", OW_Q_LENGTH, -0.0381},
        {"5 ft 6 in", OW_Q_LENGTH, 1.6764},
        {"8mm", OW_Q_LENGTH, 0.008},
        {"10 \xC2\xB5m", OW_Q_LENGTH, 10e-6},
        {".5 m", OW_Q_LENGTH, 0.5},
        {"1e3 mm", OW_Q_LENGTH, 1.0},
        {"1 min 30 s", OW_Q_TIME, 90.0},
        {"-1 min 30 s", OW_Q_TIME, -90.0},
        {"1 h 5 min 3 s", OW_Q_TIME, 3903.0},
        {"30 %", OW_Q_NUMBER, 0.3},
        {"0.3", OW_Q_NUMBER, 0.3},
        {"1/4", OW_Q_NUMBER, 0.25},
        {"46 L/h", OW_Q_VOLUME_FLOW, 46.0 / 3.6e6},
        {"12 US gal/h", OW_Q_VOLUME_FLOW, 12 * 3.785411784e-3 / 3600},
        {"65 \xC2\xB0"
         "C",
         OW_Q_TEMPERATURE, 338.15},
        {"65 deg C", OW_Q_TEMPERATURE, 338.15},
        {"150 \xC2\xB0"
         "F",
         OW_Q_TEMPERATURE, 459.67 / 1.8 + 150 / 1.8},
        {"\xE2\x88\x92"
         "5 degC",
         OW_Q_TEMPERATURE, 268.15},
        {"15 mm\xC2\xB2/s", OW_Q_KINEMATIC_VISCOSITY, 15e-6},
        {"30 mPa s", OW_Q_DYNAMIC_VISCOSITY, 0.03},
        {"5 W/m2/K", OW_Q_PER_AREA_CONDUCTANCE, 5.0},
        {"5 W/m2K", OW_Q_PER_AREA_CONDUCTANCE, 5.0},
        {"5 W/(m\xC2\xB2 K)", OW_Q_PER_AREA_CONDUCTANCE, 5.0},
        {"5 W/(m\xC2\xB2\xC2\xB7K)", OW_Q_PER_AREA_CONDUCTANCE, 5.0},
        {"0.16 W/m K", OW_Q_CONDUCTIVITY, 0.16},
        {"2000 J/kg K", OW_Q_SPECIFIC_HEAT, 2000.0},
        {"60 1/min", OW_Q_ROTATION, 6.283185307179586},
        {"60 rpm", OW_Q_ROTATION, 6.283185307179586},
        {"20 m\xCE\xA9", OW_Q_RESISTANCE, 0.02},
        {"0", OW_Q_LENGTH, 0.0},
        {"88 Ah", OW_Q_CHARGE, 316800.0},
        {"2.4 L", OW_Q_VOLUME, 0.0024},
        {"2400 cc", OW_Q_VOLUME, 0.0024},
        {"2 US gallons", OW_Q_VOLUME, 2 * 3.785411784e-3},
        {"2 litres", OW_Q_VOLUME, 0.002},
        {"65 C", OW_Q_TEMPERATURE, 338.15},
        {"9 F", OW_Q_TEMPERATURE_DIFFERENCE, 5.0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const double si = read_si(rows[i].text, rows[i].quantity);
        if (fabs(si - rows[i].si) > 1e-12 * fabs(rows[i].si)) {
            print_error("%s: %.17g, wanted %.17g\n", rows[i].text, si, rows[i].si);
        }
        assert_true(fabs(si - rows[i].si) <= 1e-12 * fabs(rows[i].si));
    }
    double si = 0.0;
    assert_int_equal(ow_units_read(units, "90", OW_Q_TIME, "s", &si, NULL, 0), OW_OK);
    assert_true(si == 90.0);
    assert_int_equal(ow_units_read(units, "0", OW_Q_TEMPERATURE, "degC", &si, NULL, 0), OW_OK);
    assert_true(si == 273.15);
}

static void refusals_say_why(void **state) {
    (void)state;
    static const struct {
        const char *text;
        OwQuantity quantity;
        OwStatus status;
        const char *says; ///< a part of the reason
    } rows[] = {
        {"", OW_Q_LENGTH, OW_ERROR_VALUE, "empty"},
        {"   ", OW_Q_LENGTH, OW_ERROR_VALUE, "empty"},
        {"8", OW_Q_LENGTH, OW_ERROR_UNIT, "has no unit"},
        {"0", OW_Q_TEMPERATURE, OW_ERROR_UNIT, "has no unit"},
        {"8 kPa", OW_Q_LENGTH, OW_ERROR_UNIT, "\"kPa\" is not a unit of length"},
        {"8 mmm", OW_Q_LENGTH, OW_ERROR_UNIT, "did you mean \"mm\""},
        {"5 kpa", OW_Q_PRESSURE, OW_ERROR_UNIT, "did you mean \"kPa\""},
        {"8 flibs", OW_Q_LENGTH, OW_ERROR_UNIT, "\"flibs\" is unknown"},
        {"0,5 bar", OW_Q_PRESSURE, OW_ERROR_VALUE, "comma"},
        {"1,000 mm", OW_Q_LENGTH, OW_ERROR_VALUE, "comma"},
        {"nan mm", OW_Q_LENGTH, OW_ERROR_VALUE, "does not begin with a number"},
        {"inf mm", OW_Q_LENGTH, OW_ERROR_VALUE, "does not begin with a number"},
        {"1e999 mm", OW_Q_LENGTH, OW_ERROR_VALUE, "too large"},
        {"9e29 km", OW_Q_LENGTH, OW_OK, ""},
        {"1/0 in", OW_Q_LENGTH, OW_ERROR_VALUE, "fraction over zero"},
        {"60-90 s", OW_Q_TIME, OW_ERROR_VALUE, "not a range"},
        {"60 to 90 s", OW_Q_TIME, OW_ERROR_VALUE, ""},
        {"-300 degC", OW_Q_TEMPERATURE, OW_ERROR_VALUE, "absolute zero"},
        {"5 degC 3 degC", OW_Q_TEMPERATURE, OW_ERROR_VALUE, "one number"},
        {"5 mm 8 mm", OW_Q_LENGTH, OW_ERROR_VALUE, "smaller"},
        {"30 s 1 min", OW_Q_TIME, OW_ERROR_VALUE, "smaller"},
        {"12 gal", OW_Q_VOLUME, OW_ERROR_UNIT, "which gallon"},
        {"12 gallons", OW_Q_VOLUME, OW_ERROR_UNIT, "which gallon"},
        {"10 dBZ", OW_Q_VOLUME, OW_ERROR_UNIT, "not a unit"},
        {"10 lg(re 1 m3)", OW_Q_VOLUME, OW_ERROR_UNIT, "unknown"},
        {"1 s since 2000-01-01", OW_Q_TIME, OW_ERROR_UNIT, ""},
        {"1 K @ 20", OW_Q_TEMPERATURE, OW_ERROR_UNIT, ""},
        {"AWG 99", OW_Q_AREA, OW_ERROR_VALUE, "wire gauge"},
        {"AWG 9/0", OW_Q_AREA, OW_ERROR_VALUE, "wire gauge"},
        {"AWG", OW_Q_AREA, OW_ERROR_VALUE, "wire gauge"},
        {"((((((((m))))))))", OW_Q_LENGTH, OW_ERROR_VALUE, ""},
        {"1 ((((m))))", OW_Q_LENGTH, OW_ERROR_UNIT, ""},
        {"1 m^99", OW_Q_LENGTH, OW_ERROR_UNIT, ""},
        {"1 \xFF\xFE", OW_Q_LENGTH, OW_ERROR_VALUE, "character"},
        {"5 degree", OW_Q_NUMBER, OW_ERROR_UNIT, "unknown"},
        {"1 mm and a text that goes on for much longer than any quantity that a person would write in a file",
         OW_Q_LENGTH, OW_ERROR_VALUE, "too long"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double si = 42.0;
        char why[256];
        const OwStatus status =
            ow_units_read(units, rows[i].text, rows[i].quantity, NULL, &si, why, sizeof why);
        if (status != rows[i].status || strstr(why, rows[i].says) == NULL) {
            print_error("\"%s\" gave %d, \"%s\"\n", rows[i].text, (int)status, why);
        }
        assert_int_equal(status, rows[i].status);
        assert_non_null(strstr(why, rows[i].says));
        if (status != OW_OK) {
            assert_true(si == 42.0); // untouched
            assert_non_null(strstr(why, "write for example \""));
        }
    }
    double si = 0;
    assert_int_equal(ow_units_read(NULL, "1 m", OW_Q_LENGTH, NULL, &si, NULL, 0), OW_ERROR_USE);
    assert_int_equal(ow_units_read(units, "1 m", OW_Q_COUNT, NULL, &si, NULL, 0), OW_ERROR_USE);
    assert_int_equal(ow_units_create(NULL), OW_ERROR_USE);
}

/// Every example that a refusal offers can itself be read.
static void examples_are_right(void **state) {
    (void)state;
    for (int q = 0; q < OW_Q_COUNT; q++) {
        char why[256];
        double si = 0.0;
        assert_int_not_equal(ow_units_read(units, "?", (OwQuantity)q, NULL, &si, why, sizeof why), OW_OK);
        char *p = strstr(why, "write for example \"");
        assert_non_null(p);
        p += strlen("write for example ");
        int read = 0;
        while ((p = strchr(p, '"')) != NULL) {
            char *end = strchr(p + 1, '"');
            assert_non_null(end);
            *end = '\0';
            (void)read_si(p + 1, (OwQuantity)q);
            read++;
            p = end + 1;
        }
        assert_true(read >= 1);
    }
}

static void writes_for_people(void **state) {
    (void)state;
    static const struct {
        double si;
        OwQuantity quantity;
        OwDisplay display;
        const char *text;
    } rows[] = {
        {338.15, OW_Q_TEMPERATURE, OW_DISPLAY_METRIC,
         "65 \xC2\xB0"
         "C"},
        {338.15, OW_Q_TEMPERATURE, OW_DISPLAY_US,
         "149 \xC2\xB0"
         "F"},
        {338.48, OW_Q_TEMPERATURE, OW_DISPLAY_METRIC,
         "65.3 \xC2\xB0"
         "C"},
        {46 / 3.6e6, OW_Q_VOLUME_FLOW, OW_DISPLAY_METRIC, "46 L/h"},
        {46 / 3.6e6, OW_Q_VOLUME_FLOW, OW_DISPLAY_US, "12.2 US gal/h"},
        {0.0079375, OW_Q_LENGTH, OW_DISPLAY_METRIC, "7.94 mm"},
        {0.0079375, OW_Q_LENGTH, OW_DISPLAY_US, "0.312 in"},
        {2.5, OW_Q_LENGTH, OW_DISPLAY_METRIC, "2.5 m"},
        {2.5, OW_Q_LENGTH, OW_DISPLAY_US, "8.2 ft"},
        {10e-6, OW_Q_LENGTH, OW_DISPLAY_METRIC, "10 \xC2\xB5m"},
        {15e-6, OW_Q_KINEMATIC_VISCOSITY, OW_DISPLAY_METRIC, "15 mm\xC2\xB2/s"},
        {15e-6, OW_Q_KINEMATIC_VISCOSITY, OW_DISPLAY_US, "15 cSt"},
        {48263.3, OW_Q_PRESSURE, OW_DISPLAY_US, "7 psi"},
        {-30000, OW_Q_PRESSURE, OW_DISPLAY_METRIC, "-30 kPa"},
        {0.06, OW_Q_VOLUME, OW_DISPLAY_METRIC, "60 L"},
        {40e-6, OW_Q_VOLUME, OW_DISPLAY_METRIC, "40 mL"},
        {90, OW_Q_TIME, OW_DISPLAY_METRIC, "1 min 30 s"},
        {59.999, OW_Q_TIME, OW_DISPLAY_METRIC, "1 min"},
        {3599.9, OW_Q_TIME, OW_DISPLAY_METRIC, "1 h"},
        {42, OW_Q_TIME, OW_DISPLAY_METRIC, "42 s"},
        {150, OW_Q_POWER, OW_DISPLAY_METRIC, "150 W"},
        {55000, OW_Q_POWER, OW_DISPLAY_METRIC, "55 kW"},
        {316800, OW_Q_CHARGE, OW_DISPLAY_METRIC, "88 Ah"},
        {0.02, OW_Q_NUMBER, OW_DISPLAY_METRIC, "0.02"},
        {-1e-12, OW_Q_TEMPERATURE_DIFFERENCE, OW_DISPLAY_METRIC, "-1.00e-12 K"},
        {209.43951, OW_Q_ROTATION, OW_DISPLAY_METRIC, "2000 rpm"},
        {915.4, OW_Q_DENSITY, OW_DISPLAY_METRIC, "915 kg/m\xC2\xB3"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[64];
        ow_units_write(rows[i].si, rows[i].quantity, rows[i].display, text, sizeof text);
        assert_string_equal(text, rows[i].text);
    }
    char text[8];
    ow_units_write(NAN, OW_Q_LENGTH, OW_DISPLAY_METRIC, text, sizeof text);
    assert_string_equal(text, "unknown");
    ow_units_write(INFINITY, OW_Q_TEMPERATURE, OW_DISPLAY_METRIC, text, sizeof text);
    assert_string_equal(text, "unknown");
    ow_units_write(2150 * 0.1047197551, OW_Q_ROTATION, OW_DISPLAY_METRIC, text, 6);
    assert_string_equal(text, "2150 ");
}

/// What is written can be read again, and is the same within the three digits shown; axis factors agree with
/// the reader.
static void round_trip_of_all_kinds(void **state) {
    (void)state;
    for (int q = 0; q < OW_Q_COUNT; q++) {
        for (int display = OW_DISPLAY_METRIC; display <= OW_DISPLAY_US; display++) {
            double value = q == OW_Q_TEMPERATURE ? 210.0 : 1.7e-13;
            for (; value < (q == OW_Q_TEMPERATURE ? 600.0 : 9e8);
                 value *= q == OW_Q_TEMPERATURE ? 1.03 : 3.7) {
                char text[64];
                ow_units_write(value, (OwQuantity)q, (OwDisplay)display, text, sizeof text);
                const double back = read_si(text, (OwQuantity)q);
                // Three digits: at worst half a unit of "1.00", 0.5 %. Below 0.01 of the smallest unit six
                // decimals stay.
                if (fabs(back / value - 1.0) > 0.006) {
                    print_error("%s for %.9g reads %.9g\n", text, value, back);
                }
                assert_true(fabs(back / value - 1.0) <= 0.006);
            }
            double factor = 0.0, offset = 0.0, si = 0.0;
            const char *label = ow_units_display((OwQuantity)q, (OwDisplay)display, &factor, &offset);
            char text[64];
            (void)snprintf(text, sizeof text, "7.25 %s", label);
            assert_int_equal(ow_units_read(units, text, (OwQuantity)q, NULL, &si, NULL, 0), OW_OK);
            assert_true(fabs(si * factor + offset - 7.25) < 1e-8);
        }
    }
}

static void *read_many(void *argument) {
    OwUnits *own = NULL;
    int *bad = argument;
    *bad = ow_units_create(&own) == OW_OK ? 0 : 1;
    for (int i = 0; i < 500 && *bad == 0; i++) {
        double a = 0.0, b = 0.0;
        *bad += ow_units_read(own, "5/16 in", OW_Q_LENGTH, NULL, &a, NULL, 0) != OW_OK || a != 0.0079375;
        *bad += ow_units_read(own, "7 psi", OW_Q_PRESSURE, NULL, &b, NULL, 0) != OW_OK ||
                fabs(b - 48263.30105) > 1e-4;
        *bad += ow_units_read(own, "7 flibs", OW_Q_PRESSURE, NULL, &b, NULL, 0) != OW_ERROR_UNIT;
    }
    ow_units_destroy(&own);
    return NULL;
}

static void two_handles_in_two_threads(void **state) {
    (void)state;
    pthread_t thread[2];
    int bad[2] = {0, 0};
    for (int i = 0; i < 2; i++) {
        assert_int_equal(pthread_create(&thread[i], NULL, read_many, &bad[i]), 0);
    }
    for (int i = 0; i < 2; i++) {
        assert_int_equal(pthread_join(thread[i], NULL), 0);
        assert_int_equal(bad[i], 0);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nist_sp811_factors),           cmocka_unit_test(wire_gauge),
        cmocka_unit_test(fractions_sums_and_spellings), cmocka_unit_test(refusals_say_why),
        cmocka_unit_test(examples_are_right),           cmocka_unit_test(writes_for_people),
        cmocka_unit_test(round_trip_of_all_kinds),      cmocka_unit_test(two_handles_in_two_threads),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
