// SPDX-License-Identifier: GPL-3.0-or-later
// Electrics of a rig whose file gives no circuits, or not all: one circuit for each part that takes current
// and has none.
#include "oilwright/power.h"

#include <stdio.h>

static bool is_fed(const OwElectricSpec *spec, int part, int element) {
    for (int i = 0; i < spec->circuit_count; i++) {
        if (spec->circuits[i].part == part && spec->circuits[i].element == element) {
            return true;
        }
    }
    return false;
}

/// False when there are more loads than circuits fit.
static bool add(OwElectricSpec *spec, const OwPart *part, int index, int element) {
    OwCircuitSpec circuit;
    if (is_fed(spec, index, element) ||
        !ow_circuit_from_part(part, index, element, spec->system_v, &circuit)) {
        return true;
    }
    if (spec->circuit_count >= OW_MAX_CIRCUITS) {
        return false;
    }
    spec->circuits[spec->circuit_count++] = circuit;
    return true;
}

OwStatus ow_electric_derive(const OwRig *rig, OwElectricSpec *spec) {
    if (rig->electric_spec) {
        *spec = *rig->electric_spec;
    } else {
        const OwStatus status = ow_electric_default(ow_electric_system(rig->electrics.battery_v), spec);
        if (status != OW_OK) {
            return status;
        }
        ow_electric_take_capacity(spec, rig->electrics.battery_c);
    }
    spec->is_derived = spec->circuit_count == 0;
    spec->idle_rad_s = rig->engine.idle_speed_rad_s;
    bool fits = true;
    for (int i = 0; i < rig->part_count; i++) {
        for (int element = -1; element < OW_MAX_ELEMENTS; element++) {
            fits = add(spec, &rig->parts[i], i, element) && fits;
        }
    }
    bool has_starter = false;
    for (int i = 0; i < spec->circuit_count; i++) {
        has_starter = has_starter || spec->circuits[i].load == OW_LOAD_STARTER;
    }
    if (!has_starter && spec->circuit_count < OW_MAX_CIRCUITS) { // so that cranking pulls the volts down
        OwCircuitSpec *c = &spec->circuits[spec->circuit_count++];
        ow_circuit_default(OW_LOAD_STARTER, c);
        c->rated_v = spec->system_v;
        c->rated_a = spec->crank_a;
        snprintf(c->name, sizeof c->name, "starter");
    }
    return fits && (has_starter || spec->circuits[spec->circuit_count - 1].load == OW_LOAD_STARTER)
               ? OW_OK
               : OW_ERROR_RANGE;
}
