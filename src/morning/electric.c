// SPDX-License-Identifier: GPL-3.0-or-later
// Volts at the loads: from the wired network when the rig file describes one, else from its simple figures.
#include "morning/system.h"

#include <math.h>

double ow_system_element_ohm(const OwPlanElement *element, double element_k, double *falls_1_k) {
    // Resistance rises straight with the element's temperature from its cold to its hot figure, and on; never
    // under half cold.
    const double slope = (1.0 - element->cold_ohm_share) / (element->hot_k - element->cold_k);
    double share = element->cold_ohm_share + slope * (element_k - element->cold_k);
    *falls_1_k = slope / share;
    if (share < 0.5 * element->cold_ohm_share) {
        share = 0.5 * element->cold_ohm_share;
        *falls_1_k = 0.0;
    }
    return element->hot_ohm * share;
}

bool ow_system_element_is_on(const OwSystem *system, int e) {
    const int sensor = system->plan->elements[e].sensor;
    return system->now.element_on[e] && (sensor < 0 || system->now.thermostat_closed[sensor]);
}

/// The same volts everywhere: the rig's figures for key on, cranking and running, less the usual loss on the
/// way.
static void simple_volts(const OwSystem *system, OwEval *eval) {
    const OwElectrics *electrics = &system->plan->rig->electrics;
    const OwSwitches *now = &system->now;
    double volts = now->is_key_on ? electrics->battery_v : 0.0;
    if (now->engine != OW_ENGINE_OFF) {
        volts = now->engine == OW_ENGINE_CRANKING ? electrics->crank_v : electrics->running_v;
    }
    volts *= 1.0 - electrics->wire_drop;
    eval->in.volts_v = volts;
    for (int e = 0; e < system->plan->element_count; e++) {
        eval->element_v[e] = volts;
    }
    for (int p = 0; p < system->plan->rig->part_count; p++) {
        eval->part_v[p] = volts;
    }
}

/// Does the line that commands a circuit live now?
static bool is_fed(const OwSystem *system, const OwCircuitSpec *circuit, double time_s) {
    const OwSwitches *now = &system->now;
    const bool is_held = circuit->has_hold && now->engine == OW_ENGINE_RUNNING &&
                         (circuit->hold_s <= 0.0 || time_s < now->run_s + circuit->hold_s);
    switch (circuit->feed) {
    case OW_FEED_ACCESSORY:
        return now->is_key_on && now->engine != OW_ENGINE_CRANKING;
    case OW_FEED_GLOW:
        return now->is_key_on && (now->engine != OW_ENGINE_RUNNING || is_held);
    case OW_FEED_START:
        return now->engine == OW_ENGINE_CRANKING || is_held;
    default:
        return now->is_key_on; // nothing of the vehicle's own is left on overnight
    }
}

double ow_system_hold_ends(const OwSystem *system, double time_s) {
    double next_s = INFINITY;
    if (!system->plan->power || system->now.engine != OW_ENGINE_RUNNING) {
        return next_s;
    }
    const OwElectricSpec *spec = ow_power_spec(system->plan->power);
    for (int c = 0; c < spec->circuit_count; c++) {
        const double ends_s = system->now.run_s + spec->circuits[c].hold_s;
        if (spec->circuits[c].has_hold && spec->circuits[c].hold_s > 0.0 && ends_s > time_s) {
            next_s = fmin(next_s, ends_s);
        }
    }
    return next_s;
}

static bool wants_current(const OwSystem *system, int p) {
    const OwPart *part = &system->plan->rig->parts[p];
    switch (part->kind) {
    case OW_PART_ELECTRIC_PUMP:
        return system->now.part_on[p];
    case OW_PART_VALVE:
        return part->as.valve.is_electric && system->now.position[p] != part->as.valve.start_position;
    case OW_PART_RUN:
        return system->now.is_key_on;
    default:
        return false;
    }
}

static void network_volts(OwSystem *system, double time_s, const double *y, OwEval *eval) {
    const OwPlan *plan = system->plan;
    const OwElectricSpec *spec = ow_power_spec(plan->power);
    OwPowerInput *input = &system->power_input;
    input->engine_rad_s = system->now.engine == OW_ENGINE_RUNNING ? eval->in.engine_rad_s : 0.0;
    input->is_cranking = system->now.engine == OW_ENGINE_CRANKING;
    input->battery_charge = y[plan->battery_at];
    input->battery_k = y[plan->battery_at + 1];
    input->wire_k = plan->rig->climate.ambient_k;
    for (int c = 0; c < spec->circuit_count; c++) {
        input->is_on[c] = is_fed(system, &spec->circuits[c], time_s) && spec->circuits[c].part < 0;
        input->load_ohm[c] = 0.0;
    }
    for (int e = 0; e < plan->element_count; e++) {
        const int c = plan->elements[e].circuit;
        if (c >= 0 && ow_system_element_is_on(system, e)) {
            double unused;
            input->is_on[c] = is_fed(system, &spec->circuits[c], time_s);
            input->load_ohm[c] =
                ow_system_element_ohm(&plan->elements[e], y[plan->elements[e].lump], &unused);
        }
    }
    for (int p = 0; p < plan->rig->part_count; p++) {
        const int c = plan->parts[p].circuit;
        if (c >= 0 && wants_current(system, p)) {
            input->is_on[c] = is_fed(system, &spec->circuits[c], time_s);
        }
    }
    OwPowerResult result;
    if (ow_power_volts(plan->power, input, &system->power_work, &result) != OW_OK) {
        eval->has_failed = true;
        simple_volts(system, eval);
        return;
    }
    eval->in.volts_v = system->now.is_key_on ? result.board_v : 0.0;
    eval->battery_v = result.battery_v;
    eval->battery_rate_1_s = result.charge_rate_1_s;
    eval->battery_rate_k_s = result.battery_rate_k_s;
    for (int e = 0; e < plan->element_count; e++) {
        const int c = plan->elements[e].circuit;
        eval->element_v[e] = c >= 0 ? result.load_v[c] : 0.0;
    }
    for (int p = 0; p < plan->rig->part_count; p++) {
        const int c = plan->parts[p].circuit;
        eval->part_v[p] = c >= 0 ? result.load_v[c] : 0.0;
    }
}

void ow_system_volts(OwSystem *system, double time_s, const double *y, OwEval *eval) {
    if (system->plan->power) {
        network_volts(system, time_s, y, eval);
    } else {
        simple_volts(system, eval);
    }
}
