// SPDX-License-Identifier: GPL-3.0-or-later
// What a rig file says arrives in the rig: values, joints, rules, defaults; JSON; overrides; the written
// reference.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "oilwright/electrics.h"
#include "oilwright/rig.h"
#include "rig/catalogue.h"
#include "sample.h"

static OwUnits *units;

static int set_up(void **state) {
    (void)state;
    return ow_units_create(&units) == OW_OK ? 0 : -1;
}

static int tear_down(void **state) {
    (void)state;
    ow_units_destroy(&units);
    return 0;
}

static void show(const OwFaults *faults) {
    for (size_t i = 0; i < faults->count; i++) {
        char line[800];
        (void)ow_fault_format(&faults->items[i], line, sizeof line);
        print_error("%s\n", line);
    }
}

static OwRig *read_good(const char *text) {
    OwRig *rig = NULL;
    OwFaults faults = {0};
    const OwStatus status = ow_rig_read_text(text, strlen(text), "test.yaml", units, &rig, &faults);
    if (status != OW_OK || faults.errors > 0) {
        show(&faults);
    }
    assert_int_equal(status, OW_OK);
    assert_int_equal(faults.errors, 0);
    assert_non_null(rig);
    ow_faults_clear(&faults);
    return rig;
}

static void near(double value, double wanted) {
    if (!(fabs(value - wanted) <= 1e-9 * fabs(wanted))) {
        print_error("%.17g, wanted %.17g\n", value, wanted);
    }
    assert_true(fabs(value - wanted) <= 1e-9 * fabs(wanted));
}

static const OwPart *part(const OwRig *rig, const char *name) {
    const int i = ow_rig_find(rig, name);
    assert_true(i >= 0);
    return &rig->parts[i];
}

static bool has_joint(const OwRig *rig, const char *a, const char *port_a, const char *b,
                      const char *port_b) {
    for (int i = 0; i < rig->joint_count; i++) {
        const OwJoint *j = &rig->joints[i];
        const OwPart *pa = &rig->parts[j->part_a], *pb = &rig->parts[j->part_b];
        if (strcmp(pa->name, a) == 0 && strcmp(pb->name, b) == 0 &&
            strcmp(ow_part_port_name(pa->kind, j->port_a), port_a) == 0 &&
            strcmp(ow_part_port_name(pb->kind, j->port_b), port_b) == 0) {
            return true;
        }
    }
    return false;
}

