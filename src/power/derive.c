// SPDX-License-Identifier: GPL-3.0-or-later
// Electrics of a rig whose file gives no circuits: defaults, and one circuit for each part that takes
// current.
#include "oilwright/power.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/// Usual length from a board in the engine bay, m (common practice).
static double length_to(OwPlace place) {
    static const double metres[OW_PLACE_COUNT] = {[OW_PLACE_UNDER_FLOOR] = 4.0,
                                                  [OW_PLACE_ENGINE_BAY] = 1.5,
                                                  [OW_PLACE_CABIN] = 3.0,
                                                  [OW_PLACE_LOAD_SPACE] = 5.0};
    return metres[place];
}

static OwCircuitSpec *add(OwElectricSpec *spec, OwLoadKind load, const OwPart *part, int index, int element) {
    if (spec->circuit_count >= OW_MAX_CIRCUITS) {
        return NULL;
    }
    OwCircuitSpec *c = &spec->circuits[spec->circuit_count++];
    ow_circuit_default(load, c);
    c->rated_v = spec->system_v;
    c->part = index;
    c->element = element;
    c->length_m = length_to(part->place);
    c->line = part->line;
    c->column = part->column;
    snprintf(c->name, sizeof c->name, "%s", part->name);
    return c;
}

static bool add_elements(OwElectricSpec *spec, const OwPart *part, int index, const OwElements *elements) {
    for (int i = 0; i < elements->count; i++) {
        const OwElement *e = &elements->items[i];
        OwCircuitSpec *c = add(spec, OW_LOAD_HEATER, part, index, i);
        if (!c) {
            return false;
        }
        if (elements->count > 1 || e->name[0]) {
            snprintf(c->name, sizeof c->name, "%.40s/%.20s", part->name, e->name);
        }
        c->rated_v = e->rated_v;
        c->rated_a = e->power_w / e->rated_v;
        c->cold_ratio = fmax(e->cold_ratio, 1.0);
        c->inrush_s = e->conductance_w_k > 0.0 ? e->heat_capacity_j_k / e->conductance_w_k : 5.0;
        c->has_thermostat = e->has_thermostat;
        c->has_relay = c->rated_a > 8.0;
    }
    return true;
}

OwStatus ow_electric_derive(const OwRig *rig, OwElectricSpec *spec) {
    const OwElectrics *old = &rig->electrics;
    const OwStatus status = ow_electric_default(old->battery_v > 18.0 ? 24.0 : 12.0, spec);
    if (status != OW_OK) {
        return status;
    }
    if (rig->electric_spec) { // the file describes battery and cables, but no circuits
        *spec = *rig->electric_spec;
    } else if (old->battery_c >= 3600.0) {
        spec->battery.cold_crank_a *=
            old->battery_c / spec->battery.capacity_c; // a bigger battery cranks harder, in proportion
        spec->battery.capacity_c = old->battery_c;
    }
    spec->is_derived = true;
    spec->circuit_count = 0;
    bool fits = true;
    for (int i = 0; i < rig->part_count && fits; i++) {
        const OwPart *part = &rig->parts[i];
        OwCircuitSpec *c = NULL;
        switch (part->kind) {
        case OW_PART_TANK:
            fits = add_elements(spec, part, i, &part->as.tank.elements);
            break;
        case OW_PART_CHAMBER:
            fits = add_elements(spec, part, i, &part->as.chamber.elements);
            break;
        case OW_PART_FILTER:
            fits = add_elements(spec, part, i, &part->as.filter.elements);
            break;
        case OW_PART_RUN:
            if (part->as.run.trace_w_m > 0.0) {
                c = add(spec, OW_LOAD_HEATER, part, i, -1);
                fits = c != NULL;
                if (c) {
                    c->rated_a = part->as.run.trace_w_m * part->as.run.length_m / spec->system_v;
                    c->has_relay = c->rated_a > 8.0;
                    c->cold_ratio = 2.0; // self-limiting traces draw about double when cold
                    c->inrush_s = 60.0;
                }
            }
            break;
        case OW_PART_ELECTRIC_PUMP:
            c = add(spec, OW_LOAD_PUMP, part, i, -1);
            fits = c != NULL;
            if (c) {
                c->rated_v = part->as.electric_pump.rated_v;
                c->rated_a = part->as.electric_pump.current_a;
            }
            break;
        case OW_PART_VALVE:
            if (part->as.valve.is_electric) {
                fits = add(spec, OW_LOAD_VALVE, part, i, -1) != NULL;
            }
            break;
        default:
            break;
        }
    }
    return fits ? OW_OK : OW_ERROR_RANGE;
}
