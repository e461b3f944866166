// SPDX-License-Identifier: GPL-3.0-or-later
// Breaks a copy of the rig: one effect, one scene.
#include "judge/faults.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define KM_H (1.0 / 3.6)
/// What a clogged strainer leaves open. Assumed.
#define CLOGGED_HOLE_M 1.5e-3
#define GELLED_HOLE_M 0.5e-3
/// A kink closes the bore over this length. Assumed.
#define KINK_M 0.05

static void leg(OwDriveSpec *drive, const char *name, double speed_m_s, double duration_s, double ramp_s) {
    OwLeg *out = &drive->legs[drive->leg_count++];
    *out = (OwLeg){.speed_m_s = speed_m_s, .duration_s = duration_s, .ramp_s = ramp_s};
    snprintf(out->name, sizeof out->name, "%s", name);
}

static void set_scene(OwScene scene, OwRig *rig) {
    if (scene == OW_SCENE_ROAD) {
        rig->drive.kind = OW_DRIVE_LEGS;
        rig->drive.leg_count = 0;
        // No faster than three quarters of the rated power would carry it.
        const double fast = fmin(110.0 * KM_H, cbrt(0.6 * rig->engine.rated_power_w /
                                                    (0.6 * fmax(rig->vehicle.drag_area_m2, 0.1))));
        leg(&rig->drive, "idle", 0.0, 60.0, 0.0);
        leg(&rig->drive, "way to the motorway", fmin(50.0 * KM_H, fast), 300.0, 10.0);
        leg(&rig->drive, "motorway", fast, 600.0, 40.0);
        leg(&rig->drive, "queue", 0.0, 600.0, 30.0);
    } else if (scene == OW_SCENE_LEFT_ON) {
        rig->drive.earliest_start_s = 1200.0; // key on and nobody there
    }
}

static void switch_off(OwVariant *variant, int part, int element, bool is_later) {
    if (is_later) {
        ow_variant_drop_rules(variant, part, element, OW_DROP_FELT);
        (void)ow_variant_add_rule(variant, &(OwRule){.trigger = OW_TRIGGER_AFTER_START,
                                                     .delay_s = OW_FAILURE_STRIKES_S,
                                                     .target = part,
                                                     .element = element});
    } else if (element >= 0) {
        ow_variant_kill_element(variant, part, element);
    } else {
        ow_variant_kill_pump(variant, part);
    }
}

static void all_off(OwVariant *variant, bool only_body, const bool *is_body) {
    OwRig *rig = &variant->rig;
    for (int p = 0; p < rig->part_count; p++) {
        OwPart *part = &rig->parts[p];
        if (only_body && p < 256 && !is_body[p]) {
            continue;
        }
        OwElements *elements = ow_part_elements(part);
        for (int e = 0; elements != NULL && e < elements->count; e++) {
            ow_variant_kill_element(variant, p, e);
        }
        if (part->kind == OW_PART_ELECTRIC_PUMP) {
            ow_variant_drop_rules(variant, p, -1, OW_DROP_ALL);
            part->as.electric_pump.rated_v = 1e9;   // no volts reach it, whatever switches it
            part->as.electric_pump.current_a = 0.0; // and no circuit is derived for it
        } else if (part->kind == OW_PART_VALVE && part->as.valve.is_electric) {
            ow_variant_drop_rules(variant, p, -1, OW_DROP_ALL);
        } else if (part->kind == OW_PART_RUN) {
            part->as.run.trace_w_m = 0.0;
        }
    }
}

static void no_coolant(OwRig *rig) {
    for (int p = 0; p < rig->part_count; p++) {
        OwPart *part = &rig->parts[p];
        if (part->kind == OW_PART_COOLANT_COIL) {
            part->as.coil.is_fitted = false;
        } else if (part->kind == OW_PART_EXCHANGER) {
            part->as.exchanger.conductance_w_k = 1e-3;
        } else if (part->kind == OW_PART_RUN) {
            part->as.run.coolant_w_mk = 0.0;
        } else if (part->kind == OW_PART_TANK) {
            part->as.tank.coil_w_k = 0.0;
        }
    }
    rig->engine.radiator_w_k = fmin(rig->engine.radiator_w_k, 1.0);
    rig->engine.cab_heater_w_k = 0.0;
    rig->engine.coolant_j_k = fmax(0.1 * rig->engine.coolant_j_k, 1e3);
}

/// The bore whose laminar drop over the whole length equals that of a kink of `share` of the bore in the rest
/// of it: Hagen-Poiseuille, drop ~ length / bore^4.
static void narrow(OwPart *part, double share) {
    OwRun *run = &part->as.run;
    const double kink_m = fmin(KINK_M, run->length_m);
    const double sum = kink_m / pow(share, 4.0) + (run->length_m - kink_m);
    run->bore_m = fmax(run->bore_m * pow(run->length_m / sum, 0.25), 0.5e-3);
}

/// Narrows the first passage behind a tank's pick-up.
static void clog_pickup(OwRig *rig, int part, double hole_m) {
    int at = part;
    for (int step = 0; step < 8; step++) {
        int next = -1;
        for (int j = 0; j < rig->joint_count && next < 0; j++) {
            const OwJoint *joint = &rig->joints[j];
            const int out = at == part ? 0 : 1;
            if (joint->part_a == at && joint->port_a == out) {
                next = joint->part_b;
            } else if (joint->part_b == at && joint->port_b == out) {
                next = joint->part_a;
            }
        }
        if (next < 0) {
            return;
        }
        OwPart *other = &rig->parts[next];
        if (other->kind == OW_PART_RUN) {
            narrow(other, fmin(1.0, hole_m / other->as.run.bore_m));
            return;
        }
        if (other->kind == OW_PART_CHAMBER) {
            other->as.chamber.bore_m = fmin(other->as.chamber.bore_m, hole_m);
            other->as.chamber.path_m = fmin(other->as.chamber.path_m, KINK_M);
            return;
        }
        if (other->kind == OW_PART_FILTER) {
            other->as.filter.loading = 0.999;
            return;
        }
        if (other->kind == OW_PART_SCREEN) {
            other->as.screen.loading = 0.999;
            return;
        }
        at = next;
    }
}