static void sample_arrives(const OwRig *rig) {
    assert_string_equal(rig->name, "orchard van 3");
    near(rig->climate.ambient_k, 268.15);
    near(rig->climate.wind_m_s, 10 / 3.6);
    near(rig->engine.rated_power_w, 75 * 745.69987158227022);
    near(rig->vehicle.mass_kg, 1800);
    assert_int_equal(rig->vehicle.gear_count, 4);
    near(rig->vehicle.gear_m_s_per_rad_s[3], 34 / 3.6 / 104.71975511965977);
    assert_int_equal(rig->drive.kind, OW_DRIVE_LEGS);
    assert_int_equal(rig->drive.leg_count, 3);
    near(rig->drive.ready_wait_s, 150);
    near(rig->drive.legs[1].grade, 0.04);
    near(rig->drive.legs[1].ramp_s, 20);
    assert_true(rig->drive.legs[1].full_load && !rig->drive.legs[1].engine_off);
    assert_true(rig->drive.legs[2].engine_off && !rig->drive.legs[2].full_load);
    near(rig->electrics.battery_c, 360000);
    near(rig->limits.run_kinematic_m2_s, 12e-6);
    near(rig->limits.ready_k, 338.15);
    OwRig *untouched = NULL; // what the file does not say stays at its default
    assert_int_equal(ow_rig_create(&untouched), OW_OK);
    assert_true(rig->limits.start_kinematic_m2_s == untouched->limits.start_kinematic_m2_s);
    assert_true(rig->vehicle.drag_area_m2 == untouched->vehicle.drag_area_m2);
    ow_rig_destroy(&untouched);

    assert_int_equal(rig->fluid_count, 1);
    assert_string_equal(rig->fluid_name[0], "main");
    assert_string_equal(rig->fluid_spec[0].name, "rapeseed");
    assert_int_equal(rig->fluid_spec[0].point_count, 2);
    near(rig->fluid_spec[0].points[1].kinematic_m2_s, 12e-6);
    near(rig->fluid_spec[0].cloud_point_k, 269.15);

    assert_int_equal(rig->part_count, 12);
    const OwPart *tank = part(rig, "main tank");
    near(tank->as.tank.volume_m3, 16 * 3.785411784e-3);
    assert_string_equal(tank->as.tank.fluid, "main");
    assert_int_equal(tank->as.tank.elements.count, 1);
    near(tank->as.tank.elements.items[0].thermostat_off_k, 333.15);
    const OwPart *hose = part(rig, "supply hose");
    near(hose->as.run.bore_m, 0.0079375);
    near(hose->as.run.rise_m, -0.2);
    assert_true(hose->as.run.is_hose);
    assert_int_equal(hose->as.run.material, OW_MATERIAL_RUBBER);
    const OwPart *tube = part(rig, "return tube");
    assert_false(tube->as.run.is_hose);
    assert_int_equal(tube->as.run.material, OW_MATERIAL_STEEL);
    near(tube->as.run.length_m, 8.25 * 0.3048);
    const OwElectricPump *pump = &part(rig, "rear pump")->as.electric_pump;
    assert_int_equal(pump->curve_count, 3);
    near(pump->curve_pa[1], 25e3);
    near(pump->curve_flow_m3_s[2], 110 / 3.6e6);
    assert_false(pump->passes_when_off);
    assert_int_equal(part(rig, "main filter")->as.filter.material, OW_MATERIAL_ALUMINIUM);
    assert_int_equal(part(rig, "filter coil")->as.coil.warms, ow_rig_find(rig, "main filter"));
    const OwElements *elements = &part(rig, "boost chamber")->as.chamber.elements;
    assert_int_equal(elements->count, 2);
    assert_true(elements->items[0].has_thermostat && elements->items[0].senses_oil &&
                elements->items[0].key_on);
    assert_true(!elements->items[1].has_thermostat && !elements->items[1].key_on);
    assert_string_equal(elements->items[1].name, "heater 2");
    assert_int_equal(part(rig, "injection pump")->as.injection_pump.type, OW_PUMP_INLINE);
    const OwValve *valve = &part(rig, "loop valve")->as.valve;
    assert_int_equal(valve->ways, 3);
    assert_int_equal(valve->position_count, 4);
    assert_int_equal(valve->start_position, 2);
    assert_true(valve->opens_a[2] && valve->opens_b[2] && !valve->opens_a[3] && !valve->opens_b[3]);

    assert_int_equal(rig->joint_count, 12);
    assert_true(has_joint(rig, "main tank", "pickup", "supply hose", "in"));
    assert_true(has_joint(rig, "last screen", "out", "injection pump", "in"));
    assert_true(has_joint(rig, "injection pump", "return", "loop valve", "common"));
    assert_true(has_joint(rig, "loop valve", "a", "joint tee", "side"));
    assert_true(has_joint(rig, "loop valve", "b", "return tube", "in"));
    assert_true(has_joint(rig, "return tube", "out", "main tank", "return"));
    assert_true(has_joint(rig, "injectors", "return", "return tube", "in"));

    assert_int_equal(rig->rule_count, 4);
    assert_int_equal(rig->rules[0].trigger, OW_TRIGGER_ABOVE);
    assert_int_equal(rig->rules[0].watch, ow_rig_find(rig, "boost chamber"));
    near(rig->rules[0].level_k, (160 + 459.67) / 1.8);
    assert_int_equal(rig->rules[0].position, 1);
    assert_int_equal(rig->rules[1].element, 0);
    assert_int_equal(rig->rules[1].position, 0);
    near(rig->rules[1].delay_s, 300);
    assert_int_equal(rig->rules[2].trigger, OW_TRIGGER_BEFORE_STOP);
    assert_int_equal(rig->rules[2].element, -1);
    assert_int_equal(rig->rules[3].watch, OW_WATCH_COOLANT);
}

static void sample_reads_whole(void **state) {
    (void)state;
    OwRig *rig = read_good(sample_yaml);
    sample_arrives(rig);
    assert_int_equal(part(rig, "supply hose")->line, 21);
    assert_int_equal(part(rig, "supply hose")->column, 5);
    ow_rig_destroy(&rig);
    assert_null(rig);
}

