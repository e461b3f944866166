// SPDX-License-Identifier: GPL-3.0-or-later
// Work space, start state, sub-step and slope of the equations of a morning. The coefficients are made in
// rates.c.
#include "morning/system.h"

#include <math.h>
#include <string.h>

OwStatus ow_system_create(const OwPlan *plan, OwArena *arena, OwSystem **out) {
    *out = NULL;
    OwSystem *system = ow_arena_take(arena, 1, sizeof *system);
    if (!system) {
        return OW_ERROR_MEMORY;
    }
    const size_t parts = (size_t)plan->rig->part_count;
    system->plan = plan;
    system->arena = arena;
    system->nodes = ow_arena_take(arena, (size_t)plan->node_count, sizeof *system->nodes);
    system->links = ow_arena_take(arena, (size_t)plan->link_count, sizeof *system->links);
    system->now.element_on =
        ow_arena_take(arena, (size_t)plan->element_count + 1, sizeof *system->now.element_on);
    system->now.thermostat_closed = ow_arena_take(arena, (size_t)plan->sensor_count + 1, sizeof(bool));
    system->now.part_on = ow_arena_take(arena, parts, sizeof *system->now.part_on);
    system->now.position = ow_arena_take(arena, parts, sizeof *system->now.position);
    system->now.moves = ow_arena_take(arena, parts, sizeof *system->now.moves);
    system->element_of_sensor = ow_arena_take(arena, (size_t)plan->sensor_count + 1, sizeof(int));
    system->means = ow_arena_take(arena, (size_t)plan->chain_count + 1, sizeof(OwChainMean));
    system->coil_w_k = ow_arena_take(arena, (size_t)plan->chain_count + 1, sizeof(double));
    system->coil_kg_s = ow_arena_take(arena, (size_t)plan->chain_count + 1, sizeof(double));
    if (!system->nodes || !system->links || !system->now.element_on || !system->now.thermostat_closed ||
        !system->now.part_on || !system->now.position || !system->now.moves || !system->element_of_sensor ||
        !system->coil_w_k || !system->coil_kg_s || !system->means) {
        return OW_ERROR_MEMORY;
    }
    memcpy(system->nodes, plan->nodes, (size_t)plan->node_count * sizeof *system->nodes);
    memcpy(system->links, plan->links, (size_t)plan->link_count * sizeof *system->links);
    for (int e = 0; e < plan->element_count; e++) {
        if (plan->elements[e].sensor >= 0) {
            system->element_of_sensor[plan->elements[e].sensor] = e;
        }
    }
    for (int p = 0; p < plan->rig->part_count; p++) {
        const OwPart *part = &plan->rig->parts[p];
        if (part->kind == OW_PART_COOLANT_COIL && part->as.coil.is_fitted) {
            const int chain = plan->parts[part->as.coil.warms].chain;
            if (chain >= 0) {
                system->coil_w_k[chain] += part->as.coil.conductance_w_k / plan->chains[chain].cells;
                system->coil_kg_s[chain] += part->as.coil.coolant_kg_s / plan->chains[chain].cells;
            }
        }
    }
    OwStatus status = ow_flow_create(system->nodes, plan->node_count, system->links, plan->link_count, arena,
                                     &system->flow);
    if (status == OW_OK) {
        status =
            ow_heat_net_create(plan->lump_count, plan->ties, plan->tie_count, plan->streams,
                               plan->stream_count, plan->chains, plan->chain_count, arena, &system->heat);
    }
    if (status == OW_OK) {
        *out = system;
    }
    return status;
}

OwStatus ow_system_eval_create(const OwSystem *system, OwEval *eval) {
    *eval = (OwEval){0};
    eval->tank_m3_s = ow_arena_take(system->arena, (size_t)system->plan->tank_count, sizeof(double));
    eval->element_w = ow_arena_take(system->arena, (size_t)system->plan->element_count + 1, sizeof(double));
    eval->element_v = ow_arena_take(system->arena, (size_t)system->plan->element_count + 1, sizeof(double));
    eval->part_v = ow_arena_take(system->arena, (size_t)system->plan->rig->part_count, sizeof(double));
    if (!eval->tank_m3_s || !eval->element_w || !eval->element_v || !eval->part_v) {
        return OW_ERROR_MEMORY;
    }
    return ow_heat_rates_create(system->heat, system->arena, &eval->heat);
}

