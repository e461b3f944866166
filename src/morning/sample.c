// SPDX-License-Identifier: GPL-3.0-or-later
// Turns the state of the moment into a sample of the record.
#include "morning/morning_impl.h"

#include <math.h>
#include <string.h>

/// The full-load question is put at jumps and this often between them.
#define FULL_LOAD_EVERY_S 5.0

double ow_morning_inlet_kinematic(const OwMorning *morning, const double *y) {
    const int lump = morning->plan->node_lump[morning->plan->inlet_node];
    return ow_system_viscosity(morning->system, y, lump) / ow_system_density(morning->system, y, lump);
}

double ow_morning_inlet_fill(const OwMorning *morning) {
    const OwFlowNode *node = &morning->system->nodes[morning->plan->inlet_node];
    return ow_flow_fill(node->pressure_pa, node->air_solubility, NULL);
}

double ow_morning_storage_j(const OwMorning *morning, const double *y) {
    const OwPlan *plan = morning->plan;
    double sum = 0.0;
    for (int i = 0; i < plan->lump_count; i++) {
        double capacity = plan->lump_j_k[i];
        for (int t = 0; t < plan->tank_count; t++) {
            const OwPlanTank *tank = &plan->tanks[t];
            if (tank->bulk == i || tank->near == i) {
                const double share = tank->bulk == i ? 1.0 - tank->near_share : tank->near_share;
                capacity = share * y[plan->tank_at + t] * plan->volumetric_j_m3k;
            }
        }
        sum += capacity * (y[i] - OW_ZERO_CELSIUS_K);
    }
    for (int c = 0; c < plan->chain_count; c++) {
        const OwHeatChain *chain = &plan->chains[c];
        for (int i = 0; i < chain->cells; i++) {
            sum += chain->liquid_j_k * (y[chain->first + i] - OW_ZERO_CELSIUS_K);
            sum += chain->wall_j_k * (y[chain->first + chain->cells + i] - OW_ZERO_CELSIUS_K);
        }
    }
    return sum;
}

/// The side of a valve that its position joins to the common port: 1 or 2; 1 too when both or none are.
static int valve_side(const OwValve *valve, int position) {
    const bool is_known = position >= 0 && position < valve->position_count && position < 4;
    return is_known && valve->ways > 2 && valve->opens_b[position] && !valve->opens_a[position] ? 2 : 1;
}

/// Ends of a part as the reader sees them: nodes for pressure and for the temperature that enters.
static void part_ends(const OwPlan *plan, int p, int side, int *in, int *out) {
    const OwPlanPart *part = &plan->parts[p];
    switch (plan->rig->parts[p].kind) {
    case OW_PART_TANK:
        *in = part->port_node[1];
        *out = part->port_node[0];
        break;
    case OW_PART_INJECTION_PUMP:
        *in = part->port_node[0];
        *out = part->inner_node;
        break;
    case OW_PART_INJECTORS:
        *in = plan->gallery_node;
        *out = part->port_node[0];
        break;
    case OW_PART_COOLANT_COIL:
        *in = *out = -1;
        break;
    default:
        *in = part->port_node[0];
        *out = part->port_node[side];
    }
}

/// fmax without its care for NaN, which costs a call a cell.
static double greater(double a, double b) {
    return a > b ? a : b;
}

static void sample_chain(const OwMorning *morning, const OwPlanPart *part, OwPartSample *out) {
    const OwHeatChain *chain = &morning->plan->chains[part->chain];
    const double *y = morning->y;
    const bool is_forward = morning->start.heat.chain_w_k[part->chain] >= 0.0;
    const int last = chain->first + (is_forward ? chain->cells - 1 : 0);
    double walls = 0.0;
    out->oil_max_k = out->wall_max_k = 0.0;
    for (int i = 0; i < chain->cells; i++) {
        const double oil_k = y[chain->first + i], wall_k = y[chain->first + chain->cells + i];
        out->oil_max_k = greater(out->oil_max_k, oil_k);
        out->wall_max_k = greater(out->wall_max_k, wall_k);
        walls += wall_k;
    }
    out->wall_k = walls / chain->cells;
    (is_forward ? &out->out_k : &out->in_k)[0] = y[last];
    out->share = ow_system_share(morning->system, y, last);
    out->heat_w = chain->cells * morning->start.heat.heat_w[part->chain];
    if (chain->warmer >= 0) {
        out->coolant_w =
            morning->start.heat.warmer_w_k[part->chain] * (chain->cells * y[chain->warmer] - walls);
    }
}

