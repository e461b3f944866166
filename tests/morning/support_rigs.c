// SPDX-License-Identifier: GPL-3.0-or-later
// The rigs of tests and benchmarks, part by part. Sizes are common practice, no source.
#include "support_rigs.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_PARTS = 40, MOST_JOINTS = 60, MOST_RULES = 12 };
#define CELSIUS(t) ((t) + OW_ZERO_CELSIUS_K)
#define LPH(q) ((q)*1e-3 / 3600.0)

static int part_index(const OwRig *rig, const char *name) {
    const int index = ow_rig_find(rig, name);
    if (index < 0) {
        (void)fprintf(stderr, "no part called %s\n", name);
        abort();
    }
    return index;
}

OwRig *ow_support_rig(double ambient_k) {
    OwRig *rig = NULL;
    if (ow_rig_create(&rig) != OW_OK) {
        return NULL;
    }
    (void)snprintf(rig->name, sizeof rig->name, "Three Valleys orchard van (invented)");
    rig->parts = ow_arena_take(rig->arena, MOST_PARTS, sizeof *rig->parts);
    rig->joints = ow_arena_take(rig->arena, MOST_JOINTS, sizeof *rig->joints);
    rig->rules = ow_arena_take(rig->arena, MOST_RULES, sizeof *rig->rules);
    if (!rig->parts || !rig->joints || !rig->rules) {
        ow_rig_destroy(&rig);
        return NULL;
    }
    rig->climate.ambient_k = ambient_k;
    return rig;
}

OwPart *ow_support_part(OwRig *rig, OwPartKind kind, const char *name, OwPlace place) {
    if (rig->part_count == MOST_PARTS) {
        abort();
    }
    OwPart *part = &rig->parts[rig->part_count++];
    ow_part_default(kind, part);
    part->kind = kind;
    part->place = place;
    (void)snprintf(part->name, sizeof part->name, "%s", name);
    return part;
}

OwPart *ow_support_hose(OwRig *rig, const char *name, OwPlace place, double length_m, double bore_m) {
    OwPart *part = ow_support_part(rig, OW_PART_RUN, name, place);
    part->as.run.length_m = length_m;
    part->as.run.bore_m = bore_m;
    return part;
}

OwElement *ow_support_heater(OwElements *elements, const char *name, double power_w) {
    OwElement *element = &elements->items[elements->count++];
    *element = (OwElement){.power_w = power_w,
                           .rated_v = 12.0,
                           .cold_ratio = 1.6,
                           .hot_k = 600.0,
                           .heat_capacity_j_k = 12.0,
                           .conductance_w_k = 1.2,
                           .to_oil = 0.3,
                           .key_on = true};
    (void)snprintf(element->name, sizeof element->name, "%s", name);
    return element;
}

void ow_support_thermostat(OwElement *element, double off_k, double band_k, double lag_s) {
    element->has_thermostat = true;
    element->thermostat_off_k = off_k;
    element->thermostat_on_k = off_k - band_k;
    element->thermostat_lag_s = lag_s;
    element->senses_oil = true;
}

void ow_support_join(OwRig *rig, const char *a, int port_a, const char *b, int port_b) {
    if (rig->joint_count == MOST_JOINTS) {
        abort();
    }
    rig->joints[rig->joint_count++] = (OwJoint){part_index(rig, a), port_a, part_index(rig, b), port_b};
}

OwRule *ow_support_rule(OwRig *rig, OwTrigger trigger, const char *watch, double level, const char *target,
                        int position) {
    if (rig->rule_count == MOST_RULES) {
        abort();
    }
    OwRule *rule = &rig->rules[rig->rule_count++];
    *rule = (OwRule){.trigger = trigger,
                     .watch = watch ? part_index(rig, watch) : OW_WATCH_COOLANT,
                     .level_k = level,
                     .delay_s = level,
                     .target = part_index(rig, target),
                     .element = -1,
                     .position = position};
    return rule;
}

/// A three-way valve: its first position joins the common port to a, its second to b.
static void change_over(OwRig *rig, const char *name, OwPlace place, const char *a, const char *b) {
    OwValve *valve = &ow_support_part(rig, OW_PART_VALVE, name, place)->as.valve;
    valve->ways = 3;
    valve->position_count = 2;
    valve->start_position = 0;
    (void)snprintf(valve->position[0], OW_NAME_SIZE, "%s", a);
    (void)snprintf(valve->position[1], OW_NAME_SIZE, "%s", b);
    valve->opens_a[0] = valve->opens_b[1] = true;
    valve->opens_b[0] = valve->opens_a[1] = false;
}