/// The same content as a JSON body; also with a byte order mark and with CR LF line ends.
static void json_and_line_ends_read_the_same(void **state) {
    (void)state;
    static const char json[] =
        "{\"oil\": {\"main\": \"rapeseed\"}, \"climate\": {\"ambient\": \"-5 degC\"},\n"
        " \"parts\": [{\"tank\": \"t\", \"volume\": \"60 L\"}, {\"bore\": \"8 mm\", \"hose\": \"h\"},\n"
        "  {\"injection pump\": \"p\"}, {\"hose\": \"r\"}],\n"
        " \"lines\": [[\"t\", \"h\", \"p\", \"r\", \"t.return\"]], \"limits\": {\"ready temperature\": "
        "\"none\"}}\n";
    OwRig *rig = read_good(json);
    assert_int_equal(rig->part_count, 4);
    assert_int_equal(rig->joint_count, 4);
    near(part(rig, "h")->as.run.bore_m, 0.008);
    assert_true(rig->limits.ready_k == 0.0);
    ow_rig_destroy(&rig);

    const size_t n = strlen(sample_yaml);
    char *text = malloc(2 * n + 4);
    assert_non_null(text);
    size_t used = 3;
    memcpy(text, "\xEF\xBB\xBF", 3);
    for (size_t i = 0; i < n; i++) {
        if (sample_yaml[i] == '\n') {
            text[used++] = '\r';
        }
        text[used++] = sample_yaml[i];
    }
    text[used] = '\0';
    rig = read_good(text);
    sample_arrives(rig);
    ow_rig_destroy(&rig);
    free(text);
}

static void without_lines_parts_join_in_order(void **state) {
    (void)state;
    OwRig *rig = read_good(least_yaml);
    assert_int_equal(rig->joint_count, 3);
    assert_true(has_joint(rig, "tank", "pickup", "hose", "in"));
    assert_true(has_joint(rig, "hose", "out", "pump", "in"));
    assert_true(has_joint(rig, "pump", "return", "tank", "return"));
    ow_rig_destroy(&rig);
    rig = read_good("oil: diesel\nparts:\n  - tank: tank\n  - hose: hose\n  - filter: f\n  - coolant coil: "
                    "c\n    warms: f\n"
                    "  - injection pump: pump\n  - injectors: i\n  - hose: back\n");
    assert_int_equal(rig->joint_count, 6);
    assert_true(has_joint(rig, "f", "out", "pump", "in"));
    assert_true(has_joint(rig, "pump", "return", "back", "in"));
    assert_true(has_joint(rig, "back", "out", "tank", "return"));
    assert_true(has_joint(rig, "i", "return", "tank", "return"));
    ow_rig_destroy(&rig);
}

static void two_tanks_with_change_over(void **state) {
    (void)state;
    OwRig *rig = read_good("oil: {main: {blend: {rapeseed: 90 %, diesel: 10 %}}, start: diesel}\n"
                           "parts:\n"
                           "  - tank: main tank\n"
                           "  - tank: start tank\n"
                           "    fluid: start\n"
                           "  - hose: a\n"
                           "  - hose: b\n"
                           "  - valve: supply valve\n"
                           "    positions: {oil: a, diesel: b}\n"
                           "    start at: diesel\n"
                           "  - valve: stop cock\n"
                           "  - lift pump: lift pump\n"
                           "  - injection pump: pump\n"
                           "  - valve: return valve\n"
                           "    positions: {oil: a, diesel: b}\n"
                           "lines:\n"
                           "  - [main tank, a, supply valve.a]\n"
                           "  - [start tank, b, supply valve.b]\n"
                           "  - [supply valve, stop cock, lift pump, pump, return valve]\n"
                           "  - [return valve.a, main tank]\n"
                           "  - [return valve, start tank]\n");
    assert_int_equal(rig->fluid_count, 2);
    near(rig->fluid_spec[0].blend_fraction[1], 0.1);
    assert_string_equal(part(rig, "start tank")->as.tank.fluid, "start");
    assert_true(has_joint(rig, "supply valve", "common", "stop cock", "common")); // natural ports
    assert_true(has_joint(rig, "stop cock", "a", "lift pump", "in"));
    assert_true(has_joint(rig, "pump", "return", "return valve", "common"));
    assert_true(has_joint(rig, "return valve", "b", "start tank", "return")); // the side that is left
    ow_rig_destroy(&rig);
}

