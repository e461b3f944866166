// SPDX-License-Identifier: GPL-3.0-or-later
// Compiles a description of the electrical side into the form that is solved, and answers the simple
// questions about it.
#include "power/power.h"
#include "power/schedule.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void complain(OwFaults *faults, OwSeverity severity, const OwCircuitSpec *circuit, const char *message,
                     const char *remedy) {
    if (!faults) {
        return;
    }
    OwFault fault = {.status = OW_ERROR_VALUE, .severity = severity};
    if (circuit) {
        fault.line = circuit->line;
        fault.column = circuit->column;
        snprintf(fault.part, sizeof fault.part, "%s", circuit->name);
    } else {
        snprintf(fault.part, sizeof fault.part, "electrics");
    }
    snprintf(fault.message, sizeof fault.message, "%s", message);
    snprintf(fault.remedy, sizeof fault.remedy, "%s", remedy);
    ow_faults_add(faults, &fault);
}

static bool in(double x, double low, double high) {
    return x >= low && x <= high; // false for NaN
}

static bool cable_ok(const OwCableSpec *c) {
    return in(c->length_m, 0.0, 100.0) && in(c->area_m2, 0.0, 1e-3) && in(c->joint_ohm, 0.0, 1.0) &&
           in(c->fuse_a, 0.0, 1000.0);
}

static bool circuit_ok(const OwCircuitSpec *c) {
    return in(c->rated_v, 1.0, 100.0) && in(c->rated_a, 1e-3, 2000.0) && in(c->cold_ratio, 1.0, 30.0) &&
           in(c->inrush_s, 0.0, 1e4) && in(c->hold_s, 0.0, 1e5) && in(c->longest_s, 0.0, 1e6) &&
           in(c->cutout_k, 0.0, 2000.0) && in(c->length_m, 0.01, 100.0) &&
           in(c->control_length_m, 0.0, 100.0) && in(c->earth_length_m, 0.0, 100.0) &&
           in(c->area_m2, 0.0, 1e-3) && in(c->fuse_a, 0.0, 500.0) && in(c->relay_a, 0.0, 2000.0) &&
           in(c->switch_a, 0.0, 2000.0) && in(c->joint_ohm, 0.0, 10.0) && c->load >= 0 &&
           c->load < OW_LOAD_COUNT && c->feed >= 0 && c->feed < OW_FEED_COUNT && c->earth >= 0 &&
           c->earth < OW_EARTH_COUNT && c->place >= 0 && c->place < OW_PLACE_COUNT;
}

/// Everything that the solve divides by or takes a root of is held in range here.
static bool check(const OwElectricSpec *s, OwFaults *faults) {
    bool ok = true;
    const OwBatterySpec *b = &s->battery;
    if (!(s->system_v == 6.0 || s->system_v == 12.0 || s->system_v == 24.0) || b->rated_v != s->system_v ||
        !in(b->capacity_c, 3600.0, 1e7) || !in(b->cold_crank_a, 10.0, 5000.0) || !in(b->charge, 0.0, 1.0) ||
        !in(b->age, 0.0, 1.0) || !in(b->mass_kg, 0.5, 500.0) || !in(b->count, 1, 8) ||
        !in(b->temperature_k, 0.0, 400.0)) {
        complain(faults, OW_FAULT_ERROR, NULL, "the battery is not one that can be",
                 "volts of the system, 1 Ah and 10 A at least");
        ok = false;
    }
    const OwAlternatorSpec *a = &s->alternator;
    if (a->is_fitted &&
        (!in(a->rated_a, 1.0, 1000.0) || !in(a->idle_a, 0.0, a->rated_a) ||
         !in(a->cut_in_rad_s, 1.0, 600.0) || !in(a->pulley_ratio, 0.3, 10.0) || !in(a->set_v, 3.0, 40.0) ||
         !in(a->droop_v, 0.01, 3.0) || !in(a->set_slope_v_k, -0.1, 0.1))) {
        complain(faults, OW_FAULT_ERROR, NULL, "the alternator is not one that can be",
                 "current at idle below the rated one, set volts 3..40 V, droop 0.01..3 V");
        ok = false;
    }
    if (!cable_ok(&s->main) || !cable_ok(&s->charge) || !cable_ok(&s->starter) || !cable_ok(&s->body_earth) ||
        !cable_ok(&s->engine_earth) || !in(s->crank_a, 1.0, 3000.0) || !in(s->drop_share, 0.001, 0.5) ||
        !in(s->insulation_k, 330.0, 600.0) || !in(s->bundle, 0.1, 1.0) || !in(s->idle_rad_s, 0.0, 420.0)) {
        complain(faults, OW_FAULT_ERROR, NULL, "a cable or a limit of the wiring is out of range",
                 "lengths to 100 m, sections to 1000 mm2, drop 0.1..50 %, insulation 57..327 degC");
        ok = false;
    }
    for (int i = 0; i < OW_PLACE_COUNT; i++) {
        if (!in(s->place_k[i], 220.0, s->insulation_k - 5.0)) {
            complain(faults, OW_FAULT_ERROR, NULL,
                     "the air in a place is as hot as the insulation stands, or impossible",
                     "insulation of a higher class");
            ok = false;
        }
    }
    if (!in(s->circuit_count, 0, OW_MAX_CIRCUITS)) {
        complain(faults, OW_FAULT_ERROR, NULL, "too many circuits", "32 at most");
        return false;
    }
    for (int i = 0; i < s->circuit_count; i++) {
        if (!circuit_ok(&s->circuits[i])) {
            complain(faults, OW_FAULT_ERROR, &s->circuits[i], "a value of this circuit is out of range",
                     "rated volts and amperes above zero, length 0.01..100 m");
            ok = false;
        }
    }
    return ok;
}