static void sample_body(const OwMorning *morning, int p, OwPartSample *out) {
    const OwPlan *plan = morning->plan;
    const OwPlanPart *part = &plan->parts[p];
    const double *y = morning->y;
    if (part->oil_count > 0 && part->tank < 0) {
        const int last = part->oil_first + (out->flow_m3_s >= 0.0 ? part->oil_count - 1 : 0);
        (out->flow_m3_s >= 0.0 ? &out->out_k : &out->in_k)[0] = y[last];
        out->share = ow_system_share(morning->system, y, last);
    }
    for (int i = 0; i < part->oil_count; i++) {
        out->oil_max_k = greater(out->oil_max_k, y[part->oil_first + i]);
    }
    if (part->wall >= 0) {
        out->wall_k = out->wall_max_k = y[part->wall];
    }
    for (int e = part->element_first; e < part->element_first + part->element_count; e++) {
        out->element_max_k = greater(out->element_max_k, y[plan->elements[e].lump]);
        out->heat_w += morning->start.element_w[e];
    }
}

static void sample_part(const OwMorning *morning, int p, OwPartSample *out) {
    const OwPlan *plan = morning->plan;
    const OwSystem *system = morning->system;
    const OwPlanPart *part = &plan->parts[p];
    const OwPart *source = &plan->rig->parts[p];
    const double *y = morning->y;
    memset(out, 0, sizeof *out);
    int in, end;
    const int side =
        source->kind == OW_PART_VALVE ? valve_side(&source->as.valve, system->now.position[p]) : 1;
    part_ends(plan, p, side, &in, &end);
    out->in_k = out->out_k = out->oil_max_k = out->wall_k = out->wall_max_k = y[plan->coolant];
    if (in >= 0 && end >= 0) {
        out->in_k = y[plan->node_lump[in]];
        out->out_k = y[plan->node_lump[end]];
        out->in_pa = system->nodes[in].pressure_pa;
        out->out_pa = system->nodes[end].pressure_pa;
        out->drop_pa = out->in_pa - out->out_pa;
        out->oil_max_k = fmax(out->in_k, out->out_k);
        out->wall_k = out->wall_max_k = out->oil_max_k;
        out->share = ow_system_share(system, y, plan->node_lump[end]);
    }
    if (part->link_count > 0) {
        out->flow_m3_s = system->links[part->link_first + side - 1].flow_m3_s;
        if (source->kind == OW_PART_INJECTION_PUMP && source->as.injection_pump.type == OW_PUMP_DISTRIBUTOR) {
            out->flow_m3_s += system->links[part->link_first + 1].flow_m3_s; // transfer stage and by-pass
        }
    } else if (part->tank >= 0) {
        for (int l = 0; l < plan->link_count; l++) {
            out->flow_m3_s += system->links[l].from == end ? system->links[l].flow_m3_s : 0.0;
        }
    }
    if (part->tank >= 0) {
        const OwPlanTank *tank = &plan->tanks[part->tank];
        out->tank_m3 = y[plan->tank_at + part->tank];
        out->tank_share = tank->near_share * ow_system_share(system, y, tank->near) +
                          (1.0 - tank->near_share) * ow_system_share(system, y, tank->bulk);
    }
    if (part->chain >= 0) {
        sample_chain(morning, part, out);
    } else {
        sample_body(morning, p, out);
    }
    out->gain_w = plan->volumetric_j_m3k * out->flow_m3_s * (out->out_k - out->in_k);
    out->position = source->kind == OW_PART_VALVE           ? system->now.position[p]
                    : source->kind == OW_PART_ELECTRIC_PUMP ? system->now.part_on[p]
                                                            : out->heat_w > 0.0;
    if (source->kind == OW_PART_ELECTRIC_PUMP && system->now.part_on[p]) {
        const double volts = morning->start.part_v[p];
        out->heat_w += volts * source->as.electric_pump.current_a * volts / source->as.electric_pump.rated_v;
    } else if (source->kind == OW_PART_INJECTION_PUMP) {
        out->heat_w += morning->start.friction_w;
    }
}

static void sample_coolant_heat(const OwMorning *morning, OwPartSample *parts) {
    const OwPlan *plan = morning->plan;
    for (int i = 0; i < plan->tie_count; i++) {
        const OwPlanTie *tie = &plan->plan_ties[i];
        if (tie->role == OW_TIE_COOLANT) {
            parts[tie->part].coolant_w +=
                morning->start.heat.tie_w_k[i] * (morning->y[plan->coolant] - morning->y[plan->ties[i].b]);
        }
    }
    for (int p = 0; p < plan->rig->part_count; p++) {
        const OwPart *part = &plan->rig->parts[p];
        if (part->kind == OW_PART_COOLANT_COIL && part->as.coil.is_fitted) {
            parts[p].coolant_w = parts[part->as.coil.warms].coolant_w;
        }
    }
}