/// Whatever a workshop knows of its oil.
static void oil_by_readings(void **state) {
    (void)state;
    OwRig *rig =
        read_good("oil:\n"
                  "  used: {kind: rapeseed, used: yes, water: 750 mg/kg, solids: 24 mg/kg, acid value: 2.0,\n"
                  "    polar matter: 12 %, hydrometer: {reads: 905 kg/m3, at: 30 degC},\n"
                  "    cups: [{cup: 4, takes: 35 s, at: 20 degC}],\n"
                  "    viscosity: [{at: 40 degC, is: 40 cSt, within: 3 %}]}\n"
                  "  start:\n"
                  "    fatty acids: {16:0: 3.49 %, 18:0: 0.85 %, oleic: 64.4 %, 18:2: 22.3 %, 18:3: 8.23 %}\n"
                  "parts:\n  - tank: tank\n  - hose: hose\n  - injection pump: pump\n");
    const OwOilSpec *spec = &rig->fluid_spec[0];
    assert_string_equal(rig->fluid_name[0], "used");
    assert_true(spec->is_used && spec->cup_count == 1 && spec->cups[0].nozzle_mm == 4);
    near(spec->cups[0].seconds, 35);
    near(spec->water_share, 750e-6);
    near(spec->solids_share, 24e-6);
    near(spec->acid_mg_g, 2);
    near(spec->polar_share, 0.12);
    near(spec->hydrometer_k, 303.15);
    near(spec->point_error[0], 0.03);
    near(rig->fluid_spec[1].profile[ow_oil_acid_find("18:1")], 0.644);
    ow_rig_destroy(&rig);
    rig = read_good("oil: {kind: soybean, used: 1.3}\nparts:\n  - tank: tank\n  - hose: hose\n  - injection "
                    "pump: pump\n");
    near(rig->fluid_spec[0].used_factor, 1.3);
    ow_rig_destroy(&rig);
}

/// Every default is inside its own range, and a rig of defaults is legal.
static void defaults_are_legal(void **state) {
    (void)state;
    for (int kind = 0; kind < OW_PART_KIND_COUNT; kind++) {
        OwPart p;
        ow_part_default((OwPartKind)kind, &p);
        assert_int_equal(p.kind, kind);
        assert_string_not_equal(ow_part_kind_name((OwPartKind)kind), "unknown kind");
        const OwFieldTable table = ow_kind_word_of(&p)->fields;
        for (int i = 0; i < table.count; i++) {
            assert_true(ow_field_is_legal(&table.rows[i], ow_field_real(&table.rows[i], &p)));
            assert_true(ow_field_real(&table.rows[i], &p) == table.rows[i].fallback);
            for (int k = 0; k < i; k++) { // no two rows share a place or a key
                assert_true(table.rows[i].offset != table.rows[k].offset);
                assert_string_not_equal(table.rows[i].key, table.rows[k].key);
            }
            // Beyond each end, and for NaN, the row says no.
            if (table.rows[i].type == OW_FIELD_REAL) {
                assert_false(ow_field_is_legal(&table.rows[i], NAN));
                assert_false(ow_field_is_legal(&table.rows[i], table.rows[i].high * 1.001 + 1e-3));
            }
        }
    }
    for (int m = 0; m < OW_MATERIAL_COUNT; m++) {
        assert_string_equal(ow_material((OwMaterial)m)->name, ow_material_names[m]);
    }
    assert_string_equal(ow_part_port_name(OW_PART_INJECTION_PUMP, 1), "return");
    assert_string_equal(ow_part_port_name(OW_PART_TEE, 3), "");
    assert_int_equal(ow_part_port_count(OW_PART_COOLANT_COIL), 0);
    // Metals: Incropera table A.1 at 300 K. Copper 8933 kg/m3, 385 J/(kg K), 401 W/(m K).
    assert_true(ow_material(OW_MATERIAL_COPPER)->conductivity_w_mk == 401.0);
    OwRig *rig = read_good(least_yaml);
    near(part(rig, "pump")->as.injection_pump.transfer_m3_rev * 2000 * 60, 0.05); // 50 L/h at 2000 rpm
    ow_rig_destroy(&rig);
}

