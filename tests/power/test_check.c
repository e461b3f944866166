// SPDX-License-Identifier: GPL-3.0-or-later
// What is no circuit of its own: thick cables as the file gives them, loads made for other volts, a battery
// too weak for its fuses, and what the reports say then.
#include "near.h"

#include <stdlib.h>
#include <string.h>

#include "demo.h"
#include "power/power.h"

#define C(t) ((t) + OW_ZERO_CELSIUS_K)

static OwSchedule *schedule_of(const OwElectricSpec *spec, OwPower **power, OwFaults *faults) {
    OwSchedule *s;
    assert_int_equal(ow_power_create_from(spec, power, NULL), OW_OK);
    assert_int_equal(ow_power_schedule(*power, C(-5), &s, faults), OW_OK);
    return s;
}

static int found(const OwFaults *faults, const char *message) {
    for (size_t i = 0; i < faults->count; i++) {
        if (strstr(faults->items[i].message, message)) {
            return (int)i;
        }
    }
    return -1;
}

static const OwWireMend *mend_of(const OwSchedule *s, int fault) {
    for (int i = 0; i < s->mend_count; i++) {
        if ((int)s->mends[i].fault == fault) {
            return &s->mends[i];
        }
    }
    return NULL;
}

/// Cables that are chosen pass; thin ones and bad joints of the file are told, with the size that would do.
static void given_cables_are_judged(void **state) {
    (void)state;
    OwElectricSpec spec = demo_spec();
    OwPower *power;
    OwFaults faults = {0};
    OwSchedule *s = schedule_of(&spec, &power, &faults);
    assert_true(s->cables_ok);
    assert_int_equal(found(&faults, "cable"), -1);
    assert_int_equal(found(&faults, "earth"), -1);
    free(s);
    ow_power_destroy(&power);
    ow_faults_clear(&faults);
    const struct {
        size_t at; ///< of the cable in the description
        const char *name, *key;
    } cables[] = {{offsetof(OwElectricSpec, charge), "charging cable", "cables/charging/size"},
                  {offsetof(OwElectricSpec, body_earth), "body earth", "cables/body earth/size"},
                  {offsetof(OwElectricSpec, engine_earth), "engine earth", "cables/engine earth/size"},
                  {offsetof(OwElectricSpec, starter), "starter cable", "cables/starter/size"}};
    for (size_t i = 0; i < sizeof cables / sizeof cables[0]; i++) {
        OwElectricSpec thin = spec;
        OwCableSpec *cable = (OwCableSpec *)((char *)&thin + cables[i].at);
        cable->area_m2 = 4e-6;
        s = schedule_of(&thin, &power, &faults);
        const int fault = found(&faults, cables[i].name);
        assert_true(fault >= 0 && !s->cables_ok);
        assert_non_null(strstr(faults.items[fault].message, "insulation stands 100 degC"));
        const OwWireMend *mend = mend_of(s, fault);
        assert_non_null(mend);
        assert_string_equal(mend->key, cables[i].key);
        cable->area_m2 = mend->value; // and it does
        free(s);
        ow_power_destroy(&power);
        ow_faults_clear(&faults);
        s = schedule_of(&thin, &power, &faults);
        assert_true(s->cables_ok);
        free(s);
        ow_power_destroy(&power);
        ow_faults_clear(&faults);
    }
    // A corroded earth joint: 20 mohm under the loads' current lose more than two hundredths of 12 V by
    // Ohm's law alone, and no thicker cable helps.
    OwElectricSpec rusty = spec;
    rusty.body_earth.joint_ohm = 20e-3;
    s = schedule_of(&rusty, &power, &faults);
    const int fault = found(&faults, "body earth loses");
    assert_true(fault >= 0 && !s->cables_ok);
    assert_true(power->main_sizing.running_a * 20e-3 > 0.02 * 12.0);
    assert_null(mend_of(s, fault));
    assert_non_null(strstr(faults.items[fault].remedy, "joints"));
    free(s);
    ow_power_destroy(&power);
    ow_faults_clear(&faults);
}

