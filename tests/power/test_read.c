// SPDX-License-Identifier: GPL-3.0-or-later
// The wiring in a rig file: read with its units, completed for loads that have no circuit, refused with line
// and column.
#include "near.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "oilwright/power.h"

#define C(t) ((t) + OW_ZERO_CELSIUS_K)

static const char head[] = "name: cider press van (invented)\n"
                           "oil: rapeseed\n"
                           "parts:\n"
                           "  - tank: main tank\n"
                           "  - electric pump: boost pump\n"
                           "    current: 4 A\n"
                           "  - chamber: boost chamber\n"
                           "    heaters:\n"
                           "      - {name: plug one, power: 150 W, thermostat: {opens: 75 degC}}\n"
                           "      - {name: plug two, power: 150 W}\n"
                           "  - injection pump: pump\n"
                           "  - injectors: injectors\n"
                           "electrics:\n"; // line 13

static OwStatus read(const char *electrics, OwRig **rig, OwFaults *faults) {
    char text[4096];
    snprintf(text, sizeof text, "%s%s", head, electrics);
    OwUnits *units;
    assert_int_equal(ow_units_create(&units), OW_OK);
    const OwStatus status = ow_rig_read_text(text, strlen(text), "van.yaml", units, rig, faults);
    ow_units_destroy(&units);
    return status;
}

static void print_faults(const OwFaults *faults) {
    for (size_t i = 0; i < faults->count; i++) {
        char line[1024];
        ow_fault_format(&faults->items[i], line, sizeof line);
        print_error("%s\n", line);
    }
}

static void whole_wiring(void **state) {
    (void)state;
    OwRig *rig;
    OwFaults faults = {0};
    const OwStatus status =
        read("  battery: 70 Ah\n"
             "  starter battery: {age: 0.6, charge: 80 %, in parallel: 2, place: load space}\n"
             "  alternator: {rated current: 55 A, idle current: 20 A, set voltage: 14 V}\n"
             "  cables:\n"
             "    main: {length: 4 ft, size: 25 mm2, fuse: 150 A}\n"
             "    body earth: {size: AWG 2}\n"
             "  wiring: {drop: 5 %, insulation: 125 degC, sizes: awg, air in engine bay: 200 degF}\n"
             "  circuits:\n"
             "    - {circuit: glow, load: glow plugs, current: 48 A, hold button: yes, hold at most: 3 min}\n"
             "    - circuit: chamber one\n"
             "      load: boost chamber/plug one\n"
             "      cut-out: 130 degC\n"
             "      length: 6 ft\n"
             "      wire: 4 mm2\n"
             "      fuse: 20 A\n"
             "    - {load: boost pump, feed: accessory, earth: battery}\n",
             &rig, &faults);
    print_faults(&faults);
    assert_int_equal(status, OW_OK);
    const OwElectricSpec *s = rig->electric_spec;
    assert_non_null(s);
    assert_near(s->battery.capacity_c, 70 * 3600.0, 1e-6);
    assert_near(s->battery.cold_crank_a, 700.0 * 70 / 88, 1e-9);
    assert_near(s->battery.age, 0.6, 1e-12);
    assert_near(s->battery.charge, 0.8, 1e-12);
    assert_int_equal(s->battery.count, 2);
    assert_int_equal(s->battery.place, OW_PLACE_LOAD_SPACE);
    assert_true(s->alternator.is_fitted);
    assert_near(s->alternator.rated_a, 55.0, 0);
    assert_near(s->alternator.set_v, 14.0, 0);
    assert_near(s->main.length_m, 1.2192, 1e-9);
    assert_near(s->main.area_m2, 25e-6, 1e-12);
    assert_near(s->main.fuse_a, 150.0, 0);
    assert_near(s->body_earth.area_m2, ow_wire_awg_area(2), 1e-9);
    assert_near(s->starter.area_m2, 50e-6, 1e-12); // default kept
    assert_near(s->drop_share, 0.05, 1e-12);
    assert_near(s->insulation_k, C(125), 1e-9);
    assert_true(s->has_us_sizes);
    assert_near(s->place_k[OW_PLACE_ENGINE_BAY], C((200 - 32) / 1.8), 1e-6);
    assert_int_equal(s->circuit_count, 3);
    const OwCircuitSpec *glow = &s->circuits[0], *plug = &s->circuits[1], *pump = &s->circuits[2];
    assert_int_equal(glow->load, OW_LOAD_GLOW);
    assert_int_equal(glow->feed, OW_FEED_GLOW);
    assert_int_equal(glow->part, -1);
    assert_true(glow->has_hold && glow->has_relay);
    assert_near(glow->hold_s, 180.0, 0);
    assert_int_equal(plug->part, ow_rig_find(rig, "boost chamber"));
    assert_int_equal(plug->element, 0);
    assert_true(plug->has_thermostat);
    assert_near(plug->rated_a, 12.5, 1e-9);
    assert_near(plug->cutout_k, C(130), 1e-9);
    assert_near(plug->length_m, 1.8288, 1e-9);
    assert_near(plug->fuse_a, 20.0, 0);
    assert_int_equal(plug->line, 23);
    assert_string_equal(pump->name, "boost pump");
    assert_int_equal(pump->feed, OW_FEED_ACCESSORY);
    assert_int_equal(pump->earth, OW_EARTH_BATTERY);
    assert_near(pump->rated_a, 4.0, 0);
    // The second plug has no circuit in the file: it gets one.
    OwPower *power;
    assert_int_equal(ow_power_create(rig, &power, &faults), OW_OK);
    assert_int_equal(ow_power_spec(power)->circuit_count, 5);
    const int chamber = ow_rig_find(rig, "boost chamber");
    assert_int_equal(ow_power_find(power, chamber, 0), 1);
    assert_int_equal(ow_power_find(power, chamber, 1), 3);
    assert_string_equal(ow_power_spec(power)->circuits[3].name, "boost chamber/plug two");
    assert_false(ow_power_spec(power)->is_derived);
    ow_power_destroy(&power);
    ow_rig_destroy(&rig);
    ow_faults_clear(&faults);
}