static void overrides_change_one_value(void **state) {
    (void)state;
    OwRig *rig = read_good(sample_yaml);
    OwFaults faults = {0};
    assert_int_equal(ow_rig_override(rig, "climate.ambient=-10 degC", units, &faults), OW_OK);
    near(rig->climate.ambient_k, 263.15);
    assert_int_equal(ow_rig_override(rig, "supply hose.bore=10 mm", units, &faults), OW_OK);
    near(part(rig, "supply hose")->as.run.bore_m, 0.010);
    assert_int_equal(ow_rig_override(rig, "boost chamber/glow a.power=170 W", units, &faults), OW_OK);
    near(part(rig, "boost chamber")->as.chamber.elements.items[0].power_w, 170);
    // As the file nests it, and short.
    const OwElement *glow = &part(rig, "boost chamber")->as.chamber.elements.items[0];
    assert_true(glow->has_thermostat);
    assert_int_equal(ow_rig_override(rig, "boost chamber/glow a.thermostat.opens=91 degC", units, &faults),
                     OW_OK);
    near(glow->thermostat_off_k, 364.15);
    assert_int_equal(ow_rig_override(rig, "boost chamber/glow a.opens=92 degC", units, &faults), OW_OK);
    near(glow->thermostat_off_k, 365.15);
    assert_int_equal(ow_rig_override(rig, "boost chamber/glow a.thermostat=none", units, &faults), OW_OK);
    assert_false(glow->has_thermostat);
    assert_int_equal(ow_rig_override(rig, "boost chamber/glow a.thermostat.closes=70 degC", units, &faults),
                     OW_OK);
    assert_true(glow->has_thermostat);
    assert_int_equal(ow_rig_override(rig, "filter coil.fitted=no", units, &faults), OW_OK);
    assert_false(part(rig, "filter coil")->as.coil.is_fitted);
    assert_int_equal(ow_rig_override(rig, "loop valve.start at=tank", units, &faults), OW_OK);
    assert_int_equal(part(rig, "loop valve")->as.valve.start_position, 1);
    assert_int_equal(ow_rig_override(rig, "drive=nedc", units, &faults), OW_OK);
    assert_int_equal(rig->drive.kind, OW_DRIVE_NEDC);
    assert_int_equal(ow_rig_override(rig, "oil=soybean", units, &faults), OW_OK);
    assert_string_equal(rig->fluid_spec[0].name, "soybean");
    assert_int_equal(faults.count, 0);
    static const struct {
        const char *text, *says;
        OwStatus status;
    } bad[] = {
        {"climate.ambient", "no = in it", OW_ERROR_VALUE},
        {"ambient=3 degC", "no key is named", OW_ERROR_VALUE},
        {"climat.ambient=3 degC", "no section or part named \"climat\"", OW_ERROR_VALUE},
        {"climate.ambiant=3 degC", "did you mean \"ambient\"", OW_ERROR_VALUE},
        {"climate.ambient=3 kPa", "not a unit of temperature", OW_ERROR_UNIT},
        {"climate.ambient=300 degC", "out of range", OW_ERROR_VALUE},
        {"suply hose.bore=3 mm", "did you mean \"supply hose\"", OW_ERROR_VALUE},
        {"boost chamber/glow b.power=3 W", "no heater named \"glow b\"", OW_ERROR_VALUE},
        {"starter battery.age=0.5", "the rig's wiring is not described", OW_ERROR_VALUE},
        {"boost chamber/glow b.power=3 W", "its heaters are: ", OW_ERROR_VALUE},
        {"supply hose/glow b.power=3 W", "give it one in the file", OW_ERROR_VALUE},
        {"boost chamber/glow b.thermostat.opens=60 degC", "no heater named \"glow b\"", OW_ERROR_VALUE},
        {"boost chamber/glow a.thermostat.power=3 W", "unknown key \"power\"", OW_ERROR_VALUE},
        {"boost chamber/glow a.thermostat.open=60 degC", "did you mean \"opens\"", OW_ERROR_VALUE},
        {"boost chamber/glow a.thermostat=60 degC", "thermostat.opens=80 degC", OW_ERROR_VALUE},
        {"boost chamber/glow a.opens=20 degC", "closes", OW_ERROR_VALUE},
        {"main tank.fluid=water", "is unknown", OW_ERROR_VALUE},
        {"drive=sunday", "cycle", OW_ERROR_VALUE},
        {"oil=axle grease", "axle grease", OW_ERROR_VALUE},
        {"loop valve.positions=a", "cannot be set this way", OW_ERROR_VALUE},
        {"engine.idle speed=1900 rpm", NULL, OW_OK},
        {"engine.rated speed=1000 rpm", "not in order", OW_ERROR_VALUE},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        ow_faults_clear(&faults);
        OwRig before = *rig;
        assert_int_equal(ow_rig_override(rig, bad[i].text, units, &faults), bad[i].status);
        if (bad[i].says != NULL) {
            char line[800];
            assert_true(faults.count >= 1);
            (void)ow_fault_format(&faults.items[0], line, sizeof line);
            if (strstr(line, bad[i].says) == NULL) {
                print_error("%s: %s\n", bad[i].text, line);
            }
            assert_non_null(strstr(line, bad[i].says));
            assert_memory_equal(&before, rig, sizeof before); // left as it was
        }
    }
    ow_faults_clear(&faults);
    near(part(rig, "supply hose")->as.run.bore_m, 0.010);
    ow_rig_destroy(&rig);
}