/// A 12-V element on 24 V makes four times its watts: v2/r.
static void loads_for_other_volts_are_told(void **state) {
    (void)state;
    OwElectricSpec spec;
    assert_int_equal(ow_electric_default(24.0, &spec), OW_OK);
    OwCircuitSpec *c = demo_add(&spec, OW_LOAD_HEATER, "plug");
    c->cutout_k = C(130);
    c->rated_v = 12.0;
    demo_add(&spec, OW_LOAD_PUMP, "pump")->rated_v = 12.0;
    demo_add(&spec, OW_LOAD_LAMP, "lamp")->rated_v = 24.0;
    OwPower *power;
    OwFaults faults = {0};
    OwSchedule *s = schedule_of(&spec, &power, &faults);
    assert_false(s->lines[0].volts_ok);
    assert_false(s->lines[1].volts_ok);
    assert_true(s->lines[2].volts_ok);
    const int heater = found(&faults, "4.0 times its watts");
    assert_true(heater >= 0);
    assert_string_equal(faults.items[heater].part, "plug");
    assert_int_equal(faults.items[heater].line, c->line);
    assert_true(found(&faults, "made for 12 V it stands on 24 V: it burns out") >= 0);
    free(s);
    ow_power_destroy(&power);
    ow_faults_clear(&faults);
    // An element made for 11 V of 12 is usual; one for 24 V hardly works, which is told and harms nothing.
    assert_int_equal(ow_electric_default(12.0, &spec), OW_OK);
    c = demo_add(&spec, OW_LOAD_HEATER, "rod");
    c->cutout_k = C(130);
    c->rated_v = 11.0;
    demo_add(&spec, OW_LOAD_PUMP, "truck pump")->rated_v = 24.0;
    s = schedule_of(&spec, &power, &faults);
    assert_true(s->lines[0].volts_ok && s->lines[1].volts_ok);
    assert_int_equal(found(&faults, "burns out"), -1);
    assert_true(found(&faults, "hardly works") >= 0);
    free(s);
    ow_power_destroy(&power);
    ow_faults_clear(&faults);
}

/// Self-limiting trace needs no cut-out beside it: with rising temperature it takes less of itself (what IEC
/// 62395-1 calls self-regulating; from memory). A plain element of the same watts does.
static void self_limiting_trace_needs_no_cut_out(void **state) {
    (void)state;
    OwPart hose = {.kind = OW_PART_RUN, .name = "warm hose"};
    hose.as.run.is_hose = true;
    hose.as.run.length_m = 2.0;
    hose.as.run.trace_w_m = 20.0;
    OwElectricSpec spec;
    assert_int_equal(ow_electric_default(12.0, &spec), OW_OK);
    assert_true(ow_circuit_from_part(&hose, 0, -1, 12.0, demo_add(&spec, OW_LOAD_HEATER, "trace")));
    demo_add(&spec, OW_LOAD_HEATER, "element");
    OwPower *power;
    OwFaults faults = {0};
    OwSchedule *s = schedule_of(&spec, &power, &faults);
    assert_true(s->lines[0].has_independent_protection);
    assert_false(s->lines[1].has_independent_protection);
    const int fault = found(&faults, "neither thermostat nor cut-out");
    assert_true(fault >= 0);
    assert_string_equal(faults.items[fault].part, "element");
    free(s);
    ow_power_destroy(&power);
    ow_faults_clear(&faults);
}

/// A worn-out small battery cannot open a large main fuse. That is said of the battery; no thicker cable is
/// bought for it, and no report says that a fuse opens "within never".
static void a_weak_battery_is_named(void **state) {
    (void)state;
    OwElectricSpec spec = demo_spec();
    spec.battery.cold_crank_a = 120.0;
    spec.battery.charge = 0.5;
    spec.battery.temperature_k = C(-20);
    spec.battery.age = 1.0;
    spec.circuits[DEMO_GLOW].rated_a = 60.0;
    spec.alternator.is_fitted = false;
    OwPower *power;
    OwFaults faults = {0};
    OwSchedule *s = schedule_of(&spec, &power, &faults);
    const double main_a = power->main_sizing.short_far_a;
    const OwSource source = ow_battery_source(&spec.battery, 0.5, C(-10));
    // Ohm's law over the battery alone is more than what the main cable lets through.
    assert_true(main_a < source.rest_v / source.give_ohm);
    assert_true(isinf(
        ow_fuse_most_s(ow_power_main_fuse(ow_power_spec(power)), ow_power_spec(power)->main.fuse_a, main_a)));
    assert_true(found(&faults, "too little to open the main fuse") >= 0);
    assert_null(strstr(power->main_sizing.wire_reason, "no size passes"));
    OwElectricFault list[256];
    const int count = ow_power_faults(power, C(-5), list, 256);
    assert_true(count > 0 && count <= 256);
    bool is_seen = false;
    for (int i = 0; i < count; i++) {
        assert_null(strstr(list[i].text, "within never"));
        assert_null(strstr(list[i].text, "after never"));
        is_seen = is_seen ||
                  (list[i].kind == OW_ELECTRIC_SHORT_MAIN && strstr(list[i].text, "may never open") != NULL);
    }
    assert_true(is_seen);
    free(s);
    ow_power_destroy(&power);
    ow_faults_clear(&faults);
}