OwRig *ow_support_single_tank(double ambient_k) {
    OwRig *rig = ow_support_rig(ambient_k);
    if (!rig) {
        return NULL;
    }
    (void)ow_support_part(rig, OW_PART_TANK, "tank", OW_PLACE_UNDER_FLOOR);
    OwChamber *sump = &ow_support_part(rig, OW_PART_CHAMBER, "sump", OW_PLACE_UNDER_FLOOR)->as.chamber;
    sump->oil_volume_m3 = 1e-3;
    sump->metal_mass_kg = 3.0;
    sump->cells = 2;
    sump->bore_m = 20e-3;
    ow_support_thermostat(ow_support_heater(&sump->elements, "left", 150.0), CELSIUS(50), 8.0, 5.0);
    ow_support_thermostat(ow_support_heater(&sump->elements, "right", 150.0), CELSIUS(55), 8.0, 5.0);
    (void)ow_support_part(rig, OW_PART_TEE, "tee", OW_PLACE_UNDER_FLOOR);
    OwElectricPump *pump =
        &ow_support_part(rig, OW_PART_ELECTRIC_PUMP, "pump", OW_PLACE_UNDER_FLOOR)->as.electric_pump;
    pump->stall_pa = 150e3;
    pump->free_flow_m3_s = LPH(240);
    pump->half_viscosity_m2_s = 60e-6;
    pump->current_a = 4.0;
    (void)ow_support_hose(rig, "supply", OW_PLACE_UNDER_FLOOR, 3.5, 12e-3);
    OwFilter *filter = &ow_support_part(rig, OW_PART_FILTER, "filter", OW_PLACE_ENGINE_BAY)->as.filter;
    filter->clean_pa = 0.3e3;
    OwCoolantCoil *coil = &ow_support_part(rig, OW_PART_COOLANT_COIL, "coil", OW_PLACE_ENGINE_BAY)->as.coil;
    coil->warms = part_index(rig, "filter");
    coil->is_fitted = true;
    (void)ow_support_hose(rig, "to boost", OW_PLACE_ENGINE_BAY, 0.6, 12e-3);
    OwChamber *boost = &ow_support_part(rig, OW_PART_CHAMBER, "boost", OW_PLACE_ENGINE_BAY)->as.chamber;
    boost->inner_w_k = 20.0;
    ow_support_thermostat(ow_support_heater(&boost->elements, "front", 400.0), CELSIUS(85), 8.0, 3.0);
    ow_support_thermostat(ow_support_heater(&boost->elements, "back", 400.0), CELSIUS(80), 8.0, 3.0);
    ow_support_part(rig, OW_PART_SCREEN, "screen", OW_PLACE_ENGINE_BAY)->as.screen.clean_pa = 100.0;
    (void)ow_support_hose(rig, "to pump", OW_PLACE_ENGINE_BAY, 0.4, 10e-3);
    (void)ow_support_part(rig, OW_PART_INJECTION_PUMP, "injection pump", OW_PLACE_ENGINE_BAY);
    (void)ow_support_hose(rig, "back", OW_PLACE_ENGINE_BAY, 0.6, 10e-3);
    (void)ow_support_hose(rig, "return", OW_PLACE_UNDER_FLOOR, 3.5, 10e-3);
    change_over(rig, "loop valve", OW_PLACE_UNDER_FLOOR, "loop", "tank");
    ow_support_join(rig, "tank", 0, "sump", 0);
    ow_support_join(rig, "sump", 1, "tee", 0);
    ow_support_join(rig, "tee", 1, "pump", 0);
    ow_support_join(rig, "pump", 1, "supply", 0);
    ow_support_join(rig, "supply", 1, "filter", 0);
    ow_support_join(rig, "filter", 1, "to boost", 0);
    ow_support_join(rig, "to boost", 1, "boost", 0);
    ow_support_join(rig, "boost", 1, "screen", 0);
    ow_support_join(rig, "screen", 1, "to pump", 0);
    ow_support_join(rig, "to pump", 1, "injection pump", 0);
    ow_support_join(rig, "injection pump", 1, "back", 0);
    ow_support_join(rig, "back", 1, "return", 0);
    ow_support_join(rig, "return", 1, "loop valve", 0);
    ow_support_join(rig, "loop valve", 1, "tee", 2);
    ow_support_join(rig, "loop valve", 2, "tank", 1);
    rig->drive.ready_wait_s = 240.0;
    return rig;
}