double ow_failure_apply(const OwFailureWork *work, const OwFailureRun *run, OwScene scene,
                        OwVariant *variant) {
    OwRig *rig = &variant->rig;
    set_scene(scene, rig);
    OwPart *part = run->part >= 0 ? &rig->parts[run->part] : NULL;
    const bool is_later = scene == OW_SCENE_ROAD;
    switch (run->effect) {
    case OW_EFFECT_NONE:
    case OW_EFFECT_AIR: // in the plan, see faults_run.c
        break;
    case OW_EFFECT_GELLED:
        if (rig->fluid_count == 1) { // everything has stood at the temperature at which that oil sets
            rig->climate.ambient_k = fmin(rig->climate.ambient_k, run->size);
        } else { // only this tank has set: what pours is a thread
            clog_pickup(rig, run->part, GELLED_HOLE_M);
        }
        break;
    case OW_EFFECT_ELEMENT_OFF:
    case OW_EFFECT_PUMP_OFF:
        switch_off(variant, run->part, run->effect == OW_EFFECT_PUMP_OFF ? -1 : run->element, is_later);
        return is_later ? OW_FAILURE_STRIKES_S : 0.0;
    case OW_EFFECT_ELEMENT_STUCK: {
        OwElements *elements = ow_part_elements(part);
        ow_variant_drop_rules(variant, run->part, run->element, OW_DROP_ALL);
        elements->items[run->element].has_thermostat = false;
        elements->items[run->element].key_on = true;
        break;
    }
    case OW_EFFECT_TRACE_OFF:
        part->as.run.trace_w_m = 0.0; // from the beginning in both scenes: no rule switches it
        break;
    case OW_EFFECT_LIFT_OFF:
        part->as.lift_pump.displacement_m3_rev = 1e-12;
        break;
    case OW_EFFECT_ALL_OFF:
        all_off(variant, false, NULL);
        break;
    case OW_EFFECT_EARTH_OFF:
        all_off(variant, true, work->is_board_part);
        break;
    case OW_EFFECT_VALVE_AT:
        ow_variant_drop_rules(variant, run->part, -1, OW_DROP_ALL);
        part->as.valve.start_position = (int)run->size;
        break;
    case OW_EFFECT_LOADING:
        if (part->kind == OW_PART_FILTER) {
            part->as.filter.loading = fmax(part->as.filter.loading, run->size);
        } else {
            part->as.screen.loading = fmax(part->as.screen.loading, run->size);
        }
        break;
    case OW_EFFECT_NARROW:
        narrow(part, run->size);
        break;
    case OW_EFFECT_COIL_OFF:
        if (part->kind == OW_PART_COOLANT_COIL) {
            part->as.coil.is_fitted = false;
        } else if (part->kind == OW_PART_EXCHANGER) {
            part->as.exchanger.conductance_w_k = 1e-3;
        } else if (part->kind == OW_PART_TANK) {
            part->as.tank.coil_w_k = 0.0;
        }
        break;
    case OW_EFFECT_COOLANT_OFF:
        no_coolant(rig);
        break;
    case OW_EFFECT_ENGINE_COLD:
        rig->engine.thermostat_open_k = fmin(rig->engine.thermostat_open_k, OW_ZERO_CELSIUS_K + 20.0);
        rig->engine.thermostat_full_k = fmin(rig->engine.thermostat_full_k, OW_ZERO_CELSIUS_K + 30.0);
        break;
    case OW_EFFECT_EMPTY:
        part->as.tank.fill = 1e-3 / fmax(part->as.tank.volume_m3, 1e-3); // a litre left
        part->as.tank.pickup_height_m = 0.0;
        break;
    case OW_EFFECT_CLOGGED:
        clog_pickup(rig, run->part, CLOGGED_HOLE_M);
        break;
    case OW_EFFECT_FLUID: {
        const int other = (int)run->size;
        if (other >= 0 && other < rig->fluid_count) {
            snprintf(part->as.tank.fluid, sizeof part->as.tank.fluid, "%s", rig->fluid_name[other]);
        } else {
            // The only fluid of the rig: diesel for oil, oil for diesel.
            const bool is_oil = other == OW_FILL_OIL;
            rig->fluid_spec[0] = (OwOilSpec){0};
            snprintf(rig->fluid_spec[0].name, sizeof rig->fluid_spec[0].name, "%s",
                     is_oil ? "rapeseed" : "diesel");
        }
        break;
    }
    case OW_EFFECT_NO_ALTERNATOR:
        rig->electrics.running_v = rig->electrics.battery_v;
        break;
    case OW_EFFECT_CHECK_SHUT:
        part->as.check_valve.open_pa = 1e7;
        break;
    case OW_EFFECT_CHECK_OPEN:
        break; // judged by rule: it lets fuel run back while parked
    case OW_EFFECT_RELIEF_SHUT:
        part->as.relief_valve.open_pa = 1e7;
        break;
    case OW_EFFECT_RELIEF_OPEN:
        part->as.relief_valve.open_pa = 1.0;
        break;
    case OW_EFFECT_BLOCKED:
        part->as.orifice.bore_m = 1e-5;
        break;
    }
    return 0.0;
}
