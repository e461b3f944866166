// SPDX-License-Identifier: GPL-3.0-or-later
// A van of an invented orchard co-operative: glow plugs held on, two heaters, pump, change-over valve, head
// lamps, starter.
#ifndef OW_TEST_POWER_DEMO_H
#define OW_TEST_POWER_DEMO_H

#include <stdio.h>

#include "oilwright/power.h"

enum { DEMO_GLOW, DEMO_CHAMBER, DEMO_FILTER, DEMO_PUMP, DEMO_VALVE, DEMO_LAMPS, DEMO_STARTER, DEMO_COUNT };

static inline OwCircuitSpec *demo_add(OwElectricSpec *spec, OwLoadKind load, const char *name) {
    OwCircuitSpec *c = &spec->circuits[spec->circuit_count++];
    ow_circuit_default(load, c);
    c->rated_v = spec->system_v;
    c->line = 10 + spec->circuit_count;
    c->column = 5;
    snprintf(c->name, sizeof c->name, "%s", name);
    return c;
}

static inline OwElectricSpec demo_spec(void) {
    OwElectricSpec spec;
    ow_electric_default(12.0, &spec);
    demo_add(&spec, OW_LOAD_GLOW, "glow plugs");
    OwCircuitSpec *c = demo_add(&spec, OW_LOAD_HEATER, "boost chamber");
    c->rated_a = 15.0;
    c->cold_ratio = 2.0;
    c->part = 3;
    c->element = 0;
    c->has_thermostat = true;
    c->cutout_k = 273.15 + 130.0;
    c = demo_add(&spec, OW_LOAD_HEATER, "filter heater");
    c->rated_a = 8.0;
    c->part = 4;
    c->element = 0;
    c->has_thermostat = true;
    c->length_m = 2.0;
    c = demo_add(&spec, OW_LOAD_PUMP, "boost pump");
    c->part = 2;
    c->length_m = 4.0;
    c->place = OW_PLACE_UNDER_FLOOR;
    demo_add(&spec, OW_LOAD_VALVE, "change-over valve")->part = 5;
    c = demo_add(&spec, OW_LOAD_LAMP, "head lamps");
    c->rated_a = 9.2;
    c->has_switch = true;
    c->switch_a = 16.0;
    demo_add(&spec, OW_LOAD_STARTER, "starter");
    return spec;
}

/// Key on, glow held with all heaters, cranking, idle with everything, after-glow at 2000 1/min, drive at
/// 3000 1/min.
enum { DEMO_KEY_ON, DEMO_PREHEAT, DEMO_CRANK, DEMO_IDLE, DEMO_AFTERGLOW, DEMO_DRIVE, DEMO_STATES };

static inline OwPowerInput demo_input(const OwPower *power, int state) {
    OwPowerInput in = ow_power_input(power, 268.15);
    const double rpm = 3.14159265358979 / 30.0;
    const bool on[DEMO_STATES][DEMO_COUNT] = {
        [DEMO_KEY_ON] = {0, 1, 1, 1, 0, 0, 0},    [DEMO_PREHEAT] = {1, 1, 1, 1, 0, 0, 0},
        [DEMO_CRANK] = {1, 0, 0, 1, 0, 0, 1},     [DEMO_IDLE] = {1, 1, 1, 1, 1, 1, 0},
        [DEMO_AFTERGLOW] = {1, 0, 1, 1, 1, 1, 0}, [DEMO_DRIVE] = {0, 0, 0, 1, 1, 1, 0}};
    for (int i = 0; i < DEMO_COUNT; i++) {
        in.is_on[i] = on[state][i];
    }
    in.is_cranking = state == DEMO_CRANK;
    in.engine_rad_s =
        rpm * (state < DEMO_CRANK ? 0
                                  : (state == DEMO_CRANK
                                         ? 150
                                         : (state == DEMO_IDLE ? 800 : (state == DEMO_DRIVE ? 3000 : 2000))));
    if (state == DEMO_KEY_ON) { // elements still cold
        in.load_ohm[DEMO_CHAMBER] = 0.4;
        in.load_ohm[DEMO_FILTER] = 1.0;
    }
    return in;
}

#endif