/// A rig that starts on one fluid and drives on the other has two of them.
static void two_fluids(OwRig *rig) {
    rig->fluid_count = 2;
    rig->fluid_spec[1] = rig->fluid_spec[0];
    (void)snprintf(rig->fluid_spec[1].name, sizeof rig->fluid_spec[1].name, "diesel winter");
    (void)snprintf(rig->fluid_name[1], OW_NAME_SIZE, "diesel");
}

OwRig *ow_support_two_tanks(double ambient_k) {
    OwRig *rig = ow_support_rig(ambient_k);
    if (!rig) {
        return NULL;
    }
    two_fluids(rig);
    OwTank *oil = &ow_support_part(rig, OW_PART_TANK, "oil tank", OW_PLACE_LOAD_SPACE)->as.tank;
    (void)snprintf(oil->fluid, OW_NAME_SIZE, "oil");
    oil->coil_w_k = 40.0;
    oil->pickup_share = 0.1;
    OwTank *diesel = &ow_support_part(rig, OW_PART_TANK, "diesel tank", OW_PLACE_UNDER_FLOOR)->as.tank;
    (void)snprintf(diesel->fluid, OW_NAME_SIZE, "diesel");
    OwRun *oil_line = &ow_support_hose(rig, "oil line", OW_PLACE_UNDER_FLOOR, 4.0, 12e-3)->as.run;
    oil_line->coolant_w_mk = 4.0;
    oil_line->insulation_m = 10e-3;
    OwExchanger *exchanger =
        &ow_support_part(rig, OW_PART_EXCHANGER, "exchanger", OW_PLACE_ENGINE_BAY)->as.exchanger;
    exchanger->bore_m = 12e-3;
    (void)ow_support_hose(rig, "diesel line", OW_PLACE_UNDER_FLOOR, 4.0, 8e-3);
    change_over(rig, "supply valve", OW_PLACE_ENGINE_BAY, "diesel", "oil");
    (void)ow_support_part(rig, OW_PART_LIFT_PUMP, "lift pump", OW_PLACE_ENGINE_BAY);
    OwFilter *filter = &ow_support_part(rig, OW_PART_FILTER, "filter", OW_PLACE_ENGINE_BAY)->as.filter;
    filter->clean_pa = 1e3;
    OwCoolantCoil *coil = &ow_support_part(rig, OW_PART_COOLANT_COIL, "coil", OW_PLACE_ENGINE_BAY)->as.coil;
    coil->warms = part_index(rig, "filter");
    coil->is_fitted = coil->to_oil = true;
    (void)ow_support_hose(rig, "to pump", OW_PLACE_ENGINE_BAY, 0.5, 10e-3);
    OwInjectionPump *pump =
        &ow_support_part(rig, OW_PART_INJECTION_PUMP, "injection pump", OW_PLACE_ENGINE_BAY)
             ->as.injection_pump;
    pump->type = OW_PUMP_INLINE;
    pump->overflow_pa = 12e3;
    (void)ow_support_part(rig, OW_PART_INJECTORS, "injectors", OW_PLACE_ENGINE_BAY);
    (void)ow_support_part(rig, OW_PART_TEE, "return tee", OW_PLACE_ENGINE_BAY);
    change_over(rig, "return valve", OW_PLACE_ENGINE_BAY, "diesel", "oil");
    (void)ow_support_hose(rig, "oil return", OW_PLACE_UNDER_FLOOR, 4.0, 8e-3);
    (void)ow_support_hose(rig, "diesel return", OW_PLACE_UNDER_FLOOR, 4.0, 8e-3);
    ow_support_join(rig, "oil tank", 0, "oil line", 0);
    ow_support_join(rig, "oil line", 1, "exchanger", 0);
    ow_support_join(rig, "exchanger", 1, "supply valve", 2);
    ow_support_join(rig, "diesel tank", 0, "diesel line", 0);
    ow_support_join(rig, "diesel line", 1, "supply valve", 1);
    ow_support_join(rig, "supply valve", 0, "lift pump", 0);
    ow_support_join(rig, "lift pump", 1, "filter", 0);
    ow_support_join(rig, "filter", 1, "to pump", 0);
    ow_support_join(rig, "to pump", 1, "injection pump", 0);
    ow_support_join(rig, "injection pump", 1, "return tee", 0);
    ow_support_join(rig, "injectors", 0, "return tee", 2);
    ow_support_join(rig, "return tee", 1, "return valve", 0);
    ow_support_join(rig, "return valve", 1, "diesel return", 0);
    ow_support_join(rig, "return valve", 2, "oil return", 0);
    ow_support_join(rig, "diesel return", 1, "diesel tank", 1);
    ow_support_join(rig, "oil return", 1, "oil tank", 1);
    (void)ow_support_rule(rig, OW_TRIGGER_ABOVE, NULL, CELSIUS(65), "supply valve", 1);
    (void)ow_support_rule(rig, OW_TRIGGER_ABOVE, NULL, CELSIUS(70), "return valve", 1);
    (void)ow_support_rule(rig, OW_TRIGGER_BEFORE_STOP, NULL, 150.0, "supply valve", 0);
    (void)ow_support_rule(rig, OW_TRIGGER_BEFORE_STOP, NULL, 60.0, "return valve", 0);
    return rig;
}