/// The hold-on button is fed from the battery beside the key, so taking the key out does not end it.
static void a_stuck_button_outlasts_the_key(void **state) {
    (void)state;
    OwElectricSpec spec = demo_spec();
    spec.circuits[DEMO_GLOW].hold_s = 0.0;
    OwPower *power;
    OwElectricFault list[256];
    assert_int_equal(ow_power_create_from(&spec, &power, NULL), OW_OK);
    const int count = ow_power_faults(power, C(-5), list, 256);
    bool is_seen = false;
    for (int i = 0; i < count && i < 256; i++) {
        if (list[i].kind == OW_ELECTRIC_STUCK_HOLD) {
            is_seen = true;
            assert_int_equal(list[i].harm, OW_HARM_DRAINS);
            assert_non_null(strstr(list[i].text, "with the key in or out"));
        }
    }
    assert_true(is_seen);
    ow_power_destroy(&power);
}

/// A circuit and a main cable without a fuse: told, with the one to fit; a short in either burns.
static void missing_fuses_are_told(void **state) {
    (void)state;
    OwElectricSpec spec = demo_spec();
    spec.circuits[DEMO_CHAMBER].has_no_fuse = true;
    spec.main.has_no_fuse = true;
    OwPower *power;
    OwFaults faults = {0};
    OwSchedule *s = schedule_of(&spec, &power, &faults);
    const int circuit = found(&faults, "no fuse: a short burns this wire"),
              cable = found(&faults, "the main cable has no fuse");
    assert_true(circuit >= 0 && cable >= 0);
    assert_non_null(strstr(faults.items[circuit].remedy, "A fuse at the board"));
    assert_non_null(strstr(faults.items[cable].remedy, "of the battery"));
    assert_false(s->lines[DEMO_CHAMBER].fuse_guards || s->cables_ok);
    assert_true(s->lines[DEMO_CHAMBER].fuse_a == 0.0 && s->lines[DEMO_GLOW].fuse_a > 0.0);
    for (int i = 0; i < s->wire_count; i++) {
        const OwWireRow *w = &s->wires[i];
        if (w->circuit == DEMO_CHAMBER && !w->is_control) {
            assert_true(w->fuse_a == 0.0);
        }
    }
    OwElectricFault list[256];
    const int count = ow_power_faults(power, C(-5), list, 256);
    int burns = 0;
    for (int i = 0; i < count && i < 256; i++) {
        const bool is_bare = list[i].kind == OW_ELECTRIC_SHORT_MAIN ||
                             (list[i].circuit == DEMO_CHAMBER && list[i].kind <= OW_ELECTRIC_SHORT_BOARD);
        if (is_bare) {
            assert_int_equal(list[i].harm, OW_HARM_BURNS);
            assert_true(isinf(list[i].opens_s) && list[i].wire_harm_s < 600.0);
            assert_non_null(strstr(list[i].text, "no fuse; the wire is harmed"));
            burns++;
        }
    }
    assert_int_equal(burns, 4);
    free(s);
    ow_power_destroy(&power);
    ow_faults_clear(&faults);
}