/// The maps of the wiring, short and as the file nests them; refused ones leave it as it was.
static void overrides_reach_the_wiring(void **state) {
    (void)state;
    char text[4096];
    (void)snprintf(text, sizeof text, "%selectrics: {starter battery: {age: 0.25}}\n", least_yaml);
    OwRig *rig = read_good(text);
    OwFaults faults = {0};
    assert_non_null(rig->electric_spec);
    const OwElectricSpec *spec = rig->electric_spec;
    assert_int_equal(ow_rig_override(rig, "starter battery.age=0.75", units, &faults), OW_OK);
    near(spec->battery.age, 0.75);
    assert_int_equal(ow_rig_override(rig, "electrics.starter battery.age=0.5", units, &faults), OW_OK);
    near(spec->battery.age, 0.5);
    assert_int_equal(ow_rig_override(rig, "alternator.idle current=31 A", units, &faults), OW_OK);
    near(spec->alternator.idle_a, 31.0);
    assert_int_equal(ow_rig_override(rig, "wiring.cranking current=200 A", units, &faults), OW_OK);
    near(spec->crank_a, 200.0);
    assert_int_equal(faults.count, 0);
    assert_int_equal(ow_rig_override(rig, "starter battery.aeg=0.5", units, &faults), OW_ERROR_VALUE);
    assert_int_equal(ow_rig_override(rig, "starter battery.age=2", units, &faults), OW_ERROR_VALUE);
    assert_non_null(strstr(faults.items[0].remedy, "did you mean \"age\""));
    assert_non_null(strstr(faults.items[1].message, "out of range"));
    near(spec->battery.age, 0.5);
    ow_faults_clear(&faults);
    ow_rig_destroy(&rig);
}

static void reference_names_every_key(void **state) {
    (void)state;
    FILE *out = tmpfile();
    assert_non_null(out);
    assert_int_equal(ow_rig_write_reference(out), OW_OK);
    const long size = ftell(out);
    assert_true(size > 5000);
    char *text = calloc((size_t)size + 1, 1);
    assert_non_null(text);
    rewind(out);
    assert_int_equal(fread(text, 1, (size_t)size, out), size);
    (void)fclose(out);
    for (const OwKindWord *word = ow_kind_words(); word->word != NULL; word++) {
        char line[100];
        (void)snprintf(line, sizeof line, "### %s\n", word->word);
        assert_non_null(strstr(text, line));
        for (int i = 0; i < word->fields.count; i++) {
            (void)snprintf(line, sizeof line, "\n| %s | ", word->fields.rows[i].key);
            assert_non_null(strstr(text, line));
        }
    }
    for (const OwSection *section = ow_sections(); section->name != NULL; section++) {
        for (int i = 0; i < section->fields.count; i++) {
            char line[100];
            (void)snprintf(line, sizeof line, "\n| %s | ", section->fields.rows[i].key);
            assert_non_null(strstr(text, line));
        }
    }
    free(text);
    assert_int_equal(ow_rig_write_reference(NULL), OW_ERROR_USE);
}