OwRig *ow_support_suction(double ambient_k) {
    OwRig *rig = ow_support_rig(ambient_k);
    if (!rig) {
        return NULL;
    }
    OwTank *tank = &ow_support_part(rig, OW_PART_TANK, "tank", OW_PLACE_LOAD_SPACE)->as.tank;
    tank->pickup_share = 0.15;
    tank->coil_w_k = 60.0;
    ow_support_thermostat(ow_support_heater(&tank->elements, "rod", 120.0), CELSIUS(45), 6.0, 10.0);
    OwRun *line = &ow_support_hose(rig, "line", OW_PLACE_UNDER_FLOOR, 3.0, 14e-3)->as.run;
    line->insulation_m = 13e-3;
    line->trace_w_m = 40.0;
    OwRun *warm = &ow_support_hose(rig, "warm line", OW_PLACE_ENGINE_BAY, 1.0, 12e-3)->as.run;
    warm->rise_m = 0.3;
    OwCoolantCoil *coil = &ow_support_part(rig, OW_PART_COOLANT_COIL, "coil", OW_PLACE_ENGINE_BAY)->as.coil;
    coil->warms = part_index(rig, "warm line");
    coil->is_fitted = true;
    (void)ow_support_part(rig, OW_PART_CHECK_VALVE, "check valve", OW_PLACE_ENGINE_BAY);
    OwExchanger *exchanger =
        &ow_support_part(rig, OW_PART_EXCHANGER, "exchanger", OW_PLACE_ENGINE_BAY)->as.exchanger;
    exchanger->bore_m = 12e-3;
    (void)ow_support_part(rig, OW_PART_INJECTION_PUMP, "injection pump", OW_PLACE_ENGINE_BAY);
    (void)ow_support_hose(rig, "back", OW_PLACE_UNDER_FLOOR, 4.0, 10e-3);
    ow_support_join(rig, "tank", 0, "line", 0);
    ow_support_join(rig, "line", 1, "warm line", 0);
    ow_support_join(rig, "warm line", 1, "check valve", 0);
    ow_support_join(rig, "check valve", 1, "exchanger", 0);
    ow_support_join(rig, "exchanger", 1, "injection pump", 0);
    ow_support_join(rig, "injection pump", 1, "back", 0);
    ow_support_join(rig, "back", 1, "tank", 1);
    rig->limits.start_kinematic_m2_s = 100e-6;
    rig->drive.ready_wait_s = 10.0;
    return rig;
}

OwRig *ow_support_fine(double ambient_k, int cells) {
    OwRig *rig = ow_support_single_tank(ambient_k);
    static const char *const names[] = {"supply", "return", "to boost", "back"};
    static const double length_m[] = {3.5, 3.5, 0.6, 0.6};
    for (int i = 0; rig && i < 4; i++) {
        const int share = (int)lround(cells * length_m[i] / 8.2);
        rig->parts[part_index(rig, names[i])].as.run.cells = share < 1 ? 1 : share;
    }
    return rig;
}

OwPlan *ow_support_plan(const OwRig *rig) {
    OwFaults faults = {0};
    OwPlan *plan = NULL;
    if (!rig || ow_plan_create(rig, &plan, &faults) != OW_OK) {
        for (size_t i = 0; i < faults.count; i++) {
            char text[600];
            (void)ow_fault_format(&faults.items[i], text, sizeof text);
            (void)fprintf(stderr, "%s\n", text);
        }
        ow_faults_clear(&faults);
        abort();
    }
    ow_faults_clear(&faults);
    return plan;
}