void ow_system_reset(OwSystem *system, double soak_k, double *y) {
    const OwPlan *plan = system->plan;
    for (int i = 0; i < plan->tank_at; i++) {
        y[i] = soak_k;
    }
    for (int t = 0; t < plan->tank_count; t++) {
        y[plan->tank_at + t] = plan->tanks[t].start_m3;
    }
    if (plan->power) {
        system->power_input = ow_power_input(plan->power, soak_k);
        system->power_work = (OwPowerWork){0};
        y[plan->battery_at] = system->power_input.battery_charge;
        y[plan->battery_at + 1] = system->power_input.battery_k;
    }
    if (plan->fluid_count > 1) {
        double *share = y + plan->share_at;
        memcpy(share, plan->lump_share, (size_t)plan->lump_count * sizeof *share);
        for (int c = 0; c < plan->chain_count; c++) {
            for (int i = 0; i < 2 * plan->chains[c].cells; i++) {
                share[plan->chains[c].first + i] = plan->chain_share[c];
            }
        }
    }
    for (int s = 0; s < OW_SUM_COUNT; s++) {
        y[plan->sum_at + s] = 0.0;
    }
    for (int n = 0; n < plan->node_count; n++) {
        system->nodes[n].pressure_pa = plan->nodes[n].pressure_pa;
    }
    for (int l = 0; l < plan->link_count; l++) {
        system->links[l] = plan->links[l];
    }
    system->drive_hint = 0;
    system->now.engine = OW_ENGINE_OFF;
    system->now.start_s = system->now.run_s = -1.0;
    for (int s = 0; s < plan->sensor_count; s++) {
        const OwPlanElement *element = &plan->elements[system->element_of_sensor[s]];
        const OwPart *part = &plan->rig->parts[element->part];
        const OwElements *elements = ow_part_elements_const(part);
        system->now.thermostat_closed[s] = soak_k < elements->items[element->index].thermostat_off_k;
    }
    for (int p = 0; p < plan->rig->part_count; p++) {
        system->now.position[p] = 0;
        system->now.moves[p] = (OwValveMove){0};
        if (plan->rig->parts[p].kind == OW_PART_VALVE) {
            ow_system_set_valve(system, p, plan->rig->parts[p].as.valve.start_position);
        }
    }
    system->evaluations = system->flow_iterations = system->most_flow_iterations = 0;
    ow_system_key(system, false);
}

void ow_system_key(OwSystem *system, bool is_on) {
    const OwPlan *plan = system->plan;
    system->now.is_key_on = is_on;
    for (int e = 0; e < plan->element_count; e++) {
        const OwPart *part = &plan->rig->parts[plan->elements[e].part];
        const OwElements *elements = ow_part_elements_const(part);
        system->now.element_on[e] = is_on && elements->items[plan->elements[e].index].key_on;
    }
    for (int p = 0; p < plan->rig->part_count; p++) {
        system->now.part_on[p] = is_on && plan->rig->parts[p].kind == OW_PART_ELECTRIC_PUMP;
    }
}

double ow_system_watched(const OwSystem *system, int watch, const double *y) {
    const OwPlan *plan = system->plan;
    if (watch == OW_WATCH_COOLANT) {
        return y[plan->coolant];
    }
    const OwPlanPart *part = &plan->parts[watch];
    if (part->chain >= 0) {
        const OwHeatChain *chain = &plan->chains[part->chain];
        return y[chain->first + chain->cells - 1];
    }
    if (part->oil_count > 0) {
        return y[part->oil_first + (part->tank >= 0 ? 0 : part->oil_count - 1)];
    }
    return part->port_node[0] >= 0 ? y[plan->node_lump[part->port_node[0]]] : y[plan->coolant];
}

double ow_system_viscosity(const OwSystem *system, const double *y, int lump) {
    const OwPlan *plan = system->plan;
    if (plan->fluid_count == 1) {
        return ow_curve_value(&plan->dynamic[0], y[lump]);
    }
    const double share = y[plan->share_at + lump];
    // Arrhenius: logarithms of viscosity mix by volume share.
    return exp((1.0 - share) * ow_curve_value(&plan->log_dynamic[0], y[lump]) +
               share * ow_curve_value(&plan->log_dynamic[1], y[lump]));
}