static void no_wiring_is_derived(void **state) {
    (void)state;
    OwRig *rig;
    OwFaults faults = {0};
    assert_int_equal(read("  battery: 60 Ah\n", &rig, &faults), OW_OK);
    assert_null(rig->electric_spec);
    OwPower *power;
    assert_int_equal(ow_power_create(rig, &power, &faults), OW_OK);
    const OwElectricSpec *s = ow_power_spec(power);
    assert_true(s->is_derived);
    assert_int_equal(s->circuit_count, 4); // pump, two plugs, starter
    assert_near(s->battery.capacity_c, 60 * 3600.0, 1e-6);
    for (int i = 0; i < s->circuit_count; i++) {
        const bool is_starter = s->circuits[i].load == OW_LOAD_STARTER;
        assert_true(s->circuits[i].area_m2 > 0.0 &&
                    (is_starter || (s->circuits[i].fuse_a > 0.0 && s->circuits[i].line > 3)));
    }
    ow_power_destroy(&power);
    ow_rig_destroy(&rig);
    ow_faults_clear(&faults);
    // 24 V by the key-on voltage
    assert_int_equal(read("  key-on voltage: 24 V\n  alternator: none\n", &rig, &faults), OW_OK);
    assert_non_null(rig->electric_spec);
    assert_near(rig->electric_spec->system_v, 24.0, 0);
    assert_false(rig->electric_spec->alternator.is_fitted);
    assert_int_equal(ow_power_create(rig, &power, &faults), OW_OK);
    ow_power_destroy(&power);
    ow_rig_destroy(&rig);
    ow_faults_clear(&faults);
}