/// Twelve lamps draw ten times their current and let go of it within 0.15 s: that opens no main fuse that
/// carries them, and needs none of five times their current.
static void lamps_need_no_giant_main_fuse(void **state) {
    (void)state;
    OwElectricSpec spec;
    assert_int_equal(ow_electric_default(12.0, &spec), OW_OK);
    for (int i = 0; i < 12; i++) {
        OwCircuitSpec *c = demo_add(&spec, OW_LOAD_LAMP, "work lamp");
        c->rated_a = 8.0;
        c->has_relay = true;
    }
    OwPower *power;
    OwFaults faults = {0};
    OwSchedule *s = schedule_of(&spec, &power, &faults);
    const OwElectricSpec *sized = ow_power_spec(power);
    assert_true(sized->main.fuse_a >= power->main_sizing.running_a / 0.8);
    assert_true(sized->main.fuse_a <= 2.0 * power->main_sizing.running_a);
    assert_true(power->main_sizing.stands && s->cables_ok);
    // The same by small steps: the mean square since the start against the quickest curve.
    const OwFuseType type = ow_power_main_fuse(sized);
    double square_s = 0.0;
    for (double t = 1e-5; t < 5.0; t += 1e-5) {
        double amps = 0.0;
        for (int i = 0; i < sized->circuit_count; i++) {
            const OwSizing *z = &power->sizing[i];
            amps += z->running_a + (z->first_a - z->running_a) * exp(-t / sized->circuits[i].inrush_s);
        }
        square_s += amps * amps * 1e-5;
        assert_true(ow_fuse_least_s(type, sized->main.fuse_a, sqrt(square_s / t)) > t);
    }
    free(s);
    ow_power_destroy(&power);
    ow_faults_clear(&faults);
}

/// A hold-on button on the run line keeps everything on that line alive without the key.
static void a_button_on_the_wrong_line_is_told(void **state) {
    (void)state;
    OwElectricSpec spec = demo_spec();
    OwPower *power;
    OwFaults faults = {0};
    OwSchedule *s = schedule_of(&spec, &power, &faults);
    assert_int_equal(found(&faults, "hold-on button feeds"), -1); // the glow line is its place
    free(s);
    ow_power_destroy(&power);
    ow_faults_clear(&faults);
    spec.circuits[DEMO_FILTER].has_hold = true;
    s = schedule_of(&spec, &power, &faults);
    const int fault = found(&faults, "hold-on button feeds all of line 15");
    assert_true(fault >= 0);
    assert_string_equal(faults.items[fault].part, "filter heater");
    free(s);
    ow_power_destroy(&power);
    ow_faults_clear(&faults);
}

/// Where the coils of a line go on in the next row of the drawing, it says behind which fuse; a cut-out is
/// marked in the degrees of the one who buys it.
static void drawing_says_what_lies_before(void **state) {
    (void)state;
    for (int is_us = 0; is_us < 2; is_us++) {
        OwElectricSpec spec;
        assert_int_equal(ow_electric_default(12.0, &spec), OW_OK);
        spec.has_us_sizes = is_us;
        for (int i = 0; i < 16; i++) {
            OwCircuitSpec *c = demo_add(&spec, OW_LOAD_HEATER, "plug");
            c->has_relay = true;
            c->rated_a = 5.0;
            c->cutout_k = C(130);
        }
        OwPower *power;
        OwSchedule *s = schedule_of(&spec, &power, NULL);
        char *svg;
        assert_int_equal(ow_power_schematic(power, s, "many", &svg), OW_OK);
        const char *first = strstr(svg, "F0/15 5 A"), *next = strstr(svg, "behind F0/15");
        assert_true(first != NULL && next > first);
        assert_null(strstr(next + 1, "F0/15 5 A")); // the fuse itself stands once
        assert_true((strstr(svg, "266 °F") != NULL) == (is_us == 1));
        assert_true((strstr(svg, "130 °C") != NULL) == (is_us == 0));
        free(svg);
        free(s);
        ow_power_destroy(&power);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(given_cables_are_judged),       cmocka_unit_test(loads_for_other_volts_are_told),
        cmocka_unit_test(self_limiting_trace_needs_no_cut_out),
        cmocka_unit_test(a_weak_battery_is_named),       cmocka_unit_test(a_stuck_button_outlasts_the_key),
        cmocka_unit_test(missing_fuses_are_told),        cmocka_unit_test(drawing_says_what_lies_before),
        cmocka_unit_test(lamps_need_no_giant_main_fuse), cmocka_unit_test(a_button_on_the_wrong_line_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