double ow_system_density(const OwSystem *system, const double *y, int lump) {
    const OwPlan *plan = system->plan;
    const double first = ow_curve_value(&plan->fluids[0].density_kg_m3, y[lump]);
    if (plan->fluid_count == 1) {
        return first;
    }
    const double share = y[plan->share_at + lump];
    return (1.0 - share) * first + share * ow_curve_value(&plan->fluids[1].density_kg_m3, y[lump]);
}

bool ow_system_step(OwSystem *system, const OwEval *eval, double step_s, const double *y0, double *y1) {
    const OwPlan *plan = system->plan;
    OwHeatSums sums;
    if (!ow_heat_net_step(system->heat, &eval->heat, step_s, y0, y1, &sums)) {
        return false;
    }
    for (int s = 0; s < plan->sensor_count; s++) {
        const double weight = step_s / plan->sensors[s].lag_s;
        y1[plan->sensor_at + s] =
            (y0[plan->sensor_at + s] + weight * y1[plan->sensors[s].host]) / (1.0 + weight);
    }
    for (int t = 0; t < plan->tank_count; t++) {
        y1[plan->tank_at + t] = y0[plan->tank_at + t] + step_s * eval->tank_m3_s[t];
    }
    if (plan->power) {
        y1[plan->battery_at] = y0[plan->battery_at] + step_s * eval->battery_rate_1_s;
        y1[plan->battery_at + 1] = y0[plan->battery_at + 1] + step_s * eval->battery_rate_k_s;
    }
    if (plan->fluid_count > 1 &&
        !ow_heat_net_mix(system->heat, &eval->heat, step_s, y0 + plan->share_at, y1 + plan->share_at)) {
        return false;
    }
    const double *sum0 = y0 + plan->sum_at;
    double *sum1 = y1 + plan->sum_at;
    const double gallery_k = y1[plan->node_lump[plan->gallery_node]];
    sum1[OW_SUM_HEAT_IN] = sum0[OW_SUM_HEAT_IN] + step_s * sums.source_w;
    sum1[OW_SUM_LOSS] = sum0[OW_SUM_LOSS] + step_s * sums.loss_w;
    sum1[OW_SUM_BURNED_J] = sum0[OW_SUM_BURNED_J] + step_s * eval->burned_m3_s * plan->volumetric_j_m3k *
                                                        (gallery_k - OW_ZERO_CELSIUS_K);
    sum1[OW_SUM_BURNED_M3] = sum0[OW_SUM_BURNED_M3] + step_s * eval->burned_m3_s;
    const bool is_draining = system->now.engine != OW_ENGINE_RUNNING && eval->in.volts_v > 0.0;
    sum1[OW_SUM_CHARGE] =
        sum0[OW_SUM_CHARGE] +
        (is_draining ? step_s * (eval->heaters_w + eval->pumps_w + eval->trace_w) / eval->in.volts_v : 0.0);
    return true;
}

void ow_system_slope(const OwSystem *system, const OwEval *eval, const double *y, double *slope) {
    const OwPlan *plan = system->plan;
    ow_heat_net_slope(system->heat, &eval->heat, y, slope);
    for (int s = 0; s < plan->sensor_count; s++) {
        slope[plan->sensor_at + s] =
            (y[plan->sensors[s].host] - y[plan->sensor_at + s]) / plan->sensors[s].lag_s;
    }
    for (int t = 0; t < plan->tank_count; t++) {
        slope[plan->tank_at + t] = eval->tank_m3_s[t];
    }
    if (plan->power) {
        slope[plan->battery_at] = eval->battery_rate_1_s;
        slope[plan->battery_at + 1] = eval->battery_rate_k_s;
    }
    if (plan->fluid_count > 1) {
        ow_heat_net_mix_slope(system->heat, &eval->heat, y + plan->share_at, slope + plan->share_at);
    }
    for (int s = 0; s < OW_SUM_COUNT; s++) {
        slope[plan->sum_at + s] = 0.0; // sums are of no interest to an independent integrator
    }
}