static double cable_ohm(const OwCableSpec *cable) {
    return cable->length_m * ow_wire_ohm_m(cable->area_m2, 293.15);
}

static OwQuickCircuit quick_of(const OwElectricSpec *spec, const OwCircuitSpec *c) {
    OwQuickCircuit q = {.is_starter = c->load == OW_LOAD_STARTER};
    q.earth = c->earth == OW_EARTH_BODY ? OW_AT_BODY : (c->earth == OW_EARTH_ENGINE ? OW_AT_ENGINE : -1);
    if (q.is_starter) {
        q.wire_ohm = cable_ohm(&spec->starter);
        q.joint_ohm = spec->starter.joint_ohm;
    } else {
        q.wire_ohm = (c->length_m + c->earth_length_m) * ow_wire_ohm_m(c->area_m2, 293.15);
        q.joint_ohm = c->joint_ohm;
    }
    q.load.rated_v = c->rated_v;
    q.load.limit_a = c->rated_a;
    q.load.resistance_ohm = c->rated_v / c->rated_a;
    q.load.law = c->load == OW_LOAD_PUMP ? OW_BRANCH_MOTOR
                                         : (c->load == OW_LOAD_LAMP ? OW_BRANCH_LAMP : OW_BRANCH_RESISTANCE);
    if (q.is_starter) { // the motor turns the cold engine with this current at three quarters of the rated
                        // volts
        q.load.resistance_ohm = 0.75 * spec->system_v / spec->crank_a;
    }
    return q;
}

OwStatus ow_power_create_from(const OwElectricSpec *spec, OwPower **out, OwFaults *faults) {
    *out = NULL;
    if (!check(spec, faults)) {
        return OW_ERROR_VALUE;
    }
    OwPower *power = calloc(1, sizeof *power);
    if (!power) {
        return OW_ERROR_MEMORY;
    }
    power->spec = *spec;
    OwElectricSpec *s = &power->spec;
    if (s->starter.area_m2 <= 0.0) {
        s->starter.area_m2 = 50e-6;
    }
    if (s->engine_earth.area_m2 <= 0.0) {
        s->engine_earth.area_m2 = 50e-6;
    }
    // No joint is perfect, and no cable of no length: 10 microohm keep the sums finite.
    OwCableSpec *const cables[] = {&s->main, &s->charge, &s->starter, &s->body_earth, &s->engine_earth};
    for (int i = 0; i < 5; i++) {
        cables[i]->joint_ohm = fmax(cables[i]->joint_ohm, 1e-5);
    }
    power->alternator = ow_power_alternator_fit(&s->alternator);
    power->capacity_c = ow_battery_capacity(&s->battery);
    ow_power_size(s, power->sizing, &power->main_sizing);
    power->main_ohm = cable_ohm(&s->main);
    power->charge_ohm = cable_ohm(&s->charge);
    power->body_ohm = cable_ohm(&s->body_earth);
    power->engine_ohm = cable_ohm(&s->engine_earth);
    for (int i = 0; i < s->circuit_count; i++) {
        power->quick[i] = quick_of(s, &s->circuits[i]);
    }
    *out = power;
    return OW_OK;
}

OwStatus ow_power_create(const OwRig *rig, OwPower **power, OwFaults *faults) {
    *power = NULL;
    OwElectricSpec *spec = calloc(1, sizeof *spec);
    if (!spec) {
        return OW_ERROR_MEMORY;
    }
    OwStatus status = ow_electric_derive(rig, spec);
    if (status == OW_ERROR_RANGE) {
        complain(faults, OW_FAULT_ERROR, NULL, "the rig has more than 32 electric loads",
                 "join some of them in one circuit");
        status = OW_ERROR_VALUE;
    }
    if (status == OW_OK) {
        status = ow_power_create_from(spec, power, faults);
    }
    for (int i = 0; status == OW_OK && i < spec->circuit_count; i++) {
        ow_power_check_volts(*power, &spec->circuits[i], faults); // or a morning would run on what burns out
    }
    free(spec);
    return status;
}

void ow_power_destroy(OwPower **power) {
    if (power) {
        free(*power);
        *power = NULL;
    }
}

const OwElectricSpec *ow_power_spec(const OwPower *power) {
    return &power->spec;
}

int ow_power_find(const OwPower *power, int part, int element) {
    for (int i = 0; i < power->spec.circuit_count; i++) {
        if (power->spec.circuits[i].part == part && power->spec.circuits[i].element == element && part >= 0) {
            return i;
        }
    }
    return -1;
}

OwPowerInput ow_power_input(const OwPower *power, double soak_k) {
    OwPowerInput input = {.battery_charge = power->spec.battery.charge, .wire_k = soak_k};
    input.battery_k = power->spec.battery.temperature_k > 0.0 ? power->spec.battery.temperature_k : soak_k;
    return input;
}

double ow_power_crank_v(const OwPower *power, double battery_charge, double battery_k) {
    const OwSource s = ow_battery_source(&power->spec.battery, battery_charge, battery_k);
    const double copper = ow_power_copper_factor(battery_k);
    const double way = (cable_ohm(&power->spec.starter) + power->engine_ohm) * copper +
                       power->spec.starter.joint_ohm + power->spec.engine_earth.joint_ohm;
    const double motor = 0.75 * power->spec.system_v / power->spec.crank_a;
    return s.rest_v * (way + motor) / (way + motor + s.give_ohm);
}