// Each wrong text, and where the fault must stand (line 14 is the first of the text) and what it must say.
static void wrong_wiring_is_refused_in_place(void **state) {
    (void)state;
    static const struct {
        const char *text;
        int line, column;
        const char *says, *remedy;
    } cases[] = {
        {"  circuits: {a: b}\n", 14, 13, "circuits", ""},
        {"  circuits:\n    - {load: boost pmp}\n", 15, 14, "boost pmp", "boost pump"},
        {"  circuits:\n    - {load: boost chamber/plug on}\n", 15, 14, "plug on", "plug one"},
        {"  circuits:\n    - {load: boost chamber}\n", 15, 14, "takes no current", "name the heater too"},
        {"  circuits:\n    - {load: main tank}\n", 15, 14, "takes no current", "heater"},
        {"  circuits:\n    - {circuit: x}\n", 15, 7, "needs a load", "load:"},
        {"  circuits:\n    - {load: boost pump, fuze: 5 A}\n", 15, 26, "fuze", "fuse"},
        {"  circuits:\n    - {load: boost pump, fuse: 5 V}\n", 15, 32, "", ""},
        {"  circuits:\n    - {load: boost pump}\n    - {circuit: again, load: boost pump}\n", 16, 7,
         "feeds this load already", ""},
        {"  circuits:\n    - {circuit: a, load: lamp}\n    - {circuit: a, load: other}\n", 16, 7,
         "is there already", ""},
        {"  alternator: {idle current: 80 A}\n", 14, 15, "idle current is above", "nameplate"},
        {"  wiring: {air in cabin: 120 degC}\n", 14, 11, "hot as the insulation", "higher class"},
        {"  cables: {main feed: {length: 1 m}}\n", 14, 12, "main feed", ""},
        {"  starter battery: {charge: 130 %}\n", 14, 29, "", ""},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        OwRig *rig;
        OwFaults faults = {0};
        const OwStatus status = read(cases[i].text, &rig, &faults);
        bool found = false;
        for (size_t k = 0; k < faults.count; k++) {
            const OwFault *f = &faults.items[k];
            found = found || (f->line == cases[i].line && f->column == cases[i].column &&
                              strstr(f->message, cases[i].says) && strstr(f->remedy, cases[i].remedy));
        }
        if (status == OW_OK || rig || !found) {
            print_error("case %zu, status %d:\n", i, status);
            print_faults(&faults);
            fail();
        }
        ow_faults_clear(&faults);
    }
}

/// The compiled network, which every morning makes, warns of elements for other volts at their place in the
/// file; and a fuse can be said to be missing.
static void what_burns_out_is_told_before_a_morning(void **state) {
    (void)state;
    OwRig *rig;
    OwFaults faults = {0};
    assert_int_equal(read("  key-on voltage: 24 V\n"
                          "  cables: {main: {no fuse: yes}}\n"
                          "  circuits:\n"
                          "    - {circuit: plug one, load: boost chamber/plug one, no fuse: yes}\n",
                          &rig, &faults),
                     OW_OK);
    ow_faults_clear(&faults);
    OwPower *power = NULL;
    assert_int_equal(ow_power_create(rig, &power, &faults), OW_OK);
    assert_int_equal(faults.errors, 0);
    assert_int_equal(faults.count, 3); // both elements and the pump stand at their 12 V
    assert_string_equal(faults.items[0].part, "plug one");
    assert_int_equal(faults.items[0].line, 17);
    for (size_t i = 0; i < faults.count; i++) {
        assert_int_equal(faults.items[i].severity, OW_FAULT_WARNING);
        assert_non_null(strstr(faults.items[i].message, "it burns out"));
    }
    const OwElectricSpec *spec = ow_power_spec(power);
    assert_true(spec->main.has_no_fuse && spec->circuits[0].has_no_fuse && !spec->circuits[1].has_no_fuse);
    ow_faults_clear(&faults);
    ow_power_destroy(&power);
    ow_rig_destroy(&rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(whole_wiring),
        cmocka_unit_test(what_burns_out_is_told_before_a_morning),
        cmocka_unit_test(no_wiring_is_derived),
        cmocka_unit_test(wrong_wiring_is_refused_in_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