/// The same moment with the pedal down: what arrives at the gallery? The ordinary solution is put back
/// afterwards.
static void sample_full_load(OwMorning *morning, OwSample *sample) {
    OwSystem *system = morning->system;
    const OwPlan *plan = morning->plan;
    memcpy(morning->saved_nodes, system->nodes, (size_t)plan->node_count * sizeof *system->nodes);
    memcpy(morning->saved_links, system->links, (size_t)plan->link_count * sizeof *system->links);
    for (int l = 0; l < plan->link_count; l++) {
        if (plan->plan_links[l].role == OW_ROLE_DEMAND) {
            system->links[l].drive = sample->full_request_m3_s;
        } else if (plan->plan_links[l].role == OW_ROLE_LEAK_OFF) {
            system->links[l].drive = plan->rig->parts[plan->plan_links[l].part].as.injectors.leak_share *
                                     sample->full_request_m3_s;
        }
    }
    const bool is_solved = ow_system_solve_flows(system);
    sample->full_burned_m3_s = is_solved ? system->links[plan->demand_link].flow_m3_s : 0.0;
    memcpy(system->nodes, morning->saved_nodes, (size_t)plan->node_count * sizeof *system->nodes);
    memcpy(system->links, morning->saved_links, (size_t)plan->link_count * sizeof *system->links);
}

static void sample_lowest(const OwMorning *morning, const OwPartSample *parts, OwSample *sample) {
    const OwPlan *plan = morning->plan;
    sample->lowest_pa = sample->inlet_pa;
    sample->lowest_part = plan->pump_part;
    for (int i = 0; i < morning->path_count; i++) {
        const int p = morning->path[i];
        if (p != plan->pump_part && plan->parts[p].tank < 0 && parts[p].out_pa < sample->lowest_pa) {
            sample->lowest_pa = parts[p].out_pa;
            sample->lowest_part = p;
        }
    }
}

/// Keeps every second sample when the room is used up, and from then on records half as often.
static void thin_out(OwMorning *morning) {
    OwRecord *record = &morning->record;
    const size_t parts = (size_t)record->part_count;
    int kept = 0;
    for (int s = 0; s < record->sample_count; s += 2) {
        record->samples[kept] = record->samples[s];
        memmove(record->parts + (size_t)kept * parts, record->parts + (size_t)s * parts,
                parts * sizeof *record->parts);
        kept++;
    }
    record->sample_count = kept;
    morning->stride *= 2;
}

void ow_morning_sample(OwMorning *morning, bool is_forced) {
    OwRecord *record = &morning->record;
    if (!is_forced && ++morning->since_sample < morning->stride) {
        return;
    }
    morning->since_sample = 0;
    if (record->sample_count == morning->sample_capacity) {
        thin_out(morning);
    }
    const OwPlan *plan = morning->plan;
    const OwEval *eval = &morning->start;
    const double *y = morning->y;
    const OwFlowNode *inlet = &morning->system->nodes[plan->inlet_node];
    const int inlet_lump = plan->node_lump[plan->inlet_node],
              gallery_lump = plan->node_lump[plan->gallery_node];
    OwSample *sample = &record->samples[record->sample_count];
    OwPartSample *parts = record->parts + (size_t)record->sample_count * (size_t)record->part_count;
    record->sample_count++;
    *sample = (OwSample){.time_s = morning->time_s,
                         .engine = morning->system->now.engine,
                         .is_key_on = morning->system->now.is_key_on,
                         .leg = morning->stage == OW_STAGE_DRIVE ? eval->in.leg : -1,
                         .speed_m_s = eval->in.speed_m_s,
                         .engine_rad_s = eval->in.engine_rad_s,
                         .coolant_k = y[plan->coolant],
                         .block_k = y[plan->block],
                         .bay_k = eval->bay_k,
                         .fuel_request_m3_s = eval->in.fuel_m3_s,
                         .fuel_burned_m3_s = eval->burned_m3_s,
                         .full_request_m3_s = eval->in.full_fuel_m3_s,
                         .inlet_k = y[inlet_lump],
                         .inlet_pa = inlet->pressure_pa,
                         .inlet_dynamic_pa_s = ow_system_viscosity(morning->system, y, inlet_lump),
                         .inlet_kinematic_m2_s = ow_morning_inlet_kinematic(morning, y),
                         .inlet_fill = ow_flow_fill(inlet->pressure_pa, inlet->air_solubility, NULL),
                         .inlet_share = ow_system_share(morning->system, y, inlet_lump),
                         .gallery_k = y[gallery_lump],
                         .gallery_pa = morning->system->nodes[plan->gallery_node].pressure_pa,
                         .heaters_w = eval->heaters_w + eval->trace_w,
                         .pumps_w = eval->pumps_w,
                         .charge_c = y[plan->sum_at + OW_SUM_CHARGE],
                         .volts_v = eval->in.volts_v};
    if (plan->power) {
        sample->battery_v = eval->battery_v;
        sample->battery_share = y[plan->battery_at];
        sample->battery_k = y[plan->battery_at + 1];
    }
    for (int p = 0; p < record->part_count; p++) {
        sample_part(morning, p, &parts[p]);
    }
    sample_coolant_heat(morning, parts);
    sample_lowest(morning, parts, sample);
    const bool is_due = is_forced || morning->time_s >= morning->full_load_s + FULL_LOAD_EVERY_S;
    if (morning->settings.has_full_load && sample->full_request_m3_s > 0.0 && is_due) {
        morning->full_load_s = morning->time_s;
        sample_full_load(morning, sample);
    } else {
        sample->full_request_m3_s = 0.0; // not asked
    }
}
