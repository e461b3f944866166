// SPDX-License-Identifier: GPL-3.0-or-later
// Everything that can break in a rig, part by part.
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "judge/faults.h"
#include "oilwright/power.h"

static const double plugged[] = {0.5, 0.8, 0.9, 0.96, 0.99};
static const double holes[] = {0.05e-3, 0.1e-3, 0.2e-3, 0.5e-3};
#define KINK_SHARE 0.3
#define LEAK_HOLE_M 0.5e-3

int ow_failure_room(const OwRig *rig) {
    return 64 + rig->part_count * 24;
}

static int run_of(OwFailureWork *work, OwEffect effect, int part, int element, double size) {
    for (int i = 0; i < work->run_count; i++) {
        const OwFailureRun *r = &work->runs[i];
        if (r->effect == effect && r->part == part && r->element == element && r->size == size) {
            return i;
        }
    }
    if (work->run_count >= work->run_capacity) {
        work->is_full = true;
        return 0;
    }
    work->runs[work->run_count] =
        (OwFailureRun){.effect = effect, .part = part, .element = element, .size = size};
    return work->run_count++;
}

static OwFailure *add(OwFailureWork *work, OwFailureKind kind, int part, int element, double size, int run) {
    OwFailureWalk *walk = work->walk;
    if (walk->failure_count >= work->failure_capacity) {
        work->is_full = true;
        walk->failure_count--;
    }
    OwFailure *f = &walk->failures[walk->failure_count++];
    *f = (OwFailure){.kind = kind,
                     .part = part,
                     .element = element,
                     .size = size,
                     .run = run,
                     .is_simulated = run >= 0,
                     .felt_s = -1.0,
                     .gauge_s = -1.0};
    f->verdict.part = part;
    return f;
}