static void wrong_use_is_refused(void **state) {
    (void)state;
    OwRig *rig = NULL;
    OwFaults faults = {0};
    assert_int_equal(ow_rig_read_text("a: b", 4, "x", NULL, &rig, &faults), OW_ERROR_USE);
    assert_int_equal(ow_rig_read_text(NULL, 4, "x", units, &rig, &faults), OW_ERROR_USE);
    assert_int_equal(ow_rig_read_text("a: b", 4, "x", units, NULL, &faults), OW_ERROR_USE);
    assert_int_equal(ow_rig_check(NULL, &faults), OW_ERROR_USE);
    assert_int_equal(ow_rig_create(NULL), OW_ERROR_USE);
    assert_int_equal(ow_rig_find(NULL, "x"), -1);
    ow_rig_destroy(NULL);
    assert_int_equal(faults.count, 0);
    assert_int_equal(ow_rig_read_file("/nowhere/at all.yaml", units, &rig, &faults), OW_ERROR_READ);
    assert_int_equal(faults.errors, 1);
    assert_int_equal(ow_rig_read_file("/", units, &rig, &faults), OW_ERROR_READ);
    assert_null(rig);
    ow_faults_clear(&faults);
}

/// Rigs spoilt in memory, as an editor or a study would: each is refused and says why.
static void check_finds_spoilt_rigs(void **state) {
    (void)state;
    for (int spoil = 0; spoil < 14; spoil++) {
        OwRig *rig = read_good(sample_yaml);
        const char *says = "";
        switch (spoil) {
        case 0:
            rig->parts[1].as.run.bore_m = NAN;
            says = "bore: unknown is out of range";
            break;
        case 1:
            rig->parts[1].as.run.bore_m = -1.0;
            says = "bore";
            break;
        case 2:
            rig->joints[0].part_b = 99;
            says = "names no part";
            break;
        case 3:
            rig->joints[0].port_b = 7;
            says = "has not";
            break;
        case 4:
            rig->rules[0].position = 9;
            says = "cannot be carried out";
            break;
        case 5:
            rig->rules[0].watch = ow_rig_find(rig, "joint tee");
            says = "watches nothing";
            break;
        case 6:
            rig->joint_count = 0;
            says = "joined";
            break;
        case 7:
            rig->parts[0].kind = (OwPartKind)77;
            says = "kind of the part is unknown";
            break;
        case 8:
            rig->drive.leg_count = 0;
            says = "no leg";
            break;
        case 9:
            rig->parts[4].as.coil.warms = -1;
            says = "warms nothing";
            break;
        case 10:
            rig->parts[5].as.chamber.elements.count = 9;
            says = "number of heaters";
            break;
        case 11:
            rig->climate.ambient_k = INFINITY;
            says = "ambient";
            break;
        case 12:
            rig->parts[2].name[0] = '\0';
            says = "no legal name";
            break;
        default:
            rig->parts[8].as.injection_pump.type = (OwPumpType)5;
            says = "type";
            break;
        }
        OwFaults faults = {0};
        assert_int_equal(ow_rig_check(rig, &faults), OW_ERROR_VALUE);
        bool is_said = false;
        for (size_t i = 0; i < faults.count; i++) {
            is_said = is_said || strstr(faults.items[i].message, says) != NULL;
        }
        if (!is_said) {
            print_error("spoilt %d: \"%s\" is not said\n", spoil, says);
            show(&faults);
        }
        assert_true(is_said);
        ow_faults_clear(&faults);
        ow_rig_destroy(&rig);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sample_reads_whole),
        cmocka_unit_test(json_and_line_ends_read_the_same),
        cmocka_unit_test(without_lines_parts_join_in_order),
        cmocka_unit_test(two_tanks_with_change_over),
        cmocka_unit_test(defaults_are_legal),
        cmocka_unit_test(oil_by_readings),
        cmocka_unit_test(overrides_change_one_value),
        cmocka_unit_test(overrides_reach_the_wiring),
        cmocka_unit_test(reference_names_every_key),
        cmocka_unit_test(wrong_use_is_refused),
        cmocka_unit_test(check_finds_spoilt_rigs),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