static void name(OwFailure *f, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void name(OwFailure *f, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(f->name, sizeof f->name, format, arguments);
    va_end(arguments);
}

static void list_elements(OwFailureWork *work, int p) {
    const OwPart *part = &work->rig->parts[p];
    const OwElements *elements = ow_part_elements_const(part);
    for (int e = 0; elements != NULL && e < elements->count; e++) {
        const OwElement *element = &elements->items[e];
        const int off = run_of(work, OW_EFFECT_ELEMENT_OFF, p, e, 0.0);
        name(add(work, OW_FAILURE_HEATER_DEAD, p, e, 0.0, off), "%.40s of %.40s burnt out", element->name,
             part->name);
        if (element->has_thermostat) {
            name(add(work, OW_FAILURE_THERMOSTAT_OPEN, p, e, 0.0, off), "thermostat of %.40s stays open",
                 element->name);
            name(add(work, OW_FAILURE_THERMOSTAT_WELDED, p, e, 0.0,
                     run_of(work, OW_EFFECT_ELEMENT_STUCK, p, e, 0.0)),
                 "thermostat of %.40s welded shut", element->name);
        } else {
            name(add(work, OW_FAILURE_HEATER_STUCK, p, e, 0.0,
                     run_of(work, OW_EFFECT_ELEMENT_STUCK, p, e, 0.0)),
                 "%.40s stuck on", element->name);
        }
        name(add(work, OW_FAILURE_HEATER_NEVER_OFF, p, e, 0.0, -1),
             "relay of %.40s welded: on with the key off", element->name);
    }
}

static void list_run(OwFailureWork *work, int p) {
    const OwPart *part = &work->rig->parts[p];
    name(add(work, OW_FAILURE_HOSE_KINKED, p, -1, KINK_SHARE,
             run_of(work, OW_EFFECT_NARROW, p, -1, KINK_SHARE)),
         "%.60s kinked to a third of its bore", part->name);
    name(add(work, OW_FAILURE_OIL_LEAK, p, -1, LEAK_HOLE_M, -1), "%.60s leaks oil", part->name);
    if (part->as.run.trace_w_m > 0.0) {
        name(add(work, OW_FAILURE_HEATER_DEAD, p, -1, 0.0, run_of(work, OW_EFFECT_TRACE_OFF, p, -1, 0.0)),
             "electric trace of %.60s dead", part->name);
        name(add(work, OW_FAILURE_HEATER_NEVER_OFF, p, -1, 0.0, -1),
             "relay of the trace of %.60s welded: on with the key off", part->name);
    }
}

static void list_plugged(OwFailureWork *work, int p) {
    const OwPart *part = &work->rig->parts[p];
    for (size_t i = 0; i < sizeof plugged / sizeof plugged[0]; i++) {
        name(add(work, OW_FAILURE_FILTER_PLUGGED, p, -1, plugged[i],
                 run_of(work, OW_EFFECT_LOADING, p, -1, plugged[i])),
             "%.60s %.0f %% plugged", part->name, 100.0 * plugged[i]);
    }
}

static void list_valve(OwFailureWork *work, int p) {
    const OwPart *part = &work->rig->parts[p];
    for (int k = 0; k < part->as.valve.position_count && k < 4; k++) {
        name(add(work, OW_FAILURE_VALVE_STUCK, p, -1, k, run_of(work, OW_EFFECT_VALVE_AT, p, -1, k)),
             "%.40s stuck at %.40s", part->name, part->as.valve.position[k]);
    }
}

/// Where that oil no longer pours, K: crystals past its gel share, or 100,000 mm2/s. 0 when not above -50
/// degC.
static double sets_k(const OwFluid *fluid) {
    for (double t = 300.0; t > OW_CURVE_LOW_K; t -= 0.5) {
        const double crystals = ow_curve_value(&fluid->wax_share, t);
        if ((fluid->wax.gel_share > 0.0 && crystals >= fluid->wax.gel_share) ||
            ow_curve_value(&fluid->kinematic_m2_s, t) > OW_JUDGE_SOLID) {
            return t;
        }
    }
    return 0.0;
}

static int fluid_of(const OwRig *rig, const OwTank *tank) {
    for (int f = 0; f < rig->fluid_count; f++) {
        if (strcmp(tank->fluid, rig->fluid_name[f]) == 0) {
            return f;
        }
    }
    return 0;
}

static void list_tank(OwFailureWork *work, int p, const OwPlan *plan) {
    const OwPart *part = &work->rig->parts[p];
    const int fluid = fluid_of(work->rig, &part->as.tank);
    list_elements(work, p);
    const double gel_k = sets_k(ow_plan_fluid(plan, fluid));
    OwFailure *f = add(work, OW_FAILURE_TANK_GELLED, p, -1, gel_k,
                       gel_k > 0.0 || work->rig->fluid_count > 1 // there only the pick-up narrows
                           ? run_of(work, OW_EFFECT_GELLED, p, -1, gel_k)
                           : -1);
    name(f, "%.60s gelled", part->name);
    name(add(work, OW_FAILURE_TANK_EMPTY, p, -1, 0.0, run_of(work, OW_EFFECT_EMPTY, p, -1, 0.0)),
         "%.60s runs empty", part->name);
    name(add(work, OW_FAILURE_PICKUP_CLOGGED, p, -1, 0.0, run_of(work, OW_EFFECT_CLOGGED, p, -1, 0.0)),
         "pick-up of %.60s clogged", part->name);
    if (part->as.tank.coil_w_k > 0.0) {
        name(add(work, OW_FAILURE_COIL_OFF, p, -1, 0.0, run_of(work, OW_EFFECT_COIL_OFF, p, -1, 0.0)),
             "coolant coil of %.60s blocked", part->name);
    }
    const bool is_diesel = ow_plan_fluid(plan, fluid)->kind == OW_OIL_PETROLEUM;
    const double other = work->rig->fluid_count > 1 ? 1 - fluid : is_diesel ? OW_FILL_OIL : OW_FILL_DIESEL;
    f = add(work, OW_FAILURE_OTHER_FUEL, p, -1, other, run_of(work, OW_EFFECT_FLUID, p, -1, other));
    name(f, "%.24s filled into %.60s",
         work->rig->fluid_count > 1 ? work->rig->fluid_name[1 - fluid]
         : is_diesel                ? "vegetable oil"
                                    : "diesel",
         part->name);
    name(add(work, OW_FAILURE_PETROL, p, -1, 0.0, -1), "petrol filled into %.60s", part->name);
}

static void list_part(OwFailureWork *work, int p, const OwPlan *plan) {
    const OwPart *part = &work->rig->parts[p];
    switch (part->kind) {
    case OW_PART_TANK:
        list_tank(work, p, plan);
        break;
    case OW_PART_RUN:
        list_run(work, p);
        break;
    case OW_PART_CHAMBER:
        list_elements(work, p);
        break;
    case OW_PART_FILTER:
        list_elements(work, p);
        list_plugged(work, p);
        break;
    case OW_PART_SCREEN:
        list_plugged(work, p);
        break;
    case OW_PART_ELECTRIC_PUMP:
        name(add(work, OW_FAILURE_PUMP_DEAD, p, -1, 0.0, run_of(work, OW_EFFECT_PUMP_OFF, p, -1, 0.0)),
             "%.60s does not turn", part->name);
        break;
    case OW_PART_LIFT_PUMP:
        name(add(work, OW_FAILURE_LIFT_PUMP_DEAD, p, -1, 0.0, run_of(work, OW_EFFECT_LIFT_OFF, p, -1, 0.0)),
             "diaphragm of %.60s torn", part->name);
        break;
    case OW_PART_COOLANT_COIL:
    case OW_PART_EXCHANGER:
        if (part->kind == OW_PART_EXCHANGER || part->as.coil.is_fitted) {
            name(add(work, OW_FAILURE_COIL_OFF, p, -1, 0.0, run_of(work, OW_EFFECT_COIL_OFF, p, -1, 0.0)),
                 "coolant side of %.60s blocked", part->name);
        }
        break;
    case OW_PART_VALVE:
        list_valve(work, p);
        break;
    case OW_PART_CHECK_VALVE:
        name(add(work, OW_FAILURE_CHECK_SHUT, p, -1, 0.0, run_of(work, OW_EFFECT_CHECK_SHUT, p, -1, 0.0)),
             "%.60s stuck shut", part->name);
        name(add(work, OW_FAILURE_CHECK_OPEN, p, -1, 0.0, -1), "%.60s stuck open", part->name);
        break;
    case OW_PART_RELIEF_VALVE:
        name(add(work, OW_FAILURE_RELIEF_SHUT, p, -1, 0.0, run_of(work, OW_EFFECT_RELIEF_SHUT, p, -1, 0.0)),
             "%.60s stuck shut", part->name);
        name(add(work, OW_FAILURE_RELIEF_OPEN, p, -1, 0.0, run_of(work, OW_EFFECT_RELIEF_OPEN, p, -1, 0.0)),
             "%.60s stuck open", part->name);
        break;
    case OW_PART_ORIFICE:
        name(add(work, OW_FAILURE_ORIFICE_BLOCKED, p, -1, 0.0, run_of(work, OW_EFFECT_BLOCKED, p, -1, 0.0)),
             "%.60s blocked", part->name);
        break;
    case OW_PART_INJECTION_PUMP:
        name(add(work, OW_FAILURE_INJECTION_PUMP_DEAD, p, -1, 0.0, -1), "%.60s seized", part->name);
        break;
    default:
        break;
    }
}

/// What losing one circuit does.
static int circuit_run(OwFailureWork *work, const OwCircuitSpec *circuit) {
    const OwPart *part = &work->rig->parts[circuit->part];
    if (circuit->element >= 0) {
        return run_of(work, OW_EFFECT_ELEMENT_OFF, circuit->part, circuit->element, 0.0);
    }
    if (part->kind == OW_PART_ELECTRIC_PUMP) {
        return run_of(work, OW_EFFECT_PUMP_OFF, circuit->part, -1, 0.0);
    }
    if (part->kind == OW_PART_RUN && part->as.run.trace_w_m > 0.0) {
        return run_of(work, OW_EFFECT_TRACE_OFF, circuit->part, -1, 0.0);
    }
    if (part->kind == OW_PART_VALVE) {
        return run_of(work, OW_EFFECT_VALVE_AT, circuit->part, -1, part->as.valve.start_position);
    }
    return -1;
}

static void list_circuits(OwFailureWork *work) {
    const OwElectricSpec *spec = work->power != NULL ? ow_power_spec(work->power) : NULL;
    bool has_load = false;
    for (int c = 0; spec != NULL && c < spec->circuit_count; c++) {
        const OwCircuitSpec *circuit = &spec->circuits[c];
        if (circuit->part < 0 || circuit->part >= work->rig->part_count) {
            continue;
        }
        if (circuit->part < 256 && circuit->earth == OW_EARTH_BODY) {
            work->is_board_part[circuit->part] = true;
        }
        const int run = circuit_run(work, circuit);
        if (run < 0) {
            continue;
        }
        has_load = true;
        name(add(work, OW_FAILURE_FUSE_OPEN, circuit->part, circuit->element, 0.0, run), "fuse of %.60s open",
             circuit->name);
        name(add(work, OW_FAILURE_EARTH_LOST, circuit->part, circuit->element, 0.0, run),
             "earth of %.60s lost", circuit->name);
    }
    if (has_load) {
        name(add(work, OW_FAILURE_MAIN_FUSE_OPEN, -1, -1, 0.0, run_of(work, OW_EFFECT_ALL_OFF, -1, -1, 0.0)),
             "main fuse of the heating and pumps open");
        name(add(work, OW_FAILURE_BODY_EARTH_LOST, -1, -1, 0.0,
                 run_of(work, OW_EFFECT_EARTH_OFF, -1, -1, 0.0)),
             "common body earth lost");
    }
    name(add(work, OW_FAILURE_ALTERNATOR_DEAD, -1, -1, 0.0,
             run_of(work, OW_EFFECT_NO_ALTERNATOR, -1, -1, 0.0)),
         "alternator gives nothing");
}

void ow_failure_list(OwFailureWork *work, const OwPlan *plan) {
    for (int p = 0; p < work->rig->part_count; p++) {
        list_part(work, p, plan);
    }
    list_circuits(work);
    for (size_t i = 0; i < sizeof holes / sizeof holes[0]; i++) {
        const OwFacts *cold = &work->runs[0].facts[OW_SCENE_COLD],
                      *road = &work->runs[0].facts[OW_SCENE_ROAD];
        const OwFacts *deep = road->lowest_pa < cold->lowest_pa ? road : cold;
        const bool is_below = deep->lowest_pa < 0.0;
        OwFailure *f = add(work, OW_FAILURE_AIR_LEAK, deep->lowest_part, -1, holes[i],
                           is_below ? run_of(work, OW_EFFECT_AIR, deep->lowest_part, -1, holes[i]) : -1);
        const bool is_us = work->walk->display == OW_DISPLAY_US;
        name(f, "suction draws air through a hole of %.2g %s", holes[i] * (is_us ? 1e3 / 25.4 : 1e3),
             is_us ? "in" : "mm");
    }
    name(add(work, OW_FAILURE_COOLANT_LOST, -1, -1, 0.0, run_of(work, OW_EFFECT_COOLANT_OFF, -1, -1, 0.0)),
         "coolant lost");
    name(add(work, OW_FAILURE_ENGINE_COLD, -1, -1, 0.0, run_of(work, OW_EFFECT_ENGINE_COLD, -1, -1, 0.0)),
         "engine thermostat stays open");
}
